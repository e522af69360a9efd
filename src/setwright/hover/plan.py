"""Which checks to make: the least time that catches everything harmful, or the most that a given time can do.

Checks fail to see a slip independently of one another, so a set S misses it with Π (1 − p_ij) over j in S. The wanted
probability P is reached when Σ w_ij ≥ −log(1 − P) with w_ij = −log(1 − p_ij): linear in the choice, so that the least time is
the answer of a mixed integer program (scipy's HiGHS), exact. The most protection within a time is concave in Σ w; it is found by
the same programs with tangents added until the bound they give is reached (Kelley 1960), exact as well.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from setwright.base.tolerance import PLAN_GAP

__all__ = ["Plan", "least_time", "most_protection", "ordered", "undetected"]

Array = NDArray[np.float64]
Choice = NDArray[np.bool_]

_WORTH = 0.5
_SHARE = 0.95
_SURE = 40.0
_ROUNDS = 200


@dataclass(frozen=True, slots=True)
class Plan:
    """The chosen checks. `chosen`: (m,) bool; `minutes` of all of them; `caught`: (n,) probability that the chosen checks show each
    slip; `best`: (n,) the same if every check is made; `left_out`: (n,) whether a slip cannot be caught as wanted by any choice."""

    chosen: Choice
    minutes: float
    caught: Array
    best: Array
    left_out: Choice


def undetected(shown: Array, chosen: Choice) -> Array:
    """(n,) the probability that none of the chosen checks shows each slip; `shown` (n, m) by slip and check."""
    return np.asarray(np.prod(np.where(chosen[None, :], 1.0 - shown, 1.0), axis=1))


def least_time(
    shown: Array, minutes: Sequence[float], harmful: Choice, *, catch: float, already: Array | None = None
) -> Plan:
    """The set of least total time that shows every harmful slip with at least the probability `catch`.

    shown (n, m): probability that check j shows slip i; already (n,): that it has been shown by what is done before. Where all
    checks together do not reach `catch`, the slip is left out and the plan still does nearly what they can (all but a twentieth
    of their combined −log(1 − p)), unless that is less than an even chance. Of several sets of the same time one is chosen,
    always the same. Raises ValueError for a `catch` outside (0, 1).
    """
    if not 0.0 < catch < 1.0:
        raise ValueError("catch lies between 0 and 1")
    n, m = shown.shape
    hidden = np.ones(n) if already is None else 1.0 - already
    best = 1.0 - hidden * undetected(shown, np.ones(m, np.bool_))
    wanted = np.maximum(-math.log1p(-catch) - _weights(1.0 - hidden), 0.0)
    weight = np.minimum(_weights(shown), wanted[:, None])
    reach = weight.sum(axis=1)
    left_out = harmful & (reach < wanted * (1.0 - PLAN_GAP))
    goal = np.where(left_out, np.where(best >= _WORTH, _SHARE * reach, 0.0), np.where(harmful, wanted, 0.0))
    rows = np.flatnonzero(goal > 0.0)
    chosen = np.zeros(m, np.bool_)
    if rows.size and m:
        chosen = _solved(np.asarray(minutes, np.float64), LinearConstraint(weight[rows], goal[rows] * (1.0 - PLAN_GAP), np.inf))
    return Plan(chosen, _total(minutes, chosen), 1.0 - hidden * undetected(shown, chosen), best, left_out)


def most_protection(
    shown: Array, minutes: Sequence[float], risk: Array, *, within: float, already: Array | None = None
) -> Plan:
    """The set that takes away most risk in at most `within` minutes. `risk` (n,): rate times harm of each slip;
    `already` as in `least_time`.

    The risk left is the least possible, to the solver's own millionth of the whole. Raises ValueError for a negative time.
    """
    if within < 0.0:
        raise ValueError("the time is negative")
    n, m = shown.shape
    hidden = np.ones(n) if already is None else 1.0 - already
    risk = risk * hidden
    chosen = np.zeros(m, np.bool_)
    kept = np.flatnonzero((risk > 0.0) & (shown.max(axis=1, initial=0.0) > 0.0))
    if kept.size and m:
        chosen = _within(_weights(shown[kept]), np.asarray(minutes, np.float64), risk[kept] / risk[kept].sum(), within)
    best = 1.0 - hidden * undetected(shown, np.ones(m, np.bool_))
    return Plan(chosen, _total(minutes, chosen), 1.0 - hidden * undetected(shown, chosen), best, np.zeros(n, np.bool_))


def ordered(shown: Array, minutes: Sequence[float], risk: Array, chosen: Choice, *, stage: Sequence[int]) -> list[int]:
    """The chosen checks in the order in which they protect most per minute, stage after stage (what is done with everything
    standing comes before anything runs). Each step takes the check that takes away most of the risk still left per minute."""
    left = risk.astype(np.float64).copy()
    order: list[int] = []
    for now in sorted(set(stage)):
        waiting = [j for j in np.flatnonzero(chosen).tolist() if stage[j] == now]
        while waiting:
            gain = [float(left @ shown[:, j]) / max(minutes[j], PLAN_GAP) for j in waiting]
            first = waiting[int(np.argmax(gain))]
            waiting.remove(first)
            order.append(first)
            left *= 1.0 - shown[:, first]
    return order


def _weights(shown: Array) -> Array:
    """−log(1 − p), at most as much as float64 can tell from certainty."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.minimum(-np.log1p(-shown), _SURE))


