"""What is known of a quantity, as a distribution: those of JCGM 100 and JCGM 101 table 1 that a measurement in a workshop meets.

Each has a mean, a standard uncertainty, degrees of freedom (infinite unless found from a few repeats), can draw from itself
and knows the characteristic function of its deviation from the mean, from which sums follow without drawing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, j0, kve

from setwright.base.tolerance import TINY

__all__ = ["Arcsine", "CurvedTrapezoid", "Distribution", "Normal", "Rectangular", "Student", "Triangular"]

Array = NDArray[np.float64]


class Distribution(Protocol):
    """A quantity's state of knowledge."""

    @property
    def mean(self) -> float:
        """Best estimate."""
        ...

    @property
    def standard(self) -> float:
        """Standard uncertainty."""
        ...

    @property
    def dof(self) -> float:
        """Degrees of freedom of the standard uncertainty; inf where it is stated rather than found."""
        ...

    def sample(self, rng: np.random.Generator, count: int) -> Array:
        """`count` independent draws."""
        ...

    def characteristic(self, t: Array) -> Array:
        """E[exp(i t (X − mean))], real because every one here is symmetric; same shape as `t`."""
        ...


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal, from a stated standard uncertainty."""

    mean: float
    standard: float
    dof: float = math.inf

    def sample(self, rng: np.random.Generator, count: int) -> Array:
        """`count` independent draws."""
        return rng.normal(self.mean, self.standard, count)

    def characteristic(self, t: Array) -> Array:
        """exp(−t² u² / 2)."""
        return np.asarray(np.exp(-0.5 * (t * self.standard) ** 2))


@dataclass(frozen=True, slots=True)
class Student:
    """Shifted and scaled t, from the mean of repeats: `standard` is s/√n, the scale, as JCGM 100 uses it; dof = n − 1 > 0."""

    mean: float
    standard: float
    dof: float

    def sample(self, rng: np.random.Generator, count: int) -> Array:
        """`count` independent draws."""
        return np.asarray(self.mean + self.standard * rng.standard_t(self.dof, count))

    def characteristic(self, t: Array) -> Array:
        """(√ν|ts|)^{ν/2} K_{ν/2}(√ν|ts|) / (Γ(ν/2) 2^{ν/2−1})."""
        z = np.maximum(np.sqrt(self.dof) * np.abs(t) * self.standard, TINY)
        half = 0.5 * self.dof
        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
            log = half * np.log(z) + np.log(kve(half, z)) - z - gammaln(half) - (half - 1.0) * math.log(2.0)
        return np.where(np.isfinite(log), np.exp(np.minimum(log, 0.0)), 1.0)


@dataclass(frozen=True, slots=True)
class Rectangular:
    """Anywhere within ± `half_width`, all alike."""

    mean: float
    half_width: float
    dof: float = math.inf

    @property
    def standard(self) -> float:
        """half_width / √3."""
        return self.half_width / math.sqrt(3.0)

    def sample(self, rng: np.random.Generator, count: int) -> Array:
        """`count` independent draws."""
        return rng.uniform(self.mean - self.half_width, self.mean + self.half_width, count)

    def characteristic(self, t: Array) -> Array:
        """sin(ta) / (ta)."""
        return np.asarray(np.sinc(t * self.half_width / np.pi))


@dataclass(frozen=True, slots=True)
class Triangular:
    """Within ± `half_width`, the middle likeliest."""

    mean: float
    half_width: float
    dof: float = math.inf

    @property
    def standard(self) -> float:
        """half_width / √6."""
        return self.half_width / math.sqrt(6.0)

    def sample(self, rng: np.random.Generator, count: int) -> Array:
        """`count` independent draws."""
        return np.asarray(self.mean + 0.5 * self.half_width * (rng.uniform(-1.0, 1.0, count) + rng.uniform(-1.0, 1.0, count)))

    def characteristic(self, t: Array) -> Array:
        """(sin(ta/2) / (ta/2))²."""
        return np.asarray(np.sinc(0.5 * t * self.half_width / np.pi) ** 2)


@dataclass(frozen=True, slots=True)
class Arcsine:
    """A cyclic effect of amplitude `half_width` met at an unknown moment."""

    mean: float
    half_width: float
    dof: float = math.inf

    @property
    def standard(self) -> float:
        """half_width / √2."""
        return self.half_width / math.sqrt(2.0)

    def sample(self, rng: np.random.Generator, count: int) -> Array:
        """`count` independent draws."""
        return np.asarray(self.mean + self.half_width * np.sin(rng.uniform(0.0, 2.0 * np.pi, count)))

    def characteristic(self, t: Array) -> Array:
        """J₀(ta)."""
        return np.asarray(j0(t * self.half_width))


@dataclass(frozen=True, slots=True)
class CurvedTrapezoid:
    """Rectangular, its half width itself known only to ± `inexact` (JCGM 101, 6.4.3)."""

    mean: float
    half_width: float
    inexact: float
    dof: float = math.inf

    @property
    def standard(self) -> float:
        """√(a²/3 + d²/9)."""
        return math.sqrt(self.half_width**2 / 3.0 + self.inexact**2 / 9.0)

    def sample(self, rng: np.random.Generator, count: int) -> Array:
        """`count` independent draws."""
        half = rng.uniform(self.half_width - self.inexact, self.half_width + self.inexact, count)
        return np.asarray(self.mean + half * rng.uniform(-1.0, 1.0, count))

    def characteristic(self, t: Array) -> Array:
        """Mean of sin(th)/(th) over the half widths h, by Gauss–Legendre with 24 nodes (exact to round-off for |t|·d < 20)."""
        nodes, weights = np.polynomial.legendre.leggauss(24)
        half = self.half_width + self.inexact * nodes
        return np.asarray(np.sinc(np.multiply.outer(t, half) / np.pi) @ (0.5 * weights))
