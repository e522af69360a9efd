"""Chip, force, torque and power of mills, drills and taps: plain formulas on arrays, nothing of jobs or findings.

Angles phi run from the left of the motion over its front to its right, as a right-hand cutter turns. The chip is h = f_z g,
with f_z the feed a tooth and g the share of the motion that goes into the surface (sin phi at the side of a cylinder). Two
models of what it takes: Kienzle's k_c = kc11 h^-mc, and dF = (K_c h + K_e) dz for each direction. Forces off the work and along
the axis follow Kienzle's as shares. N, mm, N/mm², kW, N·m. A figure is a model's: its spread is that of its coefficients.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["MEAN_CHIP_MM", "Coefficients", "Drilled", "Immersed", "Turned", "chip_for_feed", "drilled_handbook", "drilled_kienzle",
           "specific_force", "tap_torque_nm", "torque_nm", "turned"]  # fmt: skip

Floats = NDArray[np.float64]

MEAN_CHIP_MM: Final = (0.05, 1.5)
"""Chips for which the exponent of Kienzle's formula was fitted; outside it is an extrapolation."""

_THINNEST_MM: Final = 0.001
"""No edge takes a chip thinner than this: it rubs, and the force grows no more."""

_SLICES: Final = 32
_STEPS: Final = 360


@dataclass(frozen=True, slots=True)
class Coefficients:
    """What one chip costs. `kc11` N/mm² and `mc`, with the shares of the force `off_work` and along the `axial` direction; or, if
    `cut` is given, the other model: `cut` K_tc, K_rc, K_ac N/mm² and `edge` K_te, K_re, K_ae N/mm."""

    kc11: float = 0.0
    mc: float = 0.0
    off_work: float = 0.0
    axial: float = 0.0
    cut: tuple[float, float, float] | None = None
    edge: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def along(self, chip: Floats) -> tuple[Floats, Floats, Floats]:
        """Force on 1 mm of edge along the cut, off the work and along the axis, N/mm, by the chip's thickness, mm."""
        if self.cut is not None:
            t, r, a = (c * chip + np.where(chip > 0.0, e, 0.0) for c, e in zip(self.cut, self.edge, strict=True))
            return np.asarray(t), np.asarray(r), np.asarray(a)
        t = specific_force(chip, self.kc11, self.mc) * chip
        return t, self.off_work * t, self.axial * t


def specific_force(chip: Floats, kc11: float, mc: float) -> Floats:
    """k_c = kc11 h^-mc, N/mm², by the chip's thickness h, mm; that of a chip of 1 µm for thinner ones.

    >>> float(specific_force(np.array([0.1]), 1780, 0.17).round())
    2633.0
    """
    return np.asarray(kc11 * np.maximum(chip, _THINNEST_MM) ** -mc)


def torque_nm(power_kw: float, rpm: float) -> float:
    """M = 9549 P / n."""
    return 9549.0 * power_kw / rpm if rpm > 0.0 else 0.0


def chip_for_feed(radius: float, width: float) -> float:
    """The thickest chip as a share of the feed a tooth: sin of the greatest angle of engagement, for a cut `width` wide.

    >>> round(1 / chip_for_feed(5.0, 1.0), 3), chip_for_feed(5.0, 8.0)
    (1.667, 1.0)
    """
    if width >= radius:
        return 1.0
    return math.sqrt(max(0.0, width * (2.0 * radius - width))) / radius


@dataclass(frozen=True, slots=True)
class Immersed:
    """How deep the cutter stands in metal over the sectors of the half turn before it, arrays (sectors,): `begin`, `end` of each
    sector, rad; `height` mm, of edge in metal there, from the tip up; `into`: g, of the chip; `radius` mm."""

    begin: Floats
    end: Floats
    height: Floats
    into: Floats
    radius: float

    @classmethod
    def of(cls, begin: Floats, end: Floats, height: Floats, radius: float) -> Immersed:
        """Of a cylinder's side in a level motion."""
        return cls(begin, end, height, np.sin(0.5 * (begin + end)), radius)


