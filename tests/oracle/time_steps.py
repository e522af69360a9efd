"""The time along a path by small steps of time: where the tool is, how fast it runs, and how fast it may run there.

Plain and slow, and knowing nothing of the package. A motion is a dict: `points` (k, 3), places along it from start to end close
together (its corners alone for a line), `feed` mm/s or None for a rapid, `stop`: the axes stand at its end; of an arc also its
`radius`, `axis`, and the directions at its ends, `first` and `last`. A machine is a dict: `rapid`, `accel` (x, y, z) in mm/s and
mm/s², `rounding` mm, `block_s`, `dog_leg`.
"""

import math

import numba
import numpy as np

STEP_S = 5e-5
CELL_MM = 0.02


def share(limits, direction):
    """How much along a direction keeps each axis within its limit."""
    return min((limit / abs(part) for limit, part in zip(limits, direction, strict=True) if abs(part) > 1e-12), default=math.inf)


def corner(before, after, machine):
    """Speed at which the corner is rounded by a circle that leaves it by no more than the rounding: the circle's centre lies on the
    halving line of the angle, r / sin(half) away from the corner, so the rounding is r (1 / sin(half) - 1)."""
    turn = math.acos(max(-1.0, min(1.0, float(np.dot(before, after)))))
    if turn < 1e-7:
        return math.inf
    half = (math.pi - turn) / 2
    if math.sin(half) < 1e-9:
        return 0.0
    r = machine["rounding"] / (1 / math.sin(half) - 1)
    inward = np.asarray(after) - np.asarray(before)
    return math.sqrt(r * share(machine["accel"], inward / np.linalg.norm(inward)))


def cells(motion, machine):
    """Lengths, top speeds and accelerations of small cells along a motion, and its directions at both ends."""
    points = np.asarray(motion["points"], float)
    if len(points) == 2:
        count = int(max(16, min(4000, math.ceil(np.linalg.norm(points[1] - points[0]) / CELL_MM))))
        points = points[0] + (points[1] - points[0]) * np.linspace(0, 1, count + 1)[:, None]
    steps = np.diff(points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    ways = steps / lengths[:, None]
    with np.errstate(divide="ignore"):
        most, accel = (np.min(np.asarray(machine[key])[None, :] / np.maximum(np.abs(ways), 1e-12), axis=1)
                       for key in ("rapid", "accel"))  # fmt: skip
    radius = motion.get("radius")
    if radius is not None:
        axis = motion["axis"]
        plane = [k for k in range(3) if k != axis]
        flat = np.linalg.norm(ways[:, plane], axis=1)
        least, rate = min(machine["accel"][k] for k in plane), min(machine["rapid"][k] for k in plane)
        rise = np.maximum(np.abs(ways[:, axis]), 1e-12)
        # all round the arc both axes come to their limits in turn: the lesser counts, along the arc and towards its centre
        accel = np.minimum(least / flat, machine["accel"][axis] / rise)
        most = np.minimum(np.minimum(rate / flat, machine["rapid"][axis] / rise), math.sqrt(least * radius) / flat)
    if motion["feed"] is not None:
        most = np.minimum(most, motion["feed"])
    if machine["block_s"] > 0:
        most = np.minimum(most, lengths.sum() / machine["block_s"])
    return lengths, most, accel, motion.get("first", ways[0]), motion.get("last", ways[-1])


@numba.njit
def run(lengths, most, accel, joints, step):
    """Seconds from rest to rest through cells; `joints` (cells + 1,): highest speed at each border."""
    count = lengths.size
    allowed = joints.copy()
    allowed[count] = 0.0
    for k in range(count - 1, -1, -1):
        allowed[k] = min(allowed[k], most[k], math.sqrt(allowed[k + 1] ** 2 + 2 * accel[k] * lengths[k]))
        if k > 0:
            allowed[k] = min(allowed[k], most[k - 1])
    place, speed, time, cell = 0.0, 0.0, 0.0, 0
    while cell < count:
        a = accel[cell]
        # what may be run here: the top speed, or what can still be braked to the next border
        left = max(lengths[cell] - place - speed * step, 0.0)
        now = min(speed + a * step, most[cell], math.sqrt(allowed[cell + 1] ** 2 + 2 * a * left))
        gone = (speed + now) / 2 * step
        if cell == count - 1 and lengths[cell] - place <= max(2 * a * step * step, gone):
            return time + math.sqrt(2 * max(lengths[cell] - place, 0.0) / a)
        if gone <= 0.0:
            gone, now = a * step * step / 2, a * step
        place, time, speed = place + gone, time + step, now
        while cell < count - 1 and place >= lengths[cell]:
            place -= lengths[cell]
            cell += 1
            speed = min(speed, allowed[cell])
    return time


def stretches(motions):
    """Motions between two stops."""
    found = []
    for motion in motions:
        found.append(motion)
        if motion["stop"]:
            yield found
            found = []
    if found:
        yield found


def along(motions, machine, step=STEP_S):
    """Seconds from rest to rest through all motions that have a length."""
    total = 0.0
    for part in stretches(motions):
        if part[0]["feed"] is None and machine["dog_leg"]:
            free = {**machine, "block_s": 0.0}
            total += max(machine["block_s"], *(alone(part[0], axis, free, step) for axis in range(3)))
            continue
        made = [cells(motion, machine) for motion in part]
        joints = []
        for k, (lengths, *_) in enumerate(made):
            joints += [corner(made[k - 1][4], made[k][3], machine) if k else math.inf] + [math.inf] * (len(lengths) - 1)
        total += run(*(np.concatenate([one[k] for one in made]) for k in range(3)), np.array([*joints, 0.0]), step)
    return total


def alone(motion, axis, machine, step):
    """Seconds of one axis by itself."""
    points = np.asarray(motion["points"], float)
    by = abs(points[-1, axis] - points[0, axis])
    if by < 1e-9:
        return 0.0
    way = np.zeros((2, 3))
    way[1, axis] = by
    lengths, most, accel, *_ = cells({**motion, "points": way}, machine)
    return run(lengths, most, accel, np.full(len(lengths) + 1, math.inf), step)


def arc(start, centre, axis, sweep, rise, count=None):
    """Places along an arc or helix about an axis through `centre`, `sweep` rad by the right hand, and its true end directions."""
    u, v = [(1, 2), (2, 0), (0, 1)][axis]
    x, y = start[u] - centre[u], start[v] - centre[v]
    count = count or max(32, min(4000, math.ceil(abs(sweep) * math.hypot(x, y) / CELL_MM)))
    turn = np.linspace(0, sweep, count + 1)
    points = np.zeros((count + 1, 3))
    points[:, u] = centre[u] + x * np.cos(turn) - y * np.sin(turn)
    points[:, v] = centre[v] + x * np.sin(turn) + y * np.cos(turn)
    points[:, axis] = start[axis] + rise * np.linspace(0, 1, count + 1)
    ends = []
    for t in (0.0, sweep):
        way = np.zeros(3)
        way[u], way[v] = (-x * math.sin(t) - y * math.cos(t)) * sweep, (x * math.cos(t) - y * math.sin(t)) * sweep
        way[axis] = rise
        ends.append(way / np.linalg.norm(way))
    return points, *ends
