"""What the measured values say of the registers: the posterior of how far each is off, and which values nobody should act on.

The deviations a of registers and kit are normal beforehand with the standard deviations of the touch-off and the kit; a value is
    measured - simulated = J (a + what was typed since) + the gauge's error + what differs from piece to piece.
Half of a gauge's variance is its setting and calibration: it is the same in every value of one place, and no number of pieces
averages it away. For one register and one feature and a gauge without such a share that is the recursive gain
K_t = 1 / (t + sigma² / sigma_d²) of the harmonic rule with a prior.

From piece to piece a may stay, or drift as in estimate.trend (a walk and a pace of wear): the evidence of all values decides, the
normal density of all of them together. A changed tool starts anew from its prior. A value that this model cannot have made is not
averaged in. Rivals are weighed by their evidence: nothing odd; one value misread; one register or one tool off by any amount, from
the first piece on or from a later one (a slip, a chipped edge, a tool pulled out); one feature that comes out otherwise in every
piece (the program, a tool that gives way); one piece of which nothing is to be believed. Only where one of them holds 95 % of the
probability does it decide; otherwise the odd values are measured again first.
Source: Gelman et al., Bayesian Data Analysis, ch. 14 (linear model with informative priors); Rasmussen & Williams, Gaussian
Processes for Machine Learning, ch. 2 (the posterior of what moves); F. E. Grubbs, J. Qual. Technol. 15 (1983) 186.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from setwright.base.tolerance import INFLUENCE_SEEN
from setwright.estimate.least_squares import Array
from setwright.estimate.trend import PACE, WALK

__all__ = ["SETTLED", "Belief", "Rival", "Values", "believe"]

SETTLED: Final = 0.95
"""Probability from which on one explanation decides."""

_GROSS_MM: Final = 1.0
_GROSS_RAD: Final = 0.02
_MISREAD: Final = 0.002
"""How often a value is written down wrong: a few digits at one in a thousand or two each (NUREG/CR-1278, chapter 20)."""

_OFF: Final = 0.003
"""How often one register or one tool is grossly off, and how often it comes to be so within a batch."""

_MADE: Final = 0.002
"""How often a feature is made otherwise than the simulated part says: by its program, or by a tool that gives way there."""

_UNLISTED: Final = 0.001
_SHARED: Final = 0.5
"""Share of a gauge's variance that stays the same in every value of the same place."""

_ODD: Final = 3.5
_DRIFTS: Final = 0.1
"""How often registers drift from piece to piece by more than the model of a steady process allows."""

_RECENT: Final = 40
"""Pieces back to which a jump is looked for; what jumped before shows in all values since."""


@dataclass(frozen=True, slots=True)
class Values:
    """k measured values: `rows` (k, n) of the influence matrix, `off` (k,) measured less simulated less what was typed, mm;
    `gauge` (k,) one standard deviation of its gauge, mm; `same` (k,) the number of its piece and place; `with_` (k,) that of its
    gauge; `place` (k,) that of its place; `at` (k,) that of its piece, in their order. The last two left away: each its own place,
    all of one piece."""

    rows: Array
    off: Array
    gauge: Array
    same: Sequence[int]
    with_: Sequence[int]
    place: Sequence[int] = ()
    at: Sequence[int] = ()

    def noise(self, between_mm: float) -> Array:
        """Covariance of the values (k, k), mm²; `between_mm`: one standard deviation from piece to piece."""
        same, with_, place = np.asarray(self.same), np.asarray(self.with_), np.asarray(self.place if len(self.place) else self.same)
        together = same[:, None] == same[None, :]
        shared = (place[:, None] == place[None, :]) & (with_[:, None] == with_[None, :])
        found = np.where(shared, _SHARED * np.outer(self.gauge, self.gauge), 0.0) + np.where(together, between_mm**2, 0.0)
        return np.asarray(found + np.diag((1.0 - _SHARED) * self.gauge**2))

    def without(self, rows: Sequence[int]) -> Values:
        """The same without some values."""
        kept = [number for number in range(self.off.size) if number not in rows]
        of_all = (self.same, self.with_, self.place, self.at)
        same, with_, place, at = ([of[number] for number in kept] if len(of) else () for of in of_all)
        return Values(self.rows[kept], self.off[kept], self.gauge[kept], same, with_, place, at)

    @property
    def pieces(self) -> Array:
        """The number of each value's piece (k,), float64."""
        return np.asarray(self.at if len(self.at) else np.zeros(self.off.size), np.float64)


