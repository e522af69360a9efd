"""From rows to the part's place, with what it rests on and a budget line by line."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from setwright.base.errors import InputRefused
from setwright.base.tolerance import SAME_PLACE_MM, TINY
from setwright.estimate.coverage import half_width, welch_satterthwaite
from setwright.estimate.distribution import Distribution, Normal
from setwright.estimate.least_squares import Array, Fit, fit
from setwright.touch.equations import Equations, Row, rotation
from setwright.touch.unknowns import Unknowns

__all__ = ["Contribution", "Estimate", "Solution", "estimate_of", "solve"]

_MOSTLY = 0.5
_WIDER = 30.0
_ROUGH_MM = 0.1


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of a budget: standard uncertainty it adds (mm or rad), its degrees of freedom, its share of the variance."""

    source: str
    standard: float
    dof: float
    share: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number with its uncertainty. `expanded` = k × `standard` holds the true value with 95 %; mm or rad."""

    value: float
    standard: float
    k: float
    expanded: float
    dof: float
    contributions: tuple[Contribution, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """The solved touch-off: the fit, the rows it came from and the unknowns it solved for.

    What the readings fix does not lean on the kit: there the kit's statement is let go in `fit` (and in `unknowns`). `tied` is the
    fit with every statement kept, in which a kit that is not as stated shows as a contradiction.
    """

    unknowns: Unknowns
    rows: tuple[Row, ...]
    fit: Fit
    tied: Fit

    def value(self, name: str) -> float:
        """The estimate of an unknown; 0 for one that was held at zero."""
        row = self.unknowns.row(name)
        return 0.0 if row is None else float(self.fit.x[row])

    @property
    def machine_from_work(self) -> tuple[Array, Array]:
        """R (3, 3) and t (3,) of machine point = R · work point + t."""
        turn = rotation(self.value("angle"), self.value("tilt about x"), self.value("tilt about y"))[0]
        return turn, np.array([self.value("x"), self.value("y"), self.value("z")])

    def estimate(self, weights: Mapping[str, float], *, constant: float = 0.0, rounding: Distribution | None = None) -> Estimate:
        """Σ weight × unknown + constant, with its budget. `rounding`: error of writing it down to the register's increment."""
        c = np.zeros(len(self.unknowns))
        for name, weight in weights.items():
            row = self.unknowns.row(name)
            if row is not None:
                c[row] += weight
        parts = self._parts(c)
        if rounding is not None and rounding.standard > 0.0:
            parts.append(("rounding to the register's increment", 1.0, rounding))
        return estimate_of(float(c @ self.fit.x) + constant, parts)

    def spread(self, weights: Mapping[str, float]) -> tuple[float, float]:
        """Σ weight × unknown and its standard uncertainty alone, which takes far less than an estimate."""
        c = np.zeros(len(self.unknowns))
        for name, weight in weights.items():
            row = self.unknowns.row(name)
            if row is not None:
                c[row] += weight
        return float(c @ self.fit.x), math.sqrt(math.fsum((f * d.standard) ** 2 for _, f, d in self._parts(c)))

    def guessed(self, weights: Mapping[str, float]) -> str:
        """What to measure because Σ weight × unknown would be known if somebody's guess were ("the height of the table"); "" where
        it does not move with a guess (correlation below √½), or is known to _ROUGH_MM all the same."""
        c = np.zeros(len(self.unknowns))
        for name, weight in weights.items():
            row = self.unknowns.row(name)
            if row is not None:
                c[row] += weight
        with_all = c @ self.fit.covariance
        own = float(with_all @ c)
        if not math.isfinite(own) or own <= _ROUGH_MM**2:
            return ""
        of_guess = [(float(with_all[j] ** 2 / self.fit.covariance[j, j]), u.guess) for j, u in enumerate(self.unknowns) if u.guess]
        share, largest = max(of_guess, default=(0.0, ""))
        return largest if share > _MOSTLY * own else ""

    def _parts(self, c: Array) -> list[tuple[str, float, Distribution]]:
        of_reading = c @ self.fit.gain
        parts = [(source, float(of_reading[i]), d) for i, row in enumerate(self.rows) for source, d in row.noise]
        of_prior = c @ self.fit.prior_gain
        parts += [(u.source, float(of_prior[j]), u.known) for j, u in enumerate(self.unknowns) if u.known is not None]
        largest = max((abs(f) * d.standard for _, f, d in parts), default=0.0)
        return [part for part in parts if abs(part[1]) * part[2].standard > SAME_PLACE_MM * largest]

    def rests_on(self, weights: Mapping[str, float]) -> str:
        """What Σ weight × unknown rests on instead of the readings ("the vise", "nothing"); "" when the readings fix it.

        A number rests on a prior when it follows more than half of any change of the prior's mean.
        """
        c = np.zeros(len(self.unknowns))
        for name, weight in weights.items():
            row = self.unknowns.row(name)
            if row is not None:
                c[row] += weight
        pull = np.abs(c @ self.fit.prior_gain)
        kits = [(float(pull[j] / abs(c[j])), u.kit) for j, u in enumerate(self.unknowns) if u.kit and c[j] != 0.0]
        strongest = max(kits, default=(0.0, ""))
        return strongest[1] if strongest[0] > _MOSTLY else ""


