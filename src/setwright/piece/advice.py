"""What to type after a piece, and what it will do: the fewest changes that bring the features to the middle of their limits.

The loss of a part is the sum over its features of (distance from the middle / half the width of the limits)², a centre counting
both coordinates. Expected over the posterior it is the loss of the means plus a part that no change alters. Registers are taken one
after the other, each time the one that lowers it most, with all chosen ones set anew by least squares and rounded to the control's
increment, and only while one more change pays for the touching: see TOUCHING. No change puts a feature outside its limits that lies
inside them. A register is considered only where a measured feature lies farther beside the middle than what the values leave open
there, or than half an increment; what nobody measured moves nothing.
Source: closed forms in the guide of the station; G. E. P. Box and A. Luceño, Statistical Control by Monitoring and Feedback
Adjustment, ch. 6 and 7 (a fixed cost for each adjustment).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from setwright.base.tolerance import INFLUENCE_SEEN, TINY
from setwright.estimate.least_squares import Array
from setwright.piece.influence import Influence, Place

__all__ = ["TOUCHING", "Change", "Outlook", "advise", "in_zone", "outlook"]

TOUCHING: Final = 0.01
"""What one change must save: a feature that lies less than a tenth of its half width beside the middle is not worth a keystroke."""

_NODES: Final = 96
_REACH: Final = 8.0
_SWEEPS: Final = 60


@dataclass(frozen=True, slots=True)
class Change:
    """One register: the number of its cause, by how much it becomes greater (mm, in the sense the machine moves by), one standard
    deviation of what it should be, and by how much the loss falls with it."""

    cause: int
    by: float
    standard: float
    saves: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """A requirement on the next piece: its places' means (mm), one standard deviation of each, the probability that it is within
    its limits, None where the drawing gives none."""

    requirement: str
    means: tuple[float, ...]
    standards: tuple[float, ...]
    within: float | None


def advise(influence: Influence, off: Array, covariance: Array, *, shown: Sequence[tuple[int, float]]) -> tuple[Change, ...]:
    """The changes to make, in the order in which they pay.

    `off` (n,), `covariance` (n, n): how far each cause is off now, mm; `shown`: for every measured place its number and how far it
    must lie beside the middle to be seen there, mm.
    """
    misses, weights = _misses(influence, off), _weights(influence.places)
    allowed = [j for j in influence.registers if _visible(influence, j, misses, shown)]
    seen = np.zeros(weights.size)
    seen[[row for row, _ in shown]] = 1.0  # what nobody measured has its say in how large a change is, and asks for none
    chosen: list[int] = []
    by, loss, found = np.zeros(0), _loss(misses, seen * weights), []
    while len(chosen) < len(allowed):
        tried = [(_loss(misses + influence.matrix[:, [*chosen, j]] @ steps, seen * weights), _late(influence, j), j, steps)
                 for j in allowed if j not in chosen for steps in [_best(influence, [*chosen, j], misses, weights)]]  # fmt: skip
        least = min(one[0] for one in tried)
        _, _, cause, steps = min((one for one in tried if one[0] <= least + INFLUENCE_SEEN), key=lambda one: one[1])
        if loss - least < TOUCHING:
            break
        found.append((cause, loss - least))
        chosen, by, loss = [*chosen, cause], steps, least
    standards = _standards(influence, chosen, covariance, weights)
    changes = [Change(cause, float(step), float(standard), saves)
               for (cause, saves), step, standard in zip(found, by, standards, strict=True)]  # fmt: skip
    return tuple(change for change in changes if change.by != 0.0)


def outlook(influence: Influence, off: Array, covariance: Array, *, between_mm: float) -> tuple[Outlook, ...]:
    """Every requirement on the next piece, with causes off by `off` (n,) with `covariance` (n, n); pieces differ by
    `between_mm`."""
    means = np.array([place.simulated for place in influence.places]) + influence.matrix @ off
    spread = influence.matrix @ covariance @ influence.matrix.T + between_mm**2 * np.eye(len(influence.places))
    found = []
    for name in dict.fromkeys(place.requirement for place in influence.places):
        rows = [number for number, place in enumerate(influence.places) if place.requirement == name]
        standards = tuple(float(math.sqrt(spread[row, row])) for row in rows)
        within = _within([influence.places[row] for row in rows], means[rows], spread[np.ix_(rows, rows)])
        found.append(Outlook(name, tuple(means[rows].tolist()), standards, within))
    return tuple(found)


def _misses(influence: Influence, off: Array) -> Array:
    """How far each place lies beside the middle of its limits, mm."""
    simulated = np.array([place.simulated for place in influence.places])
    aims = np.array([place.aim for place in influence.places])
    return np.asarray(simulated - aims + influence.matrix @ off)


def _weights(places: Sequence[Place]) -> Array:
    return np.array([0.0 if place.half is None else 1.0 / place.half**2 for place in places])


def _loss(misses: Array, weights: Array) -> float:
    return float(weights @ misses**2)


def _visible(influence: Influence, cause: int, misses: Array, shown: Sequence[tuple[int, float]]) -> bool:
    """Whether a measured place shows this register to be off by more than can be told and typed."""
    typed = influence.causes[cause].typed
    half_step = typed.step / 2 if typed is not None else 0.0
    column = np.abs(influence.matrix[:, cause])
    return any(column[row] > INFLUENCE_SEEN and influence.places[row].half is not None
               and abs(misses[row]) > max(tells, half_step * float(column[row])) for row, tells in shown)  # fmt: skip


def _late(influence: Influence, cause: int) -> tuple[int, int]:
    """Of registers that do as well, the work offset, then the tool that cuts last: what was cut before is measured from."""
    typed = influence.causes[cause].typed
    return (0 if typed is not None and typed.kind == "offset" else 1, -cause)


def _best(influence: Influence, chosen: Sequence[int], misses: Array, weights: Array) -> Array:
    """The steps of these registers that make the loss least, each rounded to what can be typed."""
    root = np.sqrt(weights)[:, None]
    columns = influence.matrix[:, list(chosen)]
    steps = np.linalg.lstsq(root * columns, -root[:, 0] * misses, rcond=INFLUENCE_SEEN)[0]
    typed = (influence.causes[j].typed for j in chosen)
    sizes = np.array([one.step if one is not None else 1.0 for one in typed]) / influence.doubled(chosen)
    rounded = np.asarray(np.rint(steps / sizes) * sizes)
    inside = np.flatnonzero(np.abs(misses) <= (halves := _halves(influence.places)))
    room = halves[inside] * (1.0 + INFLUENCE_SEEN)
    if np.all(np.abs(misses[inside] + columns[inside] @ rounded) <= room):
        return rounded
    held = np.trunc(_inside(columns, misses, weights, inside, halves) / sizes) * sizes
    return held if np.all(np.abs(misses[inside] + columns[inside] @ held) <= room) else np.zeros(len(chosen))


def _halves(places: Sequence[Place]) -> Array:
    return np.array([math.inf if place.half is None else place.half for place in places])


def _inside(columns: Array, misses: Array, weights: Array, inside: NDArray[np.intp], halves: Array) -> Array:
    """The steps of least loss that put no place outside its limits that lies inside them: one after the other, each as far as the
    limits let it, until nothing moves any more."""
    steps = np.zeros(columns.shape[1])
    for _ in range(_SWEEPS):
        for number, column in enumerate(columns.T):
            left = misses + columns @ steps
            bound = inside[np.abs(column[inside]) > INFLUENCE_SEEN]
            ends = np.sort((np.array([[-1.0], [1.0]]) * halves[bound] - left[bound]) / column[bound], axis=0)
            best = -float(weights @ (column * left)) / max(float(weights @ column**2), TINY)
            steps[number] += min(max(best, float(ends[0].max(initial=-math.inf))), float(ends[1].min(initial=math.inf)))
    return steps


def _standards(influence: Influence, chosen: Sequence[int], covariance: Array, weights: Array) -> Array:
    """One standard deviation of what each of these registers should be set to, before rounding."""
    if not chosen:
        return np.zeros(0)
    root = np.sqrt(weights)[:, None]
    gain = -np.linalg.pinv(root * influence.matrix[:, list(chosen)], rcond=INFLUENCE_SEEN) @ (root * influence.matrix)
    return np.asarray(np.sqrt(np.diag(gain @ covariance @ gain.T)))


def _within(places: Sequence[Place], means: Array, spread: Array) -> float | None:
    """Probability that a size is within its limits, or a centre in its zone."""
    first = places[0]
    if first.half is None:
        return None
    if first.axis == "":
        low, high = first.limits.nominal + first.limits.lower, first.limits.nominal + first.limits.upper
        standard = math.sqrt(spread[0, 0]) + TINY
        return float(ndtr((high - means[0]) / standard) - ndtr((low - means[0]) / standard))
    return in_zone(means - np.array([place.aim for place in places]), spread, first.half)


def in_zone(mean: Array, spread: Array, radius: float) -> float:
    """Probability of a normal point (2,) in a circle about zero: Gauss-Legendre along X, exact along Y given X."""
    if mean.size < 2:
        return math.nan
    sx = math.sqrt(spread[0, 0]) + TINY
    low, high = max(-radius, mean[0] - _REACH * sx), min(radius, mean[0] + _REACH * sx)
    if low >= high:
        return 0.0
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    x = low + (high - low) * (nodes + 1.0) / 2.0
    slope = spread[0, 1] / spread[0, 0]
    centre, sy = mean[1] + slope * (x - mean[0]), math.sqrt(max(spread[1, 1] - slope * spread[0, 1], 0.0)) + TINY
    half = np.sqrt(np.maximum(radius**2 - x**2, 0.0))
    density = np.exp(-0.5 * ((x - mean[0]) / sx) ** 2) / (sx * math.sqrt(2.0 * math.pi))
    return float(np.sum(weights * density * (ndtr((half - centre) / sy) - ndtr((-half - centre) / sy))) * (high - low) / 2.0)