@dataclass(frozen=True, slots=True)
class Turned:
    """Forces over one turn, N: mean (x along the motion, y to its left, z along the tool, all on the tool's work: the force the
    cutter feels is the opposite), greatest across the axis; torque mean and greatest, N·m; power kW; thickest and mean chip, mm."""

    mean: tuple[float, float, float]
    most_across: float
    torque: float
    most_torque: float
    power_kw: float
    thickest: float
    mean_chip: float


def turned(immersed: Immersed, what: Coefficients, *, teeth: int, feed_tooth: float, rpm: float, helix: float = 0.0) -> Turned:
    """One turn of a mill with `teeth` teeth at `feed_tooth` mm, its edges lagging by z tan(helix) / radius.

    Force of a tooth at phi on the tool, x along the motion, y to its right: -F_t cos phi - F_r sin phi, F_t sin phi - F_r cos phi.
    Integrals over each sector by the midpoint of many equal parts; error below 0.05 % for 24 sectors.
    """
    angle, width, height, into = _fine(immersed)
    chip = feed_tooth * into
    t, r, a = what.along(chip)
    per = teeth / (2.0 * math.pi) * width * height
    x, y = -t * np.cos(angle) - r * np.sin(angle), t * np.sin(angle) - r * np.cos(angle)
    mean = (float((per * x).sum()), float((per * y).sum()), float((per * a).sum()))
    torque = float((per * t).sum()) * immersed.radius / 1000.0
    across, most = _peaks(immersed, what, teeth=teeth, feed_tooth=feed_tooth, helix=helix)
    in_metal = height > 0.0
    total = float((width * in_metal).sum())
    thickest = float(chip[in_metal].max()) if in_metal.any() else 0.0
    return Turned(mean, across, torque, most, torque * rpm / 9549.0, thickest, float((width * chip * in_metal).sum()) / total
                  if total > 0.0 else 0.0)  # fmt: skip


_PARTS: Final = 16


def _fine(immersed: Immersed) -> tuple[Floats, Floats, Floats, Floats]:
    """Angle, width, height and g in equal parts of the sectors; g follows sin phi inside a sector and keeps its mean there."""
    share = (np.arange(_PARTS) + 0.5) / _PARTS
    span = immersed.end - immersed.begin
    angle = (immersed.begin[:, None] + span[:, None] * share).ravel()
    width, height = np.repeat(span / _PARTS, _PARTS), np.repeat(immersed.height, _PARTS)
    middle = np.sin(0.5 * (immersed.begin + immersed.end))
    into = np.repeat(np.divide(immersed.into, middle, out=np.zeros_like(middle), where=middle > 0.0), _PARTS) * np.sin(angle)
    return angle, width, height, np.clip(into, 0.0, 1.0)