def _total(minutes: Sequence[float], chosen: Choice) -> float:
    return math.fsum(minute for minute, taken in zip(minutes, chosen.tolist(), strict=True) if taken)


def _solved(cost: Array, constraints: LinearConstraint) -> Choice:
    """Least cost over 0/1 choices; the constraints are known to be satisfiable by choosing everything."""
    x, _ = _optimum(cost, np.ones(cost.size, np.uint8), [constraints])
    return np.asarray(x > 0.5)


def _optimum(cost: Array, whole: NDArray[np.uint8], constraints: list[LinearConstraint]) -> tuple[Array, float]:
    """Least cost over variables in [0, 1], some of them `whole`, proven to the last digit."""
    result = milp(cost, integrality=whole, bounds=Bounds(0.0, 1.0), constraints=constraints, options={"mip_rel_gap": 0.0})
    if result.x is None:
        raise ArithmeticError(f"the choice of checks was not found: {result.message}")
    return np.asarray(result.x), float(result.fun)


def _within(weight: Array, minutes: Array, risk: Array, within: float) -> Choice:
    """Maximise Σ r_i (1 − exp(−Σ_j w_ij x_j)): variables x (m, 0/1) then z (n, what is caught of each), z under every tangent."""
    weight, risk = _merged(weight, risk)
    n, m = weight.shape
    best, value = np.zeros(m, np.bool_), 0.0
    constraints = [LinearConstraint(np.concatenate([minutes, np.zeros(n)])[None, :], -np.inf, within * (1.0 + PLAN_GAP)),
                   _tangent(weight, np.zeros(n))]  # fmt: skip
    cost = np.concatenate([np.zeros(m), -risk])
    whole = np.concatenate([np.ones(m, np.uint8), np.zeros(n, np.uint8)])
    tried: set[bytes] = set()
    for _ in range(_ROUNDS):
        x, bound = _optimum(cost, whole, constraints)
        chosen = np.asarray(x[:m] > 0.5)
        reached = weight @ chosen
        got = float(risk @ -np.expm1(-reached))
        if got > value:
            best, value = chosen, got
        # the tangents at a choice give its exact value: met again, it is the best there is
        if -bound <= value + PLAN_GAP or chosen.tobytes() in tried:
            return best
        tried.add(chosen.tobytes())
        constraints.append(_tangent(weight, reached))
    raise ArithmeticError("the choice of checks did not settle")


def _merged(weight: Array, risk: Array) -> tuple[Array, Array]:
    """Slips that every check sees alike as one, with the sum of their risks."""
    rows, which = np.unique(weight, axis=0, return_inverse=True)
    return rows, np.asarray(np.bincount(which.ravel(), weights=risk, minlength=len(rows)), np.float64)


def _tangent(weight: Array, at: Array) -> LinearConstraint:
    """z ≤ 1 − e^(−s) + e^(−s)(W x − s), touching at s."""
    slope = np.exp(-at)
    rows = np.hstack([-slope[:, None] * weight, np.eye(at.size)])
    return LinearConstraint(rows, -np.inf, -np.expm1(-at) - slope * at)
