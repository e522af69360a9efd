"""Weighted nonlinear least squares with priors, its covariance, its rank, and what each number rests on.

Minimises  r(x)ᵀ V⁻¹ r(x) + Σ ((x_j − m_j) / s_j)²  over x, where r is "what was predicted less what was observed", V the covariance
of the observations and (m_j, s_j) an independent prior on parameter j. A prior is a row like any other, so every question
about an observation (its share in an estimate, its redundancy) can be asked of a prior too.

Method: Levenberg–Marquardt on the whitened, column-scaled rows; each step from one singular value decomposition, never from
the normal matrix, whose condition is the square. Source: Björck, Numerical Methods for Least Squares Problems, ch. 9;
Nocedal & Wright, Numerical Optimization, sec. 10.3.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import FIT_RELATIVE_OFFSET, RANK_RELATIVE, TINY

__all__ = ["Array", "Fit", "Prior", "Residuals", "Variance", "fit"]

Array = NDArray[np.float64]
Residuals = Callable[[Array], tuple[Array, Array]]
"""x (n,) -> residuals (m,) predicted less observed, Jacobian (m, n)."""

_MOST_STEPS = 100
_LEAST_DAMPING = 2.0**-10


class Variance(Enum):
    """Where the size of the observations' errors comes from."""

    STATED = "stated"
    RESIDUALS = "residuals"


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of each parameter beforehand: `mean` (n,), `standard` (n,) its standard uncertainty, inf where nothing is."""

    mean: Array
    standard: Array

    @property
    def rows(self) -> NDArray[np.intp]:
        """Indices of the parameters that have one."""
        return np.flatnonzero(np.isfinite(self.standard))


@dataclass(frozen=True, slots=True)
class Fit:
    """The answer and what it rests on. m observations, n parameters, q parameters with a prior.

    x           (n,)    the estimate
    residuals   (m,)    predicted less observed, at x
    jacobian    (m, n)  of the residuals, at x
    noise       (m, m)  covariance V of the observations (scaled if the variance came from the residuals)
    covariance  (n, n)  of x; inf on the diagonal, 0 off it, for a parameter that nothing fixes
    gain        (n, m)  ∂x / ∂observation
    prior_gain  (n, n)  ∂x / ∂prior mean; column 0 where there is no prior
    chi_square          weighted sum of squares, priors included
    dof                 m + q − rank
    rank                of observations and priors together
    rank_readings       of the observations alone
    loose       (n, n − rank_readings) unit directions (in column-scaled parameters) the observations say nothing about
    converged, steps    whether the offset criterion was met, and after how many steps
    """

    x: Array
    residuals: Array
    jacobian: Array
    noise: Array
    covariance: Array
    gain: Array
    prior_gain: Array
    prior: Prior
    chi_square: float
    dof: int
    rank: int
    rank_readings: int
    loose: Array
    converged: bool
    steps: int

    @property
    def standard(self) -> Array:
        """Standard uncertainty of each parameter, (n,)."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    @property
    def prior_share(self) -> Array:
        """How far each parameter rests on its own prior: 0 = on the observations alone, 1 = on the prior alone, (n,)."""
        return np.diag(self.prior_gain).copy()


@dataclass(frozen=True, slots=True)
class _Whitener:
    """Lower factor of V: its diagonal (m,) for independent observations, else the matrix (m, m)."""

    lower: Array
    prior: Prior

    def over(self, values: Array) -> Array:
        """L⁻¹ values, values (m, any)."""
        if self.lower.ndim == 1:
            return values / self.lower[:, None]
        return np.asarray(np.linalg.solve(self.lower, values))

    def under(self, values: Array) -> Array:
        """L⁻ᵀ values."""
        if self.lower.ndim == 1:
            return values / self.lower[:, None]
        return np.asarray(np.linalg.solve(self.lower.T, values))

    @property
    def noise(self) -> Array:
        """V, (m, m)."""
        return np.diag(self.lower**2) if self.lower.ndim == 1 else self.lower @ self.lower.T

    def rows(self, at: _At) -> tuple[Array, Array]:
        """Residuals and Jacobian in units of their standard uncertainty, priors below the observations."""
        q, x = self.prior.rows, at.x
        weight = 1.0 / self.prior.standard[q]
        unit = np.zeros((q.size, x.size))
        unit[np.arange(q.size), q] = weight
        top = self.over(np.column_stack([at.jacobian, at.residuals]))
        values = np.concatenate([top[:, -1], (x[q] - self.prior.mean[q]) * weight])
        return values, np.vstack([top[:, :-1], unit])


def fit(
    residuals: Residuals,
    start: Array,
    *,
    noise: Array,
    prior: Prior | None = None,
    variance: Variance = Variance.STATED,
) -> Fit:
    """Fit `start` (n,) to the observations behind `residuals`.

    `noise` is the standard uncertainty of each observation (m,) or their covariance (m, m), symmetric positive definite.
    With `Variance.RESIDUALS` it gives only the relative weights, and the covariance is scaled by chi²/dof.
    Raises ValueError for shapes that do not fit together, for non-finite input and for a covariance that is not positive definite.
    A fit that does not converge within 100 steps says so in `converged`. Error bound: the estimate is where the
    removable share of the residuals is below FIT_RELATIVE_OFFSET; in well-scaled linear problems some 13 digits.
    """
    x = np.array(start, dtype=np.float64)
    known = prior or Prior(np.zeros(x.size), np.full(x.size, np.inf))
    lower = _lower(noise)
    first = _At(x, *residuals(x))
    _require_shapes(first, lower, known)
    whitener = _Whitener(lower, known)
    found, steps, converged = _descend(residuals, first, whitener)
    return _conclude(found, whitener, variance, steps=steps, converged=converged)


