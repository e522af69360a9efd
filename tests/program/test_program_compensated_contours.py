"""Whole contours under G41 and G42, entry and exit included, against the distance from the shape that shapely knows."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.program.path import MoveKind, Path
from setwright.program.registers import Registers
from tests.program.compare import good

_OUTLINE_RAD, _SAMPLE_RAD = math.radians(0.2), math.radians(3.0)


@st.composite
def contours(draw):
    """A convex polygon (anticlockwise), the radius of its rounded corners, which are rounded, tool radius, and inside or outside.

    Half an edge holds what a corner takes of it, for the rounding and for the tool, so that every element survives.
    """
    count = draw(st.integers(3, 8))
    gaps = np.array(draw(st.lists(st.floats(0.3, 1.0), min_size=count, max_size=count)))
    angles = np.cumsum(gaps * 2.0 * math.pi / gaps.sum()) + draw(st.floats(0.0, 6.0))
    size = draw(st.floats(10.0, 80.0))
    corners = np.round(size * np.stack([np.cos(angles), np.sin(angles)], 1), 4)
    ways = np.roll(corners, -1, 0) - corners
    lengths = np.hypot(*ways.T)
    heading = np.arctan2(ways[:, 1], ways[:, 0])
    turns = (heading - np.roll(heading, 1)) % (2.0 * math.pi)
    room = float((np.minimum(lengths, np.roll(lengths, 1)) / 2.0 / np.tan(turns / 2.0)).min())
    inside = draw(st.booleans())
    rounding = round(0.9 * room * draw(st.floats(0.2, 1.0)), 4)
    rounded = draw(st.lists(st.booleans(), min_size=count, max_size=count))
    most = (0.9 * rounding if any(rounded) else 0.9 * room) if inside else 10.0
    return corners, turns, rounding, rounded, round(most * draw(st.floats(0.05, 1.0)), 4), inside


def program_and_shape(case):
    """The text, the shape itself, the entry (from, to the contour) and the unit vector from the contour towards the tool."""
    corners, turns, rounding, rounded, radius, inside = case
    ways = np.roll(corners, -1, 0) - corners
    along = ways / np.hypot(*ways.T)[:, None]
    begin = (corners[0] + corners[1]) / 2.0
    towards = np.array([-along[0][1], along[0][0]]) * (1.0 if inside else -1.0)
    away = begin + (radius + 1.0) * towards
    lines = ["G21 G90 G17 S900 M3 F200.", f"G1 X{away[0]:.9f} Y{away[1]:.9f}",
             f"{'G41' if inside else 'G42'} D1 X{begin[0]:.9f} Y{begin[1]:.9f}"]  # fmt: skip
    outline = [tuple(begin)]
    for k in [*range(1, len(corners)), 0]:
        corner, before, after = corners[k], along[k - 1], along[k]
        if rounded[k]:
            back = rounding * math.tan(turns[k] / 2.0)
            first, second = corner - back * before, corner + back * after
            centre = first + rounding * np.array([-before[1], before[0]])
            lines += [f"G1 X{first[0]:.9f} Y{first[1]:.9f}",
                      f"G3 X{second[0]:.9f} Y{second[1]:.9f} I{centre[0] - first[0]:.9f} J{centre[1] - first[1]:.9f}"]  # fmt: skip
            start = math.atan2(*(first - centre)[::-1])
            swept = start + np.linspace(0.0, turns[k], max(2, int(turns[k] / _OUTLINE_RAD)))
            outline += [tuple(centre + rounding * np.array([math.cos(a), math.sin(a)])) for a in swept]
        else:
            lines.append(f"G1 X{corner[0]:.9f} Y{corner[1]:.9f}")
            outline.append(tuple(corner))
    lines += [f"G1 X{begin[0]:.9f} Y{begin[1]:.9f}", f"G40 X{away[0]:.9f} Y{away[1]:.9f}", "M30"]
    return "\n".join(lines), shapely.Polygon(outline), away, begin, towards


def points_of(path: Path, row: int) -> np.ndarray:
    """Points along a row."""
    start, end, number = path.start[row, :2], path.end[row, :2], int(path.arc[row])
    if number < 0:
        share = np.linspace(0.0, 1.0, max(2, int(math.dist(start, end) / 5.0) + 2))[:, None]
        return start * (1.0 - share) + end * share
    centre, sweep = path.arc_centre[number, :2], float(path.arc_sweep[number])
    begin = math.atan2(*(start - centre)[::-1])
    turned = begin + np.linspace(0.0, sweep, max(3, int(abs(sweep) / _SAMPLE_RAD)))
    return centre + math.dist(start, centre) * np.stack([np.cos(turned), np.sin(turned)], 1)


@settings(max_examples=500)
@given(contours())
def test_the_centre_keeps_its_distance_all_round_and_comes_and_goes_square_to_the_contour(case):
    radius, inside = case[4], case[5]
    text, shape, away, begin, towards = program_and_shape(case)
    path = good(text, registers=Registers(radii={1: radius}), arc_mismatch_mm=0.001)
    entry, leave = 1, len(path) - 1
    assert path.kind[entry] == path.kind[leave] == MoveKind.LINE
    assert np.abs(path.start[entry, :2] - away).max() < 1e-8
    assert np.abs(path.end[entry, :2] - (begin + radius * towards)).max() < 1e-7
    assert np.abs(path.start[leave, :2] - (begin + radius * towards)).max() < 1e-7
    assert np.abs(path.end[leave, :2] - away).max() < 1e-8
    centres = np.concatenate([points_of(path, row) for row in range(entry + 1, leave)])
    distance = shapely.distance(shapely.points(centres), shape.exterior)
    assert np.abs(distance - radius).max() < 2e-6 * (1.0 + case[2])
    assert (shapely.contains_xy(shape, centres) == inside).all()
    assert length_of(path, entry + 1, leave) == pytest.approx(length_of_offset(case), abs=1e-6)


def length_of(path: Path, first: int, last: int) -> float:
    """Length of the rows from `first` up to `last` - 1, mm."""
    arc = path.arc[first:last]
    straight = np.hypot(*(path.end - path.start)[first:last, :2].T)
    radii = np.hypot(*(path.start[first:last, :2] - path.arc_centre[arc, :2]).T) if path.arc_sweep.size else straight
    return float(np.where(arc < 0, straight, radii * np.abs(path.arc_sweep[arc]) if path.arc_sweep.size else 0.0).sum())


def length_of_offset(case) -> float:
    """Closed form: at a turn an arc of radius rho becomes one of rho -+ radius, a corner an arc or two shorter lines."""
    corners, turns, rounding, rounded, radius, inside = case
    length = float(np.hypot(*(np.roll(corners, -1, 0) - corners).T).sum())
    for turn, is_round in zip(turns.tolist(), rounded, strict=True):
        bent = rounding if is_round else 0.0
        length -= 2.0 * bent * math.tan(turn / 2.0)
        if inside and not is_round:
            length -= 2.0 * radius * math.tan(turn / 2.0)
        else:
            length += (bent - radius if inside else bent + radius) * turn
    return length
