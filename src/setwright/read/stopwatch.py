"""A machine's time figures from programs that somebody timed with a stop-watch, and how well they are known then.

The figures are those of `TIME_FIGURES`: the accelerations, how far corners are rounded, what the control needs for a block, tool
change and spindle start. Before any time is taken each is held to be what the machine's file says, within a spread that covers
ordinary machining centres (`_PRIOR`). Times change that by Bayes' rule; what they do not show keeps the spread it had. What the
calculation is off for other reasons (jerk, drives, coolant, doors) is one more unknown, a share of the time.

The times hang on the figures with kinks (a block time matters only where blocks are short), so the posterior is not worked out by
slopes alone: a fit finds its middle, then two or more rounds of importance sampling (low-discrepancy points, Student density
with 5 degrees of freedom, balance weights) give its shape. The pauses enter linearly and are taken in closed form. Same input,
same answer. Sources: JCGM 101 for the aim; Owen, Monte Carlo theory, ch. 9, for the sampling.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.special import gammaln, logsumexp
from scipy.stats import chi2, norm, qmc

from setwright.base.errors import InputRefused
from setwright.geometry.moves import Moves
from setwright.model.machine import TIME_FIGURES, Machine, Timed
from setwright.program.path import Path
from setwright.read.timing import line_of, pauses_of, time_of, varied

__all__ = ["FEWEST", "Calibration", "Figure", "TimedProgram", "WatchedRun", "calibrate"]

Floats = NDArray[np.float64]

FEWEST: Final = 3
"""Fewer programs than this say too little about six figures."""

_PRIOR: Final = (math.log(2.0), math.log(2.0), math.log(3.0), math.log(3.0), 0.5, 0.5)
"""One standard deviation of each of TIME_FIGURES before any time was taken: of the logarithm for the first four, a share of the
value for the pauses. Ordinary machining centres: 2 to 12 m/s², 0.4 to 10 ms a block, 3 to 8 s from chip to chip, 1.5 to 4 s."""
_BLOCK_TIME_S: Final = 0.002
"""Where the machine's file does not say how long a block takes."""
_CORNER_MM: Final = 0.01
_SHARE: Final = (0.01, math.log(2.0))
"""Median and log standard deviation of what the calculation is off as a share of a time."""
_NONLINEAR: Final = 4
_LEAST_PAUSE: Final = 0.05
"""No pause is shorter than this share of what is stated: it is a time, and never below nothing."""
_FREEDOM: Final = 5.0
_DRAWS: Final = 256
_ROUNDS: Final = 5
_COUNTED: Final = 100.0
"""Draws that carry the weight (1 over the sum of squared weights) from which on a bound of an interval is good enough."""
_WIDER: Final = 1.3
_SEED: Final = 20260302
_STEP: Final = 0.05
_SHOWN: Final = 0.7
"""A figure counts as shown when its spread has fallen below this share of what it was."""


@dataclass(frozen=True, slots=True)
class WatchedRun:
    """A program that was timed: its path and the gauge point's `moves`, `seconds` by the stop-watch, `within` (s): one standard
    deviation of that reading. `dog_leg`: how this control runs rapids."""

    name: str
    path: Path
    moves: Moves
    dog_leg: bool
    seconds: float
    within: float


@dataclass(frozen=True, slots=True)
class Figure:
    """One of TIME_FIGURES: what it was taken for, what it is now, and from where to where it lies in 95 of 100 cases. `shown`: the
    times say something of it; else it is as little known as before."""

    key: str
    before: float
    value: float
    low: float
    high: float
    shown: bool