@dataclass(frozen=True, slots=True)
class Rival:
    """One explanation: "none", "value", "cause", "place" or "unlisted"; the number of its value, cause, place or piece (as in
    `Values`), its probability; `since`: the piece from which on a cause is off, None for all."""

    kind: str
    number: int
    probability: float
    since: int | None = None


@dataclass(frozen=True, slots=True)
class Belief:
    """`mean` (n,), `covariance` (n, n): how far each cause is off at the next piece, apart from what was typed; `gain` (n, k) of
    the values kept. `rivals`: the likeliest first. `aside`: numbers of values that say nothing of the causes here. `drifts`:
    whether the values show more than a steady process. `acted`: the cause that is grossly off, where that is settled; `made`: a
    place that comes out otherwise than the causes explain, and by how much, mm."""

    mean: Array
    covariance: Array
    rivals: tuple[Rival, ...]
    aside: tuple[int, ...]
    drifts: bool
    gain: Array = field(repr=False)
    acted: Rival | None = None
    made: tuple[int, float] | None = None

    @property
    def settled(self) -> bool:
        """Whether one explanation decides."""
        return self.rivals[0].probability >= SETTLED


@dataclass(frozen=True, slots=True)
class _Law:
    """How the causes may move: `standard` (n,) beforehand; `walk`, `pace` (n,) a piece, zero where they stay; `breaks`: for a cause
    the pieces from which on it starts anew, with the standard deviation it has then."""

    standard: Array
    walk: Array
    pace: Array
    breaks: tuple[tuple[int, int, float], ...] = ()

    def between(self, cause: int, one: Array, other: Array) -> Array:
        """Covariance of a cause at the pieces `one` (k,) with itself at `other` (m,), (k, m)."""
        mine = sorted((since, standard) for number, since, standard in self.breaks if number == cause)
        starts = np.array([-math.inf, *(since for since, _ in mine)])
        wide = np.array([self.standard[cause], *(standard for _, standard in mine)])
        first = float(min(one.min(initial=math.inf), other.min(initial=math.inf)))
        a, b = (np.searchsorted(starts, at, side="right") - 1 for at in (one, other))
        ages = [at - np.maximum(starts[epoch], first) for at, epoch in ((one, a), (other, b))]
        moved = self.walk[cause] ** 2 * np.minimum.outer(*ages) + self.pace[cause] ** 2 * np.multiply.outer(*ages)
        return np.asarray(np.where(np.equal.outer(a, b), wide[a][:, None] ** 2 + moved, 0.0))

    def spread(self, values: Values) -> Array:
        """Covariance of what the causes make of the values, (k, k)."""
        at = values.pieces
        if not self.breaks and not self.walk.any():
            return np.asarray((values.rows * self.standard**2) @ values.rows.T)
        found = np.zeros((at.size, at.size))
        for cause in range(self.standard.size):
            column = values.rows[:, cause]
            if np.abs(column).max(initial=0.0) > INFLUENCE_SEEN:
                found += np.outer(column, column) * self.between(cause, at, at)
        return found


def believe(values: Values, standard: Array, *, between_mm: float, turns: Sequence[int] = (),
            changed: Sequence[tuple[int, int]] = ()) -> Belief:  # fmt: skip
    """The posterior from values and the priors' `standard` deviations (n,), mm.

    `turns`: causes that are directions, rad; `changed`: a cause and the piece before which its tool was changed. Exact for the
    normal model; with no value the belief is the prior.
    """
    gross = np.array([_GROSS_RAD if number in turns else _GROSS_MM for number in range(standard.size)])
    still = np.zeros(standard.size)
    law = _Law(standard, still, still, tuple((cause, since, float(standard[cause])) for cause, since in changed))
    weighed = [(law, *_rivals(values, law, between_mm, gross))]
    if len(set(values.at)) >= _ENOUGH:
        weighed.append((lively := _lively(values, law, between_mm, turns), *_rivals(values, lively, between_mm, gross)))
        drifting = weighed[1][2] + math.log(_DRIFTS) > weighed[0][2] + math.log(1.0 - _DRIFTS)
    else:
        drifting = False
    law, rivals, _ = weighed[int(drifting)]
    first, aside = rivals[0], tuple[int, ...]()
    cause = _cause(rivals)
    places = np.asarray(values.place if len(values.place) else values.same)
    if cause is not None:
        law = _broken(law, cause, float(gross[cause.number]))
    elif first.probability >= SETTLED and first.kind == "value":
        aside = (first.number,)
    elif first.probability >= SETTLED and first.kind == "place":
        aside = tuple(np.flatnonzero(places == first.number).tolist())
    elif first.kind != "none" or first.probability < SETTLED:
        aside = _odd(values, law, between_mm, rivals)
    found = _posterior(values.without(aside), law, between_mm, tuple(rivals), aside, drifts=drifting)
    if first.probability < SETTLED or first.kind != "place":
        return replace(found, acted=cause)
    own = values.off - values.rows @ found.mean
    return replace(found, made=(first.number, float(np.mean(own[list(aside)]))))


