"""What a round piece sweeps, by trying many places of the tip: slow, plain, and knowing nothing of the package.

A piece is a dict with z0, z1, r0, r1 and, where its outline is a circle, e, f, rho. A path is a function of t in [0, 1] that
returns the tip as an array (len(t), 3). Tried places lie in the sweep, so an end found here never lies outside the true one.
"""

import itertools

import numpy as np

ROUNDS = 6
SAMPLES = 161


def outline(piece, height):
    """Radius at a height inside the piece; nan outside it."""
    height = np.asarray(height, float)
    if piece.get("rho"):
        with np.errstate(invalid="ignore"):
            radius = piece["e"] + np.sqrt(piece["rho"] ** 2 - (height - piece["f"]) ** 2)
    elif piece["z1"] > piece["z0"]:
        radius = piece["r0"] + (piece["r1"] - piece["r0"]) * (height - piece["z0"]) / (piece["z1"] - piece["z0"])
    else:
        radius = np.full_like(height, max(piece["r0"], piece["r1"]))
    return np.where((height >= piece["z0"]) & (height <= piece["z1"]), radius, np.nan)


def belly(piece):
    """The height at which the piece is widest."""
    if piece.get("rho"):
        return min(max(piece["f"], piece["z0"]), piece["z1"])
    return piece["z0"] if piece["r0"] >= piece["r1"] else piece["z1"]


def bottom(piece, radius):
    """Height of the lower outline at a radius; nan where the piece is not that wide."""
    radius = np.asarray(radius, float)
    if piece.get("rho"):
        with np.errstate(invalid="ignore"):
            height = np.maximum(piece["z0"], piece["f"] - np.sqrt(piece["rho"] ** 2 - np.maximum(radius - piece["e"], 0) ** 2))
    elif piece["r1"] > piece["r0"]:
        height = piece["z0"] + np.maximum(radius - piece["r0"], 0) / (piece["r1"] - piece["r0"]) * (piece["z1"] - piece["z0"])
    else:
        height = np.full_like(radius, piece["z0"])
    widest = float(outline(piece, belly(piece)))
    return np.where(radius <= widest, height, np.nan)


def upside_down(piece):
    """The piece turned over about the plane z = 0."""
    turned = {"z0": -piece["z1"], "z1": -piece["z0"], "r0": piece["r1"], "r1": piece["r0"]}
    if piece.get("rho"):
        turned |= {"e": piece["e"], "f": -piece["f"], "rho": piece["rho"]}
    return turned


def least(function, gap=None):
    """The least value of a function of arrays of t in [0, 1], nan where it has none; looked for around the best place again and
    again. None if it has no value anywhere. `gap`: how far off having a value each t is, to find the narrow stretches that have one
    between two tried places."""
    low, high, best = 0.0, 1.0, None
    for _ in range(ROUNDS):
        t = np.linspace(low, high, SAMPLES)
        value = function(t)
        if np.isnan(value).all():
            if best is None and gap is not None:
                return _least_about(function, _place_of_least(gap))
            return best
        k = int(np.nanargmin(value))
        best = float(value[k]) if best is None else min(best, float(value[k]))
        step = (high - low) / (SAMPLES - 1)
        low, high = max(0.0, t[k] - 2 * step), min(1.0, t[k] + 2 * step)
    return best


def _place_of_least(function):
    """The t of the least value, looked for around the best place again and again; nan where there is no value."""
    low, high, place = 0.0, 1.0, np.nan
    for _ in range(ROUNDS):
        t = np.linspace(low, high, SAMPLES)
        value = function(t)
        if np.isnan(value).all():
            return place
        place = float(t[int(np.nanargmin(value))])
        step = (high - low) / (SAMPLES - 1)
        low, high = max(0.0, place - 2 * step), min(1.0, place + 2 * step)
    return place


