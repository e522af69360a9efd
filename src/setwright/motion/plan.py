"""The speed plan: how fast each motion may run, how fast each corner may be taken, and the time that follows."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.tolerance import UNIT_VECTOR_ROUND_OFF
from setwright.motion.ramp import peak_speed, ramp_time, reachable_speed, time_in_ramp

__all__ = ["corner_speed", "describe", "plan"]

_ARC: Final = 2


@kernel
def _least_share(limit: NDArray[np.float64], x: float, y: float, z: float) -> float:
    """Largest factor of the direction (x, y, z) that keeps every axis within its limit (3,)."""
    most = np.inf
    for axis, share in ((0, abs(x)), (1, abs(y)), (2, abs(z))):
        if share > 0.0:
            most = min(most, limit[axis] / share)
    return most


@kernel
def _describe_arc(
    start: NDArray[np.float64], end: NDArray[np.float64], centre: NDArray[np.float64], axis: int, sweep: float,
    limits: NDArray[np.float64], tangents: NDArray[np.float64], motion: NDArray[np.float64],
) -> None:  # fmt: skip
    """As `describe`, for one arc or helix: `tangents` (6,), `motion` (4,)."""
    u, v = (axis + 1) % 3, (axis + 2) % 3
    first = math.hypot(start[u] - centre[u], start[v] - centre[v])
    last = math.hypot(end[u] - centre[u], end[v] - centre[v])
    rise, run = end[axis] - start[axis], (first + last) / 2.0 * abs(sweep)
    length = math.hypot(run, rise)
    motion[0] = length
    if length == 0.0:
        return
    angle = math.atan2(start[v] - centre[v], start[u] - centre[u])
    flat, sense = run / length, math.copysign(1.0, sweep)
    for place, a in ((0, angle), (3, angle + sweep)):
        tangents[place + u] = -math.sin(a) * flat * sense
        tangents[place + v] = math.cos(a) * flat * sense
        tangents[place + axis] = rise / length
    for row in range(3):
        across = min(limits[row, u], limits[row, v])
        motion[row + 1] = min(across / flat if flat > 0.0 else np.inf, limits[row, axis] * length / abs(rise) if rise != 0.0 else
        np.inf)
    radius = min(first, last)
    if flat > 0.0:
        motion[1] = min(motion[1], math.sqrt(min(limits[1, u], limits[1, v]) * radius) / flat)
        if not math.isinf(limits[2, u]):
            motion[1] = min(motion[1], (min(limits[2, u], limits[2, v]) * radius * radius) ** (1.0 / 3.0) / flat)


@kernel
def describe(
    kind: NDArray[np.uint8], start: NDArray[np.float64], end: NDArray[np.float64], centre: NDArray[np.float64], axis:
    NDArray[np.uint8], sweep: NDArray[np.float64], limits: NDArray[np.float64], tangents: NDArray[np.float64], motion:
    NDArray[np.float64],
) -> None:  # fmt: skip
    """Length and limits of every motion.

    Inputs as in `Moves`. `limits` (3, 3): rows speed (mm/s), acceleration (mm/s²), jerk (mm/s³, may be infinite), columns the
    axes. Out: `tangents` (n, 6) unit directions at start and end; `motion` (n, 4): length (mm), then the most speed, acceleration
    and jerk along the path that keep every axis within its limits; speed on an arc of radius r also within sqrt(a r) and (j
    r²)^(1/3). A motion of no length has zeros and infinities.
    """
    for row in range(kind.size):
        tangents[row, :] = 0.0
        motion[row, 1:] = np.inf
        if kind[row] == _ARC:
            _describe_arc(start[row], end[row], centre[row], axis[row], sweep[row], limits, tangents[row], motion[row])
            continue
        x, y, z = end[row, 0] - start[row, 0], end[row, 1] - start[row, 1], end[row, 2] - start[row, 2]
        length = math.sqrt(x * x + y * y + z * z)
        motion[row, 0] = length
        if length > 0.0:
            x, y, z = x / length, y / length, z / length
            for place in (0, 3):
                tangents[row, place], tangents[row, place + 1], tangents[row, place + 2] = x, y, z
            for limit in range(3):
                motion[row, limit + 1] = _least_share(limits[limit], x, y, z)


@kernel
def corner_speed(before: NDArray[np.float64], after: NDArray[np.float64], tolerance: float, accel: NDArray[np.float64]) -> float:
    """Speed (mm/s) at which a corner between unit directions (3,) may be taken.

    The corner is rounded by an arc that passes it at `tolerance` (mm): radius = tolerance s / (1 - s), s the sine of half the
    interior angle, and the acceleration towards its centre, v²/radius, keeps every axis within `accel` (3,) (mm/s²). Infinite for
    none.
    """
    x, y, z = after[0] - before[0], after[1] - before[1], after[2] - before[2]
    turn = math.sqrt(x * x + y * y + z * z)
    if turn <= UNIT_VECTOR_ROUND_OFF:
        return np.inf
    square = turn * turn / 4.0
    if square >= 1.0 - UNIT_VECTOR_ROUND_OFF:
        return 0.0
    s = math.sqrt(1.0 - square)
    radius = tolerance * s * (1.0 + s) / square
    return math.sqrt(radius * _least_share(accel, x / turn, y / turn, z / turn))


@kernel
def _limit_junctions(
    tangents: NDArray[np.float64], motion: NDArray[np.float64], stop: NDArray[np.bool_], tolerance: float, accel:
    NDArray[np.float64], look_ahead: int, most: NDArray[np.float64],
) -> None:  # fmt: skip
    """Fill `most` (n + 1,): highest speed at each junction by its corner, its neighbours and what the control sees ahead.

    To stop within the motions seen is one more limit, v² <= the sum of their 2 accel length (with jerk: the speed reached from
    rest over their length at the mean of their limits); what lies beyond them can only ask for more than a stop.
    """
    count = motion.shape[0]
    most[0] = most[count] = 0.0
    seen = accel_seen = jerk_seen = 0.0
    for junction in range(count - 1, 0, -1):
        gone = junction + look_ahead
        seen += motion[junction, 0] - (motion[gone, 0] if gone < count else 0.0)
        accel_seen += motion[junction, 0] * motion[junction, 2] - (motion[gone, 0] * motion[gone, 2] if gone < count else 0.0)
        if not math.isinf(motion[junction, 3]):
            jerk_seen += motion[junction, 0] * motion[junction, 3] - (motion[gone, 0] * motion[gone, 3] if gone < count else 0.0)
        most[junction] = min(motion[junction - 1, 1], motion[junction, 1])
        if stop[junction]:
            most[junction] = 0.0
        else:
            corner = corner_speed(tangents[junction - 1, 3:], tangents[junction, :3], tolerance, accel)
            most[junction] = min(most[junction], corner)
            if gone < count:
                jerk = np.inf if math.isinf(motion[junction, 3]) else jerk_seen / seen
                most[junction] = min(most[junction], reachable_speed(0.0, seen, accel_seen / seen, jerk))


@kernel
def _join(motion: NDArray[np.float64], most: NDArray[np.float64], head: NDArray[np.int64]) -> int:
    """Group motions into stretches that one ramp may span; write each stretch's first motion into `head`, return how many there
    are.

    With jerk a ramp may run on over a junction that limits nothing: same speed on both sides, and no corner slower than it.
    """
    count, found = motion.shape[0], 0
    for row in range(count):
        joined = row > 0 and not math.isinf(motion[row, 3])
        if joined:
            speed = motion[row, 1]
            joined = most[row] >= speed and abs(motion[row - 1, 1] - speed) <= UNIT_VECTOR_ROUND_OFF * speed
        if not joined:
            head[found] = row
            found += 1
    head[found] = count
    return found


@kernel
def _spend(
    motion: NDArray[np.float64], first: int, last: int, length: float, accel: float, jerk: float, v0: float, v1: float,
    duration: NDArray[np.float64],
) -> None:  # fmt: skip
    """Time of each motion from `first` up to `last`, of one stretch that is entered at v0 and left at v1."""
    top = peak_speed(v0, v1, motion[first, 1], length, accel, jerk)
    up, down = max(top - v0, 0.0), max(top - v1, 0.0)
    t_up, t_down = ramp_time(up, accel, jerk), ramp_time(down, accel, jerk)
    s_up, s_down = (v0 + top) / 2.0 * t_up, (v1 + top) / 2.0 * t_down
    cruise = max(length - s_up - s_down, 0.0)
    total = t_up + t_down + (cruise / top if top > 0.0 else 0.0)
    position, before = 0.0, 0.0
    for row in range(first, last):
        position += motion[row, 0]
        if row == last - 1:
            now = total
        elif position < s_up:
            now = time_in_ramp(position, v0, up, accel, jerk)
        elif position <= s_up + cruise:
            now = t_up + (position - s_up) / top
        else:
            now = total - time_in_ramp(max(length - position, 0.0), v1, down, accel, jerk)
        duration[row] = now - before
        before = now


@kernel
def plan(
    tangents: NDArray[np.float64], motion: NDArray[np.float64], stop: NDArray[np.bool_], tolerance: float, accel:
    NDArray[np.float64], look_ahead: int, duration: NDArray[np.float64], corner: NDArray[np.float64],
) -> None:  # fmt: skip
    """Time of every motion, from rest to rest.

    `tangents` (n, 6), `motion` (n, 4) as from `describe`, every length above 0, speeds already held to the feed. `stop` (n + 1,):
    whether the axes stand at the junction before each motion. `tolerance` mm, `accel` (3,) mm/s²: for corners. Out: `duration`
    (n,) s, `corner` (n + 1,) mm/s: speed at each junction. Backward then forward pass, v² <= v'² + 2 a l (with jerk: the ramp
    that fits), linear in n. Inside a stretch that one ramp may span `corner` keeps the limit, not the speed. Error bound: exact
    for the model to a relative 2**-40; with jerk, acceleration returns to zero wherever the speed limit changes, so the time is
    never less than the least possible.
    """
    count = motion.shape[0]
    head = np.empty(count + 1, np.int64)
    _limit_junctions(tangents, motion, stop, tolerance, accel, look_ahead, corner)
    stretches = _join(motion, corner, head)
    length, gentle, jerk = np.zeros(stretches), np.full(stretches, np.inf), np.full(stretches, np.inf)
    for part in range(stretches):
        for row in range(head[part], head[part + 1]):
            length[part] += motion[row, 0]
            gentle[part] = min(gentle[part], motion[row, 2])
            jerk[part] = min(jerk[part], motion[row, 3])
    for part in range(stretches - 1, -1, -1):
        entry = reachable_speed(corner[head[part + 1]], length[part], gentle[part], jerk[part])
        corner[head[part]] = min(corner[head[part]], entry)
    for part in range(stretches):
        first, last = head[part], head[part + 1]
        corner[last] = min(corner[last], reachable_speed(corner[first], length[part], gentle[part], jerk[part]))
        _spend(motion, first, last, length[part], gentle[part], jerk[part], corner[first], corner[last], duration)