@dataclass(frozen=True, slots=True)
class _At:
    """Residuals and Jacobian at a point."""

    x: Array
    residuals: Array
    jacobian: Array


def _lower(noise: Array) -> Array:
    noise = np.asarray(noise, dtype=np.float64)
    if not np.all(np.isfinite(noise)):
        raise ValueError("the observations' uncertainties must be finite")
    if noise.ndim == 1:
        if np.any(noise <= 0.0):
            raise ValueError("an observation's standard uncertainty must be greater than zero")
        return noise
    try:
        return np.asarray(np.linalg.cholesky(noise))
    except np.linalg.LinAlgError as error:
        raise ValueError("the observations' covariance is not positive definite") from error


def _require_shapes(at: _At, lower: Array, prior: Prior) -> None:
    m, n = lower.shape[0], at.x.size
    residuals, jacobian = at.residuals, at.jacobian
    if residuals.shape != (m,) or jacobian.shape != (m, n) or prior.mean.shape != (n,) or prior.standard.shape != (n,):
        raise ValueError(f"shapes do not fit together: residuals {residuals.shape}, Jacobian {jacobian.shape}, {m} observations, "
                         f"{n} parameters, prior {prior.mean.shape}")  # fmt: skip
    if not (np.all(np.isfinite(at.x)) and np.all(np.isfinite(residuals)) and np.all(np.isfinite(jacobian))):
        raise ValueError("start, residuals and Jacobian must be finite at the start")
    if np.any(prior.standard <= 0.0):
        raise ValueError("a prior's standard uncertainty must be greater than zero")


def _descend(residuals: Residuals, here: _At, whitener: _Whitener) -> tuple[_At, int, bool]:
    values, rows = whitener.rows(here)
    scale = np.zeros(here.x.size)
    damping = 0.0
    for step_count in range(1, _MOST_STEPS + 1):
        scale = np.maximum(scale, np.linalg.norm(rows, axis=0))
        safe = np.where(scale > 0.0, scale, 1.0)
        u, s, vt = np.linalg.svd(rows / safe, full_matrices=False)
        kept = s > RANK_RELATIVE * s[0] if s.size else np.zeros(0, dtype=bool)
        along = (u.T @ values)[kept]
        s, vt = s[kept], vt[kept]
        offset = float(np.linalg.norm(along))
        size = float(np.linalg.norm(values))
        while True:
            step = -(vt.T @ (s * along / (s * s + damping))) / safe
            trial_x = here.x + step
            trial = _At(trial_x, *residuals(trial_x))
            trial_values, trial_rows = whitener.rows(trial)
            trial_size = float(np.linalg.norm(trial_values))
            if trial_size <= size + FIT_RELATIVE_OFFSET * max(size, 1.0) or (np.isfinite(trial_size) and _is_still(step, here.x)):
                break
            damping = max(8.0 * damping, _LEAST_DAMPING)
        still = _is_still(step, here.x)
        here, values, rows = trial, trial_values, trial_rows
        damping = 0.0 if damping <= _LEAST_DAMPING else damping / 16.0
        if offset <= FIT_RELATIVE_OFFSET * max(size, 1.0) or still:
            return here, step_count, True
    return here, _MOST_STEPS, False


def _is_still(step: Array, x: Array) -> bool:
    return bool(np.all(np.abs(step) <= np.spacing(np.abs(x)) + TINY))


def _conclude(at: _At, whitener: _Whitener, variance: Variance, *, steps: int, converged: bool) -> Fit:
    x, r, jacobian = at.x, at.residuals, at.jacobian
    values, rows = whitener.rows(at)
    m, q = r.size, whitener.prior.rows
    scale = np.linalg.norm(rows, axis=0)
    safe = np.where(scale > 0.0, scale, 1.0)
    u, s, vt = np.linalg.svd(rows / safe, full_matrices=True)
    rank = _rank(s)
    inverse = (vt[:rank].T / s[:rank]) @ u[:, :rank].T / safe[:, None]
    covariance = inverse @ inverse.T
    unfixed = np.any(np.abs(vt[rank:]) > RANK_RELATIVE, axis=0)
    covariance[unfixed, :] = covariance[:, unfixed] = 0.0
    covariance[unfixed, unfixed] = np.inf
    chi_square = float(values @ values)
    dof = m + q.size - rank
    noise = whitener.noise
    if variance is Variance.RESIDUALS:
        factor = chi_square / dof if dof > 0 else np.inf
        covariance, noise = covariance * factor, noise * factor
    prior_gain = np.zeros((x.size, x.size))
    prior_gain[:, q] = inverse[:, m:] / whitener.prior.standard[q]
    s_readings, vt_readings = np.linalg.svd(rows[:m] / safe, full_matrices=True)[1:]
    rank_readings = _rank(s_readings)
    gain = whitener.under(inverse[:, :m].T).T
    return Fit(
        x=x, residuals=r, jacobian=jacobian, noise=noise, covariance=covariance,
        gain=gain, prior_gain=prior_gain, prior=whitener.prior,
        chi_square=chi_square, dof=dof, rank=rank, rank_readings=rank_readings, loose=vt_readings[rank_readings:].T,
        converged=converged, steps=steps,
    )  # fmt: skip


def _rank(singular: Array) -> int:
    return int(np.count_nonzero(singular > RANK_RELATIVE * singular[0])) if singular.size else 0