@dataclass(frozen=True, slots=True)
class TimedProgram:
    """A timed program: by the stop-watch, as computed with the figures before and with those fitted, and the ± (95 %) of the last;
    s."""

    name: str
    measured: float
    before: float
    fitted: float
    within: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """What the times told: the machine with the figures that fit them, each figure, each program."""

    machine: Machine
    figures: tuple[Figure, ...]
    timings: tuple[TimedProgram, ...]

    @property
    def share(self) -> float:
        """The ± (95 %) of a computed time for what is in no figure, as a share of it."""
        return 2.0 * self.machine.timed.share if self.machine.timed is not None else math.nan

    def as_plain(self) -> dict[str, Any]:
        """For the document: s, mm, mm/s²."""
        return {
            "machine": self.machine.name, "programs": len(self.timings), "share": self.share,
            "figures": [{"key": one.key, "before": one.before, "value": one.value, "low": one.low, "high": one.high,
                         "shown": one.shown} for one in self.figures],
            "times": [{"program": one.name, "measured_s": one.measured, "computed_before_s": one.before,
                       "computed_s": one.fitted, "uncertainty_s": one.within} for one in self.timings],
        }  # fmt: skip


def calibrate(machine: Machine, runs: Sequence[WatchedRun], *, progress: Callable[[int, int], None] | None = None) -> Calibration:
    """Fit the time figures of `machine` to timed programs, three or more.

    Raises InputRefused for fewer, and for a program whose time cannot be computed. Error bound: the fitted figures are means of a
    sampled posterior; the sampling puts a bound of their interval off by some 5 % of its width.
    """
    if len(runs) < FEWEST:
        raise InputRefused.because(f"{len(runs)} timed program{'s' if len(runs) != 1 else ''}",
                                   why=f"{len(TIME_FIGURES)} figures are fitted: fewer than {FEWEST} programs say too little",
                                   remedy="time one with long rapids, one of short blocks, one with tool changes")  # fmt: skip
    start = _with_defaults(machine.model_copy(update={"timed": None}))
    for run in runs:
        if line_of(run.path, run.moves, start, dog_leg=run.dog_leg) is None:
            raise InputRefused.because(f"{run.name} has a feed motion without a feed", why="its time cannot be computed",
                                       remedy="correct the program, or leave it out of the table")  # fmt: skip
    draws, weights = _Posterior(start, runs, progress).sampled()
    mean = weights @ draws
    fitted = varied(start, mean[: len(TIME_FIGURES)])
    timed = _timed(draws, weights, len(runs))
    fitted = fitted.model_copy(update={"timed": timed})
    return Calibration(fitted, _figures(start, draws, weights, mean), _timings(machine, fitted, runs))


def _with_defaults(machine: Machine) -> Machine:
    """A block time or a rounding of nothing is none that could be scaled: the usual one stands for it."""
    update = {}
    if machine.block_time <= 0.0:
        update["block_time"] = _BLOCK_TIME_S
    if machine.corner_rounding <= 0.0:
        update["corner_rounding"] = _CORNER_MM
    return machine.model_copy(update=update)


def _timed(draws: Floats, weights: Floats, count: int) -> Timed:
    figures = draws[:, : len(TIME_FIGURES)] - weights @ draws[:, : len(TIME_FIGURES)]
    covariance = (weights[:, None] * figures).T @ figures
    spread = np.sqrt(np.diag(covariance))
    spread[_NONLINEAR:] /= 1.0 + (weights @ draws)[_NONLINEAR : len(TIME_FIGURES)]
    scale = np.sqrt(np.diag(covariance))
    share = math.sqrt(float(weights @ np.exp(2.0 * draws[:, -1])))
    together = covariance / np.outer(scale, scale)
    return Timed(programs=count, share=share, spread=tuple(spread.tolist()), together=tuple(map(tuple, together.tolist())))


def _figures(start: Machine, draws: Floats, weights: Floats, mean: Floats) -> tuple[Figure, ...]:
    found = []
    now = _values(start)
    for place, key in enumerate(TIME_FIGURES):
        low, high = _quantiles(draws[:, place], weights, (0.025, 0.975))
        deviation = math.sqrt(float(weights @ (draws[:, place] - mean[place]) ** 2))
        value, least, most = (now[place] * (math.exp(by) if place < _NONLINEAR else max(1.0 + by, 0.0))
                              for by in (float(mean[place]), low, high))  # fmt: skip
        found.append(Figure(key, now[place], value, least, most, deviation < _SHOWN * _PRIOR[place]))
    return tuple(found)