def _cause(rivals: Sequence[Rival]) -> Rival | None:
    """The cause to act on: one that decides, alone or together with "nothing odd", which asks for the same change."""
    best = next((rival for rival in rivals if rival.kind == "cause"), None)
    nothing = next(rival.probability for rival in rivals if rival.kind == "none")
    if best is None or nothing >= SETTLED or best.probability <= 1.0 - SETTLED:
        return None
    return best if best.probability + nothing >= SETTLED else None


_ENOUGH: Final = 5
"""Pieces from which on a drift can be told from chance."""


def _lively(values: Values, law: _Law, between_mm: float, turns: Sequence[int]) -> _Law:
    """The same with every register and tool that may drift: as far a piece as estimate.trend lets a level walk and start to run."""
    sigma = math.hypot(float(np.median(values.gauge)), between_mm)
    reach = np.abs(values.rows).max(axis=0, initial=0.0)
    moves = (reach > INFLUENCE_SEEN) & ~np.isin(np.arange(reach.size), list(turns))
    size = np.where(moves, sigma / np.where(moves, reach, 1.0), 0.0)
    return replace(law, walk=WALK * size, pace=PACE * size)


def _broken(law: _Law, rival: Rival, gross: float) -> _Law:
    """The same where a cause is off by any amount."""
    wide = math.hypot(float(law.standard[rival.number]), gross)
    if rival.since is not None:
        return replace(law, breaks=(*law.breaks, (rival.number, rival.since, wide)))
    standard = law.standard.copy()
    standard[rival.number] = wide
    return replace(law, standard=standard)


def _posterior(values: Values, law: _Law, between_mm: float, rivals: tuple[Rival, ...], aside: tuple[int, ...], *,
               drifts: bool) -> Belief:  # fmt: skip
    n, at = law.standard.size, values.pieces
    then = np.array([at.max(initial=0.0) + 1.0])
    prior = np.array([law.between(cause, then, then)[0, 0] if at.size == 0 else _then(law, cause, at, then) for cause in range(n)])
    if not at.size:
        return Belief(np.zeros(n), np.diag(prior), rivals, aside, drifts, np.zeros((n, 0)))
    cross = np.array([law.between(cause, at, then)[:, 0] * values.rows[:, cause] for cause in range(n)])
    factor = cho_factor(law.spread(values) + values.noise(between_mm), lower=True)
    gain = cho_solve(factor, cross.T).T
    return Belief(gain @ values.off, np.diag(prior) - gain @ cross.T, rivals, aside, drifts, gain)


def _then(law: _Law, cause: int, at: Array, then: Array) -> float:
    """Variance of a cause at the next piece, reckoned from the first."""
    both = np.array([float(at.min()), float(then[0])])
    return float(law.between(cause, both, both)[1, 1])


