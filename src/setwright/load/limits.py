"""What a load is held against: the spindle at its speed, the tool as a beam, the part under its clamps. Plain formulas.

N, mm, kW, N·m. Every figure is a model's. What is not stated is not limited: the answer is None then, never a pass.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

__all__ = ["CLAMP_SAFETY", "FLUTED_SHARE", "FRICTION", "YOUNG_N_MM2", "BeamStep", "Curve", "Held", "deflection_mm", "vise_force_n"]

FLUTED_SHARE: Final = 0.8
"""The stiffness of a fluted part is that of a cylinder this share as thick (Kops and Vo, 1990; unverified)."""

YOUNG_N_MM2: Final = {"carbide": (600_000.0, 0.02), "steel": (205_000.0, 0.02)}
"""Young's modulus of tools and its spread: carbide 580 to 620 GPa, steel 205."""

FRICTION: Final = (0.10, 0.06, 0.15)
"""Friction of smooth jaws on a machined part: taken, least, greatest; serrated jaws hold two to three times as much."""

CLAMP_SAFETY: Final = 2.5
"""The clamping should hold this many times the force."""


@dataclass(frozen=True, slots=True)
class BeamStep:
    """One length of a tool of one diameter, from the clamped end to the tip; mm."""

    length: float
    diameter: float


def deflection_mm(steps: Sequence[BeamStep], force_n: float, young_n_mm2: float, *, above_tip_mm: float = 0.0) -> float:
    """How far the tip of a beam, clamped at one end, moves under a force across it `above_tip_mm` above the tip.

    Exact for slender beams: the integral of M(x) (L - x) / (E I(x)).

    >>> round(1000 * deflection_mm([BeamStep(18, 10), BeamStep(22, 8)], 100, 600_000), 2)
    8.98
    """
    length = sum(step.length for step in steps)
    at = max(length - above_tip_mm, 0.0)
    edges = np.concatenate([[0.0], np.cumsum([step.length for step in steps])])
    total = 0.0
    for (a, b), step in zip(pairwise(edges.tolist()), steps, strict=True):
        b = min(b, at)
        if b <= a:
            break
        inertia = math.pi * step.diameter**4 / 64.0
        # the integral of (at - x)(length - x) from a to b
        total += (_cubic(b, at, length) - _cubic(a, at, length)) / inertia
    return force_n * total / young_n_mm2


def _cubic(x: float, at: float, length: float) -> float:
    return at * length * x - (at + length) * x**2 / 2.0 + x**3 / 3.0


@dataclass(frozen=True, slots=True)
class Curve:
    """A spindle's power by its speed: `points` (rpm, kW), ascending, joined by straight lines; below the first and between nought
    and it the torque is constant, above the last nothing is known. `short`: the factor for a short load, 1 where none is stated.

    >>> curve = Curve(((1500.0, 11.0), (10000.0, 11.0)), 15 / 11)
    >>> round(curve.torque_nm(1000.0), 1), round(curve.power_kw(795.8), 2), round(curve.power_kw(795.8) * curve.short, 2)
    (70.0, 5.84, 7.96)
    """

    points: tuple[tuple[float, float], ...]
    short: float = 1.0

    def power_kw(self, rpm: float) -> float | None:
        """Continuous power at a speed; None where the curve does not reach."""
        first, last = self.points[0], self.points[-1]
        if rpm > last[0] or rpm <= 0.0:
            return None
        if rpm <= first[0]:
            return first[1] * rpm / first[0]
        return float(np.interp(rpm, [n for n, _ in self.points], [kw for _, kw in self.points]))

    def torque_nm(self, rpm: float) -> float | None:
        """The same as torque."""
        power = self.power_kw(rpm)
        return None if power is None else 9549.0 * power / rpm


def vise_force_n(torque_nm: float, lead_mm: float, efficiency: float) -> float:
    """Clamping force of a screw: F = 2 pi eta T / p.

    >>> [round(vise_force_n(60, 5, eta) / 1000, 1) for eta in (0.15, 0.25, 0.35)]
    [11.3, 18.8, 26.4]
    """
    return 2.0 * math.pi * efficiency * torque_nm * 1000.0 / lead_mm


@dataclass(frozen=True, slots=True)
class Held:
    """A part between two jaws: `clamp` N, friction `mu`."""

    clamp: float
    mu: float = FRICTION[0]

    def most_n(self) -> float:
        """The force along the jaws or up out of them that friction bears: both jaws, 2 mu F."""
        return 2.0 * self.mu * self.clamp

    def wanted_n(self, force_n: float) -> float:
        """The clamping force that bears a force CLAMP_SAFETY times.

        >>> round(Held(0.0, 0.15).wanted_n(2400.0))
        20000
        """
        return CLAMP_SAFETY * force_n / (2.0 * self.mu)
