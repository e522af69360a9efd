"""The interval that holds a sum of independent errors with a wanted probability, without drawing random numbers.

A value found by least squares is, to first order, a weighted sum of its inputs. Where one rectangular input (a handwheel step)
rules the sum, k = 2 overstates; where a repeatability rests on three repeats, it understates. The distribution of the sum
follows from the product of characteristic functions (Gil-Pelaez inversion):
    P(|S| ≤ w) = (2/π) ∫₀^∞ φ(t) sin(wt)/t dt
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtrit

from setwright.base.tolerance import COVERAGE_TAIL
from setwright.estimate.distribution import Arcsine, CurvedTrapezoid, Distribution, Normal, Rectangular, Triangular

__all__ = ["coverage_factor", "half_width", "student_factor", "welch_satterthwaite"]

Array = NDArray[np.float64]
_NODES = 24
_PANELS = 200
_PANEL = 4.0
_STRETCH = 5 * _NODES
_MOST_STEPS = 200


def half_width(parts: Sequence[tuple[float, Distribution]], probability: float = 0.95) -> float:
    """w such that |Σ cᵢ (Xᵢ − mean)| ≤ w with `probability`; `parts` are (cᵢ, distribution of Xᵢ), independent and symmetric.

    0 when nothing varies. Error bound: one millionth of w (panels of Gauss–Legendre nodes, upper limit where the product of the
    characteristic functions has fallen below COVERAGE_TAIL; single rectangular inputs are taken in closed form).
    """
    sizes = [abs(c) * d.standard for c, d in parts]
    scale = math.sqrt(math.fsum(size * size for size in sizes))
    if scale == 0.0:
        return 0.0
    kept = _pooled([(c, d) for (c, d), size in zip(parts, sizes, strict=True) if size > COVERAGE_TAIL * scale])
    if len(kept) == 1 and not isinstance(kept[0][1], CurvedTrapezoid):
        return _alone(*kept[0], probability)
    t, share = _share(kept, scale)
    low, high, width = 0.0, math.inf, scale
    for _ in range(_MOST_STEPS):
        lacking = probability - float(2.0 / np.pi * np.dot(share, np.sin(width * t)))
        density = float(2.0 / np.pi * np.dot(share * t, np.cos(width * t)))
        low, high = (width, high) if lacking > 0.0 else (low, width)
        step = lacking / density if density > 0.0 else math.inf
        if abs(step) <= COVERAGE_TAIL * width:
            break
        # Newton inside the bracket, else halve it (or double while there is no upper end)
        width = width + step if low < width + step < min(high, 4.0 * width) else 0.5 * (low + min(high, 3.0 * width))
    return width


def _share(parts: list[tuple[float, Distribution]], scale: float) -> tuple[Array, Array]:
    """Nodes t and weight × φ(t) / t there, a stretch of panels at a time until φ has died away."""
    nodes, weights = (values / scale for values in _unit_nodes())
    # most parts are rectangular: theirs are worked out together
    flat = np.array([c * d.half_width for c, d in parts if isinstance(d, Rectangular)])
    others = [(c, d) for c, d in parts if not isinstance(d, Rectangular)]
    found: list[Array] = []
    for start in range(0, nodes.size, _STRETCH):
        t = nodes[start : start + _STRETCH]
        product = np.multiply.reduce(np.sinc(np.outer(flat / np.pi, t)), axis=0)
        for c, d in others:
            product = product * d.characteristic(t * c)
        found.append(weights[start : start + _STRETCH] * product / t)
        if float(np.max(np.abs(product))) < COVERAGE_TAIL:
            break
    share = np.concatenate(found)
    return nodes[: share.size], share


def _pooled(parts: list[tuple[float, Distribution]]) -> list[tuple[float, Distribution]]:
    """The normal parts as one."""
    normal = [c * d.standard for c, d in parts if isinstance(d, Normal)]
    others = [(c, d) for c, d in parts if not isinstance(d, Normal)]
    return [*others, (1.0, Normal(0.0, math.sqrt(math.fsum(u * u for u in normal))))] if normal else others


def _alone(c: float, d: Distribution, probability: float) -> float:
    """A single input has a closed form; its characteristic function may fall too slowly to integrate."""
    if isinstance(d, Rectangular):
        return abs(c) * d.half_width * probability
    if isinstance(d, Triangular):
        return abs(c) * d.half_width * (1.0 - math.sqrt(1.0 - probability))
    if isinstance(d, Arcsine):
        return abs(c) * d.half_width * math.sin(0.5 * math.pi * probability)
    return abs(c) * d.standard * student_factor(probability, d.dof)


@cache
def _unit_nodes() -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    t = (_PANEL * np.arange(_PANELS)[:, None] + 0.5 * _PANEL * (nodes + 1.0)).ravel()
    return t, np.tile(0.5 * _PANEL * weights, _PANELS)


def coverage_factor(parts: Sequence[tuple[float, Distribution]], probability: float = 0.95) -> float:
    """k of the sum: half width over its combined standard uncertainty; the normal one where nothing varies."""
    scale = math.sqrt(math.fsum((c * d.standard) ** 2 for c, d in parts))
    return half_width(parts, probability) / scale if scale > 0.0 else student_factor(probability, math.inf)


def student_factor(probability: float, dof: float) -> float:
    """t such that |T| ≤ t with `probability`; the normal quantile for infinite `dof`.

    >>> round(student_factor(0.95, 10), 3), round(student_factor(0.95, math.inf), 3)
    (2.228, 1.96)
    """
    upper = 0.5 + 0.5 * probability
    return float(stdtrit(dof, upper)) if math.isfinite(dof) else float(ndtri(upper))


def welch_satterthwaite(contributions: Sequence[float], dof: Sequence[float]) -> float:
    """Effective degrees of freedom of a sum (JCGM 100, G.4.1): u⁴ / Σ uᵢ⁴/νᵢ; inf where every part is stated.

    >>> welch_satterthwaite([3.0, 4.0], [float("inf"), 2.0])
    4.8828125
    """
    below = math.fsum(u**4 / v for u, v in zip(contributions, dof, strict=True) if math.isfinite(v))
    total = math.fsum(u * u for u in contributions)
    return total * total / below if below > 0.0 else math.inf
