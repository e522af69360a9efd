"""Time along a path: when each motion begins and ends, and where the time goes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.geometry.moves import MoveKind, Moves
from setwright.motion.dynamics import Dynamics, RapidPath
from setwright.motion.plan import describe, plan
from setwright.motion.ramp import peak_speed, ramp_time

__all__ = ["Pause", "Timeline", "time_along"]


@dataclass(frozen=True, slots=True)
class Pause:
    """Time in which the axes stand before the motion in row `before` (the number of motions: after the last one): dwell, tool
    change, spindle start or stop, an auxiliary function that is waited for. Seconds, >= 0; even 0 s brings the axes to a stop."""

    before: int
    seconds: float


@dataclass(frozen=True, slots=True, eq=False)
class Timeline:
    """When everything happens, s from the start of the program.

    begin, end  float64 (n,)  of each motion; a pause lies between the end of one and the begin of the next
    total_s                   the whole, pauses after the last motion included
    """

    begin: NDArray[np.float64]
    end: NDArray[np.float64]
    total_s: float


def time_along(
    moves: Moves, feed_mm_min: NDArray[np.float64], dynamics: Dynamics, *, exact_stop: NDArray[np.bool_] | None = None,
    pauses: Iterable[Pause] = (),
) -> Timeline:  # fmt: skip
    """When each motion begins and ends.

    `feed_mm_min` float64 (n,): along the path, for each motion that is no rapid (nan for rapids). `exact_stop` bool (n,): the
    axes stand at the end of the motion. Motions of no length take no time and do not part their neighbours. With
    `RapidPath.DOG_LEG` give each rapid whole, not as the straight parts of its dog-leg.
    Raises `InputRefused` for coordinates that are not finite, a feed that is missing or not above 0, a pause that is not in the
    program. Error bound: exact for the model of `plan`; how well the model fits a machine is not known here.
    """
    feed, stops, waits = _checked(moves, feed_mm_min, exact_stop, pauses)
    jerk = dynamics.jerk_mm_s3 or (math.inf, math.inf, math.inf)
    limits = np.array([np.divide(dynamics.rapid_mm_min, 60.0), dynamics.accel_mm_s2, jerk], np.float64)
    tangents, motion = np.zeros((len(moves), 6)), np.zeros((len(moves), 4))
    describe(moves.kind, moves.start, moves.end, moves.centre, moves.axis, moves.sweep, limits, tangents, motion)
    rapid = (moves.kind == MoveKind.RAPID) & (motion[:, 0] > 0.0)
    if dynamics.stop_at_rapids or dynamics.rapid is RapidPath.DOG_LEG:
        stops[:-1] |= rapid
        stops[1:] |= rapid
    motion[:, 1] = np.minimum(motion[:, 1], np.where(moves.kind == MoveKind.RAPID, np.inf, feed / 60.0))
    if dynamics.block_time_s > 0.0:
        motion[:, 1] = np.minimum(motion[:, 1], motion[:, 0] / dynamics.block_time_s)
    rows = np.flatnonzero(motion[:, 0] > 0.0)
    duration, spent = np.zeros(len(moves)), np.empty(rows.size)
    if 0 < rows.size < len(moves):
        tangents, motion, stops = tangents[rows], motion[rows], _stop_between(stops, rows)
    if rows.size:
        plan(tangents, motion, stops, dynamics.junction_tolerance_mm, limits[1], dynamics.look_ahead_blocks, spent,
             np.empty(rows.size + 1))  # fmt: skip
    duration[rows] = spent
    if dynamics.rapid is RapidPath.DOG_LEG:
        for row in np.flatnonzero(rapid):
            duration[row] = max(_dog_leg_time(moves.end[row] - moves.start[row], limits), dynamics.block_time_s)
    end = np.cumsum(waits[:-1] + duration)
    return Timeline(end - duration, end, float((end[-1] if end.size else 0.0) + waits[-1]))


def _checked(
    moves: Moves, feed_mm_min: NDArray[np.float64], exact_stop: NDArray[np.bool_] | None, pauses: Iterable[Pause]
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.float64]]:
    """Feed (n,), stops at each junction (n + 1,), pauses before each motion and after the last (n + 1,)."""
    count = len(moves)
    feed = np.asarray(feed_mm_min, np.float64)
    stops, waits = np.zeros(count + 1, np.bool_), np.zeros(count + 1)
    for array in (moves.start, moves.end, moves.centre, moves.sweep[:, None]):
        finite = np.isfinite(array)
        if not finite.all():
            bad = np.flatnonzero(~finite.all(axis=1))
            raise InputRefused.because(f"motion {moves.ident[bad[0]]} has a coordinate that is not a number",
                                       remedy="check the offsets it came from")  # fmt: skip
    if feed.shape != (count,):
        raise InputRefused.because(f"{feed.size} feeds for {count} motions", remedy="give one feed a motion")
    slow = np.flatnonzero(~((feed > 0.0) & np.isfinite(feed)) & (moves.kind != MoveKind.RAPID))
    if slow.size:
        raise InputRefused.because(f"motion {moves.ident[slow[0]]} has no feed ({feed[slow[0]]} mm/min)",
                                   why="a feed motion without a feed never ends", remedy="program an F word above 0")  # fmt: skip
    if exact_stop is not None:
        stops[1:] |= exact_stop
    for pause in pauses:
        if not 0 <= pause.before <= count or not (math.isfinite(pause.seconds) and pause.seconds >= 0.0):
            raise InputRefused.because(f"a pause of {pause.seconds} s before motion row {pause.before}",
                                       why=f"the program has {count} motions, and a pause lasts 0 s or more",
                                       remedy="place it before one of them or after the last")  # fmt: skip
        waits[pause.before] += pause.seconds
        stops[pause.before] = True
    return feed, stops, waits


def _stop_between(stops: NDArray[np.bool_], rows: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Stops at the junctions of the motions `rows` alone: one anywhere between two of them counts for both."""
    counted = np.concatenate([[0], np.cumsum(stops)])
    first, last = np.concatenate([[0], rows + 1]), np.concatenate([rows, [stops.size - 1]])
    return np.asarray(counted[last + 1] > counted[first])


def _dog_leg_time(step: NDArray[np.float64], limits: NDArray[np.float64]) -> float:
    """The slowest axis' own time for its part of the step (3,), mm, from rest to rest."""
    return max((_rest_to_rest(abs(length), *limits[:, axis]) for axis, length in enumerate(step.tolist()) if length), default=0.0)


def _rest_to_rest(length: float, speed: float, accel: float, jerk: float) -> float:
    top = peak_speed(0.0, 0.0, speed, length, accel, jerk)
    return 2.0 * ramp_time(top, accel, jerk) + max(length - top * ramp_time(top, accel, jerk), 0.0) / top
