"""The datum checked again and again: has the machine moved, how fast, and how long until it matters?

Three ways a position can change over a shift are told apart: not at all beyond the readings' noise; steadily (a part slipping,
a tip wearing); and towards a new rest, fast at first (a machine warming up). The simplest one that the readings do not contradict
is taken: an F test at 1 % for each step up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import fdtri

from setwright.base.errors import InputRefused
from setwright.base.units import format_length
from setwright.estimate.least_squares import Array, Fit, fit

__all__ = ["Drift", "datum_drift"]

_LEAST_CHECKS = 3
_LEVEL = 0.99
_TIME_GUESSES = (0.15, 0.4, 1.0)


@dataclass(frozen=True, slots=True)
class Drift:
    """What repeated checks of one axis say; mm, min.

    `shape`: "steady place", "steady drift" or "warming up". `moved`: from first to last check; `expanded`: ± 95 % of that. `rate`:
    mm per minute now; `rate_standard` its standard uncertainty. `time_constant`: of warming up, min. `noise`: one standard
    deviation of a check about the curve.
    """

    shape: str
    moved: float
    expanded: float
    rate: float
    rate_standard: float
    noise: float
    time_constant: float | None = None

    def minutes_left(self, allowed: float) -> float:
        """Minutes until the place is off by `allowed` mm from the last check, at the fastest rate the checks allow; or inf."""
        worst = abs(self.rate) + 2.0 * self.rate_standard
        if self.shape == "steady place" or worst <= 0.0:
            return math.inf
        if self.time_constant is None:
            return allowed / worst
        to_go = worst * self.time_constant
        return math.inf if to_go <= allowed else -self.time_constant * math.log1p(-allowed / to_go)

    def text(self, axis: str, units: str = "mm") -> str:
        """One sentence."""
        moved, wide, hour = (format_length(value, units, places=4 + (units != "mm"), signed=signed) for value, signed in
                             ((self.moved, True), (self.expanded, False), (60.0 * self.rate, True)))  # fmt: skip
        if self.shape == "steady place":
            return f"{axis} has not moved beyond ± {wide}"
        size = f"{axis} has moved {moved} ± {wide}"
        if self.time_constant is None:
            return f"{size} and goes on at {hour} an hour: look for a part that slips or a tip that wears"
        return f"{size} like a machine warming up (63 % in {self.time_constant:.0f} min): now {hour} an hour"


def datum_drift(minutes: Sequence[float], places: Sequence[float], *, standard: float) -> Drift:
    """Judge the `places` (mm) found at `minutes` (ascending), each with the standard uncertainty `standard` of one check.

    The stated uncertainty is kept unless the readings scatter more. Refuses fewer than 3 checks and times that do not rise.
    """
    t, y = np.asarray(minutes, dtype=np.float64), np.asarray(places, dtype=np.float64)
    if t.size < _LEAST_CHECKS or t.size != y.size:
        raise InputRefused.because(f"{t.size} checks cannot show a drift", remedy="check the datum at least three times")
    if np.any(np.diff(t) <= 0.0):
        raise InputRefused.because("the times of the checks do not rise", remedy="enter the checks in the order they were made")
    t = t - t[0]
    still = _polynomial(t, y, 0, standard)
    line = _polynomial(t, y, 1, standard)
    if not _better(still.chi_square, line.chi_square, 1, t.size - 2):
        return _still(t, still.chi_square, standard)
    warm = _warming(t, y, standard) if t.size > 4 else None
    if warm is not None and _better(line.chi_square, warm[0], 1, t.size - 3):
        return _warm(t, warm[0], warm[1], warm[2], standard)
    spread = max(1.0, math.sqrt(line.chi_square / (t.size - 2)))
    u = spread * float(line.standard[1])
    slope = float(line.x[1])
    return Drift("steady drift", slope * float(t[-1]), 2.0 * u * float(t[-1]), slope, u, spread * standard)


def _polynomial(t: Array, y: Array, degree: int, standard: float) -> Fit:
    design = np.vander(t, degree + 1, increasing=True)
    return fit(lambda x: (design @ x - y, design), np.zeros(degree + 1), noise=np.full(t.size, standard))


def _better(before: float, after: float, added: int, dof: int) -> bool:
    """Whether the further parameter pays: chi² must fall by more than noise of the stated size, and of the size seen, does."""
    if dof < 1 or before <= after:
        return False
    gained = (before - after) / added
    return gained > float(fdtri(added, 10_000, _LEVEL)) * max(1.0, after / dof)


def _still(t: Array, chi_square: float, standard: float) -> Drift:
    spread = max(1.0, math.sqrt(chi_square / (t.size - 1))) * standard
    return Drift("steady place", 0.0, 2.0 * spread * math.sqrt(2.0), 0.0, 0.0, spread)


def _warming(t: Array, y: Array, standard: float) -> tuple[float, Array, Array] | None:
    """y = a + b (1 − exp(−t/τ)): best of several starts; (chi², parameters, covariance), None when none settles with τ in sight."""
    best = None
    for share in _TIME_GUESSES:
        def residuals(x: Array) -> tuple[Array, Array]:
            decay = np.exp(-t / x[2])
            return x[0] + x[1] * (1.0 - decay) - y, np.column_stack([np.ones_like(t), 1.0 - decay, -x[1] * decay * t / x[2] ** 2])

        start = np.array([y[0], y[-1] - y[0], share * t[-1]])
        found = fit(residuals, start, noise=np.full(t.size, standard))
        sensible = found.converged and 0.0 < found.x[2] < 3.0 * t[-1] and np.all(np.isfinite(found.standard))
        if sensible and (best is None or found.chi_square < best[0]):
            best = found.chi_square, found.x, found.covariance
    return best


def _warm(t: Array, chi_square: float, x: Array, covariance: Array, standard: float) -> Drift:
    spread = max(1.0, math.sqrt(chi_square / (t.size - 3)))
    decay = math.exp(-float(t[-1]) / float(x[2]))
    moved = float(x[1]) * (1.0 - decay)
    of_moved = np.array([0.0, 1.0 - decay, -x[1] * decay * t[-1] / x[2] ** 2])
    rate = float(x[1] / x[2]) * decay
    of_rate = np.array([0.0, decay / x[2], float(x[1]) * decay * (t[-1] / x[2] - 1.0) / x[2] ** 2])
    u_moved, u_rate = (spread * math.sqrt(float(v @ covariance @ v)) for v in (of_moved, of_rate))
    return Drift("warming up", moved, 2.0 * u_moved, rate, u_rate, spread * standard, float(x[2]))