def _peaks(immersed: Immersed, what: Coefficients, *, teeth: int, feed_tooth: float, helix: float) -> tuple[float, float]:
    """The greatest force across the axis, N, and torque, N·m, over one tooth's turn."""
    deepest = float(immersed.height.max(initial=0.0))
    if deepest <= 0.0:
        return 0.0, 0.0
    slices = _SLICES if helix > 0.0 else 1
    z = (np.arange(slices) + 0.5) / slices * deepest
    lag = z * math.tan(helix) / immersed.radius
    steps = max(8, _STEPS // teeth)
    turn = np.arange(steps) / steps * 2.0 * math.pi / teeth
    phi = (turn[:, None, None] + np.arange(teeth)[None, :, None] * 2.0 * math.pi / teeth - lag[None, None, :]) % (2.0 * math.pi)
    sector = np.searchsorted(immersed.end, phi, side="right")
    there = (sector < immersed.end.size) & (phi >= immersed.begin[0])
    sector = np.minimum(sector, immersed.end.size - 1)
    if slices == 1:
        dz = np.where(there, immersed.height[sector], 0.0)
    else:
        dz = np.where(there & (immersed.height[sector] > z[None, None, :]), deepest / slices, 0.0)
    middle = np.sin(0.5 * (immersed.begin + immersed.end))
    ratio = np.divide(immersed.into, middle, out=np.zeros_like(middle), where=middle > 0.0)
    chip = np.where(there, feed_tooth * np.clip(ratio[sector] * np.sin(phi), 0.0, 1.0), 0.0)
    t, r, _ = what.along(np.maximum(chip, 0.0))
    x = ((-t * np.cos(phi) - r * np.sin(phi)) * dz).sum(axis=(1, 2))
    y = ((t * np.sin(phi) - r * np.cos(phi)) * dz).sum(axis=(1, 2))
    return float(np.hypot(x, y).max()), float((t * dz).sum(axis=(1, 2)).max()) * immersed.radius / 1000.0


# --- holes -------------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Drilled:
    """Torque N·m and thrust N of a drill."""

    torque: float
    thrust: float


def drilled_kienzle(diameter: float, feed_turn: float, kc11: float, mc: float, *, point_deg: float = 118.0) -> Drilled:
    """Two lips, h = (f/2) sin(sigma/2): M = k_c f D²/8000, thrust about half of (D/2) f k_c sin(sigma/2). The thrust leaves out the
    chisel edge, which makes it two to two and a half times as much: it is never an upper bound.

    >>> one = drilled_kienzle(10.0, 0.2, 2220, 0.14)
    >>> round(one.torque, 2), round(one.thrust)
    (7.83, 1342)
    """
    half = math.sin(math.radians(point_deg) / 2.0)
    kc = float(specific_force(np.array([feed_turn / 2.0 * half]), kc11, mc)[0])
    return Drilled(kc * feed_turn * diameter**2 / 8000.0, 0.5 * diameter / 2.0 * feed_turn * kc * half)


_CHISEL: Final = {False: (1.085, 1.355, 0.030), True: (1.000, 1.100, 0.001)}
"""The handbook's A, B and J for an ordinary point (chisel edge .18 of the diameter) and for a split one (.03)."""


def drilled_handbook(diameter: float, feed_turn: float, k_d: float, *, split_point: bool = False) -> Drilled:
    """Shaw and Oxford (1957): M = 2.5e-5 K_d f^.8 D^1.8 A, T = .05 K_d f^.8 D^.8 B + .007 K_d D² J.

    >>> one = drilled_handbook(10.0, 0.2, 24000)
    >>> round(one.torque, 2), round(one.thrust, -1)
    (11.34, 3340.0)
    """
    a, b, j = _CHISEL[split_point]
    torque = k_d * feed_turn**0.8 * diameter**1.8 * a / 40000.0
    return Drilled(torque, 0.05 * k_d * feed_turn**0.8 * diameter**0.8 * b + 0.007 * k_d * diameter**2 * j)


def tap_torque_nm(diameter: float, pitch: float, kc: float) -> float:
    """Torque of a cutting tap, N·m: k_c times the section of a 60 degree internal thread times its radius, from the minor diameter
    up (height 5/8 of the sharp thread's, widths .75 P to .125 P); friction makes it 15 to 20 % more, a dull tap half as much again
    or double.

    >>> [round(tap_torque_nm(d, p, 2500), 2) for d, p in ((6, 1), (8, 1.25), (10, 1.5), (16, 2))]
    [1.58, 3.31, 5.99, 17.36]
    """
    high, wide, narrow = 0.625 * math.sqrt(0.75) * pitch, 0.75 * pitch, 0.125 * pitch
    minor = diameter / 2.0 - high
    area = high * (wide + narrow) / 2.0
    centroid = high / 3.0 * (wide + 2.0 * narrow) / (wide + narrow)
    return kc * area * (minor + centroid) / 1000.0