def _rivals(values: Values, law: _Law, between_mm: float, gross: Array) -> tuple[list[Rival], float]:
    """Every explanation with its probability, the likeliest first, and the log of the evidence of all together.

    Each adds a few directions of any size to the covariance S of "nothing odd"; by the matrix determinant lemma its density needs
    S inverted once only.
    """
    k = values.off.size
    if not k:
        return [Rival("none", -1, 1.0)], 0.0
    lower = np.linalg.cholesky(law.spread(values) + values.noise(between_mm))
    inverse = np.linalg.inv(lower)
    precision = inverse.T @ inverse
    pull = precision @ values.off
    nothing = -0.5 * float(values.off @ pull) - float(np.log(np.diag(lower)).sum())
    told: list[tuple[Rival, float]] = [(Rival("none", -1, 0.0), nothing)]
    for number in range(k):
        seen = _one(nothing, _GROSS_MM * pull[number], _GROSS_MM**2 * precision[number, number])
        told.append((Rival("value", number, 0.0), seen + math.log(_MISREAD)))
    places = np.asarray(values.place if len(values.place) else values.same)
    for number in np.unique(places).tolist():
        mine = (places == number) * _GROSS_MM
        told.append((Rival("place", number, 0.0),
                     _one(nothing, float(mine @ pull), float(mine @ precision @ mine)) + math.log(_MADE)))  # fmt: skip
    at = values.pieces
    pieces = np.unique(at)
    for piece in pieces[-_RECENT:].tolist():
        rows = np.flatnonzero(at == piece)
        told.append((Rival("unlisted", int(piece), 0.0),
                     _several(nothing, pull[rows], precision[np.ix_(rows, rows)]) + math.log(_UNLISTED / pieces[-_RECENT:].size)))
    for number in range(gross.size):
        column = values.rows[:, number] * gross[number]
        if not np.any(column):
            continue
        tried = set()
        for since in (None, *pieces[1:][-_RECENT:].tolist()):
            off = column if since is None else np.where(at >= since, column, 0.0)
            if not np.any(off) or (same := (off != 0.0).tobytes()) in tried:
                continue
            tried.add(same)
            rare = _OFF if since is None else _OFF / pieces.size
            told.append((Rival("cause", number, 0.0, None if since is None else int(since)),
                         _one(nothing, float(off @ pull), float(off @ precision @ off)) + math.log(rare)))
    return _shares(told)


def _shares(told: Sequence[tuple[Rival, float]]) -> tuple[list[Rival], float]:
    """Rivals with their probabilities, the likeliest first, and the log of the evidence of all: one cause counts once, from the
    piece that explains it best."""
    logs = np.array([log for _, log in told])
    share = np.exp(logs - logs.max())
    whole = float(share.sum())
    best: dict[tuple[str, int], tuple[float, Rival, float]] = {}
    for (rival, log), weight in zip(told, share.tolist(), strict=True):
        most, kept, both = best.get((rival.kind, rival.number), (-math.inf, rival, 0.0))
        best[rival.kind, rival.number] = (max(most, log), rival if log > most else kept, both + weight)
    found = [replace(rival, probability=both / whole) for _, rival, both in best.values()]
    return sorted(found, key=lambda rival: -rival.probability), float(logs.max() + math.log(whole))


def _one(nothing: float, pulled: float, stiff: float) -> float:
    """The log density with one more direction u of unit variance: `pulled` = u·S⁻¹y, `stiff` = u·S⁻¹u."""
    return nothing + 0.5 * pulled**2 / (1.0 + stiff) - 0.5 * math.log1p(stiff)


def _several(nothing: float, pulled: Array, stiff: Array) -> float:
    """The same with every value of a piece off by any amount."""
    whole = np.eye(pulled.size) / _GROSS_MM**2 + stiff
    _, size = np.linalg.slogdet(np.eye(pulled.size) + _GROSS_MM**2 * stiff)
    return nothing + 0.5 * float(pulled @ np.linalg.solve(whole, pulled)) - 0.5 * float(size)


def _odd(values: Values, law: _Law, between_mm: float, rivals: Sequence[Rival]) -> tuple[int, ...]:
    """Values that stand out where no explanation decides: those that may be misread, those of a piece that is not to be believed,
    and those far from what was to be expected."""
    spread = law.spread(values) + values.noise(between_mm)
    far = np.abs(values.off) / np.sqrt(np.diag(spread)) > _ODD
    named = [rival.number for rival in rivals if rival.kind == "value" and rival.probability > 1.0 - SETTLED]
    precision, at = np.linalg.inv(spread), values.pieces
    for piece in [rival.number for rival in rivals if rival.kind == "unlisted" and rival.probability > 1.0 - SETTLED]:
        rows = np.flatnonzero(at == piece)
        others = np.linalg.inv(precision[np.ix_(rows, rows)])  # covariance of these as all other pieces foretell them
        off = others @ (precision[rows] @ values.off)
        named += rows[np.abs(off) / np.sqrt(np.diag(others)) > _ODD].tolist()
    return tuple(sorted({*named, *np.flatnonzero(far).tolist()}))