def _values(machine: Machine) -> tuple[float, ...]:
    return (machine.acceleration.x, machine.acceleration.z, machine.corner_rounding, machine.block_time, machine.tool_change,
            machine.spindle_start)  # fmt: skip


def _quantiles(values: Floats, weights: Floats, shares: tuple[float, float]) -> tuple[float, float]:
    order = np.argsort(values, kind="stable")
    along = np.cumsum(weights[order])
    low, high = np.interp(shares, along - 0.5 * weights[order], values[order]).tolist()
    return low, high


def _timings(machine: Machine, fitted: Machine, runs: Sequence[WatchedRun]) -> tuple[TimedProgram, ...]:
    found = []
    for run in runs:
        before = line_of(run.path, run.moves, machine, dog_leg=run.dog_leg)
        after = time_of(run.path, run.moves, fitted, dog_leg=run.dog_leg)
        if before is not None and after.total_s is not None and after.within_s is not None:
            found.append(TimedProgram(run.name, run.seconds, before.total_s, after.total_s, after.within_s))
    return tuple(found)


class _Posterior:
    """The posterior of the figures, in units of their prior spread: four that do not matter linearly, and the share."""

    def __init__(self, start: Machine, runs: Sequence[WatchedRun], progress: Callable[[int, int], None] | None) -> None:
        self._start, self._runs, self._progress = start, runs, progress
        self._seconds = np.array([run.seconds for run in runs])
        self._watch = np.array([run.within for run in runs])
        names = [[what for what, _, _ in pauses_of(run.path, start)] for run in runs]
        wait = (start.tool_change, start.spindle_start)
        counts = [[each.count(what) * seconds for what, seconds in zip(("tool change", "spindle"), wait, strict=True)]
                  for each in names]  # fmt: skip
        self._pauses = np.array(counts)  # what a change of 1 in their share makes, s
        self._spread = np.array(_PRIOR)
        self._done = 0

    def _computed(self, z: Floats) -> Floats:
        """Times with the pauses as stated, s, (runs,)."""
        by = np.zeros(len(TIME_FIGURES))
        by[:_NONLINEAR] = z[:_NONLINEAR] * self._spread[:_NONLINEAR]
        machine = varied(self._start, by)
        lines = [line_of(run.path, run.moves, machine, dog_leg=run.dog_leg) for run in self._runs]
        self._done += 1
        if self._progress is not None:
            self._progress(self._done, max(3 * _DRAWS, self._done))
        return np.array([line.total_s for line in lines if line is not None])

    def _noise(self, log_share: float) -> Floats:
        return np.asarray(self._watch**2 + (math.exp(log_share) * self._seconds) ** 2)

    def _log_share(self, z: Floats) -> float:
        return math.log(_SHARE[0]) + _SHARE[1] * float(z[_NONLINEAR])

    def _conditional(self, z: Floats) -> tuple[float, Floats, Floats]:
        """Log density at z, up to a constant, with the pauses integrated out; their mean (2,) and covariance (2, 2) given z."""
        left = self._seconds - self._computed(z)
        noise, prior = self._noise(self._log_share(z)), np.diag(self._spread[_NONLINEAR:] ** 2)
        whole = np.diag(noise) + self._pauses @ prior @ self._pauses.T
        factor = np.linalg.cholesky(whole)
        white = np.linalg.solve(factor, left)
        gain = prior @ self._pauses.T @ np.linalg.inv(whole)
        density = -0.5 * float(white @ white) - float(np.log(np.diag(factor)).sum()) - 0.5 * float(z @ z)
        return density, gain @ left, prior - gain @ self._pauses @ prior

    def _middle(self) -> tuple[Floats, Floats]:
        """The most likely z and the covariance there, by slopes over `_STEP`; the share as stated."""
        noise = self._noise(math.log(_SHARE[0]))
        prior = np.diag(self._spread[_NONLINEAR:] ** 2)
        factor = np.linalg.cholesky(np.diag(noise) + self._pauses @ prior @ self._pauses.T)

        def rows(z: Floats) -> Floats:
            return np.concatenate([np.linalg.solve(factor, self._computed(z) - self._seconds), z])

        def slopes_at(z: Floats) -> Floats:
            return np.column_stack([(rows(z + step) - rows(z - step)) / (2.0 * _STEP) for step in _STEP * np.eye(_NONLINEAR)])

        found = least_squares(rows, np.zeros(_NONLINEAR), jac=slopes_at, xtol=0.001, ftol=0.0001, max_nfev=20)
        whole = np.eye(_NONLINEAR + 1)
        slopes = np.asarray(found.jac, np.float64)
        whole[:_NONLINEAR, :_NONLINEAR] = np.linalg.inv(slopes.T @ slopes)
        return np.append(found.x, 0.0), whole

    def sampled(self) -> tuple[Floats, Floats]:
        """Draws (n, 7) of TIME_FIGURES (as `varied` takes them) and of the share's logarithm, and their weights (n,), sum 1."""
        places: list[Floats] = []
        scales: list[Floats] = []
        drawn, densities, pauses = np.zeros((0, _NONLINEAR + 1)), np.zeros(0), np.zeros((0, 2))
        where, shape = self._middle()
        first = shape
        weights = np.zeros(0)
        for round_ in range(_ROUNDS):
            uniform = qmc.Sobol(_NONLINEAR + 4, rng=np.random.default_rng(_SEED + round_)).random(_DRAWS)
            places.append(where)
            scales.append(np.asarray(np.linalg.cholesky(shape * _WIDER**2), np.float64))
            z = _student(uniform[:, : _NONLINEAR + 2], where, scales[-1])
            each = [self._conditional(one) for one in z]
            pauses = np.concatenate([pauses, _normals(each, uniform[:, -2:])])
            drawn, densities = np.concatenate([drawn, z]), np.concatenate([densities, [one[0] for one in each]])
            mixture = logsumexp([_log_student(drawn, a, b) for a, b in zip(places, scales, strict=True)], axis=0)
            weights = np.exp(densities - mixture - logsumexp(densities - mixture))
            if round_ and 1.0 / float(weights @ weights) >= _COUNTED:
                break
            where = weights @ drawn
            centred = drawn - where
            # never narrower than a tenth of what the slopes say, should few draws carry the weight
            shape = (weights[:, None] * centred).T @ centred + 0.01 * first
        share = math.log(_SHARE[0]) + _SHARE[1] * drawn[:, _NONLINEAR :]
        pauses = np.maximum(pauses, _LEAST_PAUSE - 1.0)
        return np.column_stack([drawn[:, :_NONLINEAR] * self._spread[:_NONLINEAR], pauses, share]), weights