def _least_about(function, place):
    """The least value within shrinking distances of a place that has one; None if it has none."""
    if np.isnan(function(np.array([place]))).all():
        return None
    best = np.inf
    for reach in np.geomspace(1e-2, 1e-10, 33):
        t = np.append(np.clip(np.linspace(place - reach, place + reach, SAMPLES), 0.0, 1.0), place)
        best = min(best, float(np.nanmin(function(t))))
    return best


def span_z(piece, path, x, y):
    """Lower and upper end of the vertical line (x, y) in what the piece sweeps; None if it misses. One interval is taken for
    granted."""
    over = upside_down(piece)

    def low(t):
        tip = path(t)
        return tip[:, 2] + bottom(piece, np.hypot(x - tip[:, 0], y - tip[:, 1]))

    def high(t):
        tip = path(t)
        return -tip[:, 2] + bottom(over, np.hypot(x - tip[:, 0], y - tip[:, 1]))

    def beside(t):
        tip = path(t)
        return np.hypot(x - tip[:, 0], y - tip[:, 1]) - float(outline(piece, belly(piece)))

    a, b = least(low, beside), least(high, beside)
    return None if a is None or b is None else (a, -b)


def span_x(piece, path, y, z):
    """Lower and upper end of the level line along x at (y, z), as for span_z."""

    if piece["z0"] == piece["z1"]:
        return _disc_span_x(piece, path, y, z)

    def half(t):
        tip = path(t)
        with np.errstate(invalid="ignore"):
            return tip[:, 0], np.sqrt(outline(piece, z - tip[:, 2]) ** 2 - (y - tip[:, 1]) ** 2)

    def low(t):
        x, g = half(t)
        return x - g

    def high(t):
        x, g = half(t)
        return -x - g

    def beside(t):
        tip = path(t)
        return np.abs(y - tip[:, 1]) - outline(piece, z - tip[:, 2])

    a, b = least(low, beside), least(high, beside)
    return None if a is None or b is None else (a, -b)


def _disc_span_x(piece, path, y, z):
    """As span_x for a piece of no height on a way that only rises or only sinks: halve until it passes the line's height."""

    def above(t):
        return float(path(np.array([t]))[0, 2]) + piece["z0"] - z

    low, high = 0.0, 1.0
    if above(low) * above(high) >= 0:
        return None
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if above(low) * above(middle) > 0 else (low, middle)
    tip = path(np.array([low]))[0]
    square = max(piece["r0"], piece["r1"]) ** 2 - (y - tip[1]) ** 2
    return None if square <= 0 else (tip[0] - np.sqrt(square), tip[0] + np.sqrt(square))


def line(start, end):
    """The path of a straight motion."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    return lambda t: start + np.asarray(t)[:, None] * (end - start)


def arc(start, centre, axis, sweep, rise):
    """The path of an arc about an axis (0, 1, 2) that also moves by `rise` along it."""
    start, centre = np.asarray(start, float), np.asarray(centre, float)
    u, v = (axis + 1) % 3, (axis + 2) % 3

    def path(t):
        t = np.asarray(t)
        turn = t * sweep
        tip = np.empty((t.size, 3))
        du, dv = start[u] - centre[u], start[v] - centre[v]
        tip[:, u] = centre[u] + du * np.cos(turn) - dv * np.sin(turn)
        tip[:, v] = centre[v] + du * np.sin(turn) + dv * np.cos(turn)
        tip[:, axis] = start[axis] + t * rise
        return tip

    return path


def outside(piece, path, point):
    """How far (radially, about) a point is outside what the piece sweeps; negative inside, inf where no height fits."""
    x, y, z = point

    def gap(t):
        tip = path(t)
        return np.hypot(x - tip[:, 0], y - tip[:, 1]) - outline(piece, z - tip[:, 2])

    starts = np.linspace(0, 1, 25)
    best = np.inf
    for a, b in itertools.pairwise(starts):
        found = least(lambda t, a=a, b=b: gap(a + t * (b - a)))
        best = best if found is None else min(best, found)
    return best