def estimate_of(value: float, parts: Sequence[tuple[str, float, Distribution]]) -> Estimate:
    """A value whose error is Σ factor × error; `parts`: (line of the budget, factor, error), independent of each other."""
    weighted = [(factor, distribution) for _, factor, distribution in parts]
    expanded = half_width(weighted)
    standard = math.sqrt(math.fsum((f * d.standard) ** 2 for f, d in weighted))
    dof = welch_satterthwaite([f * d.standard for f, d in weighted], [d.dof for _, d in weighted])
    k = expanded / standard if standard > 0.0 else 0.0
    return Estimate(value, standard, k, expanded, dof, _grouped(parts, standard))


def _grouped(parts: Sequence[tuple[str, float, Distribution]], standard: float) -> tuple[Contribution, ...]:
    groups: dict[str, list[tuple[float, float]]] = {}
    for source, factor, d in parts:
        groups.setdefault(source, []).append((factor * d.standard, d.dof))
    variance = max(standard * standard, TINY)
    lines = []
    for source, members in groups.items():
        total = math.fsum(u * u for u, _ in members)
        dof = welch_satterthwaite([u for u, _ in members], [v for _, v in members])
        lines.append(Contribution(source, math.sqrt(total), dof, total / variance))
    return tuple(sorted(lines, key=lambda line: (-line.standard, line.source)))


def solve(rows: Sequence[Row], unknowns: Unknowns) -> Solution:
    """Solve `rows` for `unknowns`. Refuses when the readings contradict each other so grossly that no place fits.

    Without any row the answer is what was known beforehand.
    """
    said = tuple(rows)
    if any(row.unread > 0.0 or row.unread_depth > 0.0 for row in said):
        first = _fitted(said, unknowns, unknowns.start)
        said = tuple(_with_unread(row, unknowns, first) for row in said)
    tied = _fitted(said, unknowns, unknowns.start)
    free = _let_go(unknowns, tied)
    found = _fitted(said, free, tied.x)
    if not found.converged:
        remedy = "check for readings in inches, exchanged axes or a wrong face, and read them again"
        raise InputRefused.because("no place of the part fits these readings", why="they contradict each other", remedy=remedy)
    return Solution(free, said, found, tied)


def _fitted(rows: tuple[Row, ...], unknowns: Unknowns, start: Array) -> Fit:
    noise = np.array([row.standard for row in rows])
    return fit(Equations.of(list(rows), unknowns), start, noise=noise, prior=unknowns.prior)


def _with_unread(row: Row, unknowns: Unknowns, first: Fit) -> Row:
    """The row with the error of a coordinate nobody read: place along the face times how far the face is turned so far."""
    tilts = ("tilt about x", "tilt about y")
    along = row.unread * _turned(tilts if abs(row.normal[2]) > _MOSTLY else ("angle",), unknowns, first)
    down = row.unread_depth * _turned(tilts, unknowns, first)
    size = math.hypot(along, down) / math.sqrt(3.0)
    return replace(row, noise=(*row.noise, ("place along the face not read", Normal(0.0, size)))) if size > 0.0 else row


def _turned(names: Sequence[str], unknowns: Unknowns, first: Fit) -> float:
    """How far a part is turned by these angles, about, rad: their estimates with their uncertainty, root of the squares."""
    places = [unknowns.row(name) for name in names]
    return math.sqrt(math.fsum(float(first.x[j]) ** 2 + float(first.covariance[j, j]) for j in places if j is not None))


def _let_go(unknowns: Unknowns, tied: Fit) -> Unknowns:
    """The unknowns with the kit's statement widened wherever the readings say more than it does."""
    rows = [replace(u, known=u.left or Normal(u.known.mean, _WIDER * u.known.standard))
            if u.kit and u.known and share < _MOSTLY else u
            for u, share in zip(unknowns, tied.prior_share.tolist(), strict=True)]  # fmt: skip
    return unknowns.with_rows(rows)