def _student(uniform: Floats, where: Floats, scale: Floats) -> Floats:
    """Draws of a multivariate Student distribution from evenly spread numbers in (0, 1), (n, d + 1)."""
    inside = np.clip(uniform, 2.0**-30, 1.0 - 2.0**-30)
    stretch = np.sqrt(_FREEDOM / chi2.ppf(inside[:, -1], _FREEDOM))
    return np.asarray(where + (norm.ppf(inside[:, :-1]) * stretch[:, None]) @ scale.T)


def _log_student(z: Floats, where: Floats, scale: Floats) -> Floats:
    count = where.size
    white = np.linalg.solve(scale, (z - where).T)
    constant = gammaln((_FREEDOM + count) / 2.0) - gammaln(_FREEDOM / 2.0) - 0.5 * count * math.log(_FREEDOM * math.pi)
    return np.asarray(constant - np.log(np.diag(scale)).sum()
                      - (_FREEDOM + count) / 2.0 * np.log1p((white * white).sum(axis=0) / _FREEDOM))  # fmt: skip


def _normals(each: list[tuple[float, Floats, Floats]], uniform: Floats) -> Floats:
    """One draw of the pauses a draw of the rest, (n, 2)."""
    standard = norm.ppf(np.clip(uniform, 2.0**-30, 1.0 - 2.0**-30))
    return np.array([mean + np.linalg.cholesky(spread) @ one for (_, mean, spread), one in zip(each, standard, strict=True)])
