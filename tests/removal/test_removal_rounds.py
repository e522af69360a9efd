"""The circle through ray ends: against circles that are known, and against the general least squares of scipy."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from setwright.removal.rounds import IN_LINE, TOO_FEW, round_through

UP = 0.06


def ends(angles, radius, centre, axis=2, *, off=0.0, hole=True):
    """Ray ends on a circle, `off` mm farther out, normals square to it; half of them of each bundle across the axis."""
    u, v = [k for k in range(3) if k != axis]
    points, normals = np.zeros((len(angles), 3)), np.zeros((len(angles), 3))
    points[:, u] = centre[0] + (radius + off) * np.cos(angles)
    points[:, v] = centre[1] + (radius + off) * np.sin(angles)
    points[:, axis] = np.linspace(-5.0, -1.0, len(angles))
    normals[:, u], normals[:, v] = np.cos(angles), np.sin(angles)
    bundle = np.array([(u, v)[k % 2] for k in range(len(angles))], np.int64)
    return points, normals * (-1 if hole else 1), bundle


def through(points, normals, bundle, axis=2, *, hole=True):
    u, v = [k for k in range(3) if k != axis]
    return round_through(points, normals, bundle, (u, v, axis), -1.0 if hole else 1.0, UP)


@pytest.mark.parametrize("arc_deg", [360, 200, 40, 5])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_known_circle_however_little_of_it(arc_deg, axis):
    """The error stays within what the gains say of errors of the ends of some units in their last place."""
    angles = 0.7 + np.linspace(0.0, math.radians(arc_deg), 90, endpoint=arc_deg < 360)
    why, rows, found = through(*ends(angles, 15.0, (140.0, -60.0), axis), axis)
    assert why == 0
    assert rows.tolist() == list(range(90))
    off = np.abs(found[:3] - (140.0, -60.0, 15.0))
    assert (off <= found[4:7] * 8 * np.spacing(140.0)).all()
    assert found[3] <= 1e-12
    gap = math.radians(360 / 90 if arc_deg == 360 else 360 - arc_deg)
    assert found[7] == pytest.approx(2 * math.pi - gap)


@pytest.mark.parametrize("arc_deg", [360, 90, 30])
def test_least_squares_of_distances_and_what_errors_come_to(arc_deg):
    """Ends with errors: the circle is the one scipy finds, the gains are those of numpy's pseudo-inverse of the Jacobian."""
    rng = np.random.default_rng(arc_deg)
    angles = np.sort(rng.uniform(0.0, math.radians(arc_deg), 60))
    points, normals, bundle = ends(angles, 8.0, (3.0, 4.0), off=rng.normal(0.0, 0.002, 60))
    why, rows, found = through(points, normals, bundle)
    x, y = points[:, 0], points[:, 1]
    wanted = least_squares(lambda p: np.hypot(x - p[0], y - p[1]) - p[2], [3.0, 4.0, 8.0], xtol=1e-15, ftol=1e-15, gtol=1e-15)
    away = np.hypot(x - found[0], y - found[1])
    jacobian = np.column_stack([(x - found[0]) / away, (y - found[1]) / away, np.ones(60)])
    assert (why, rows.size) == (0, 60)
    assert found[:3] == pytest.approx(wanted.x, abs=1e-7)  # scipy's own error, from differences for derivatives
    assert jacobian.T @ (away - found[2]) == pytest.approx([0.0, 0.0, 0.0], abs=1e-10)
    assert found[3] == pytest.approx(np.ptp(away), rel=1e-12)
    assert found[4:7] == pytest.approx(np.abs(np.linalg.pinv(jacobian)).sum(axis=1), rel=1e-9)


def test_ends_of_something_else_do_not_count():
    """Ends of the bundle along the axis, on a floor, or on a wall that looks the other way."""
    angles = np.linspace(0.0, 2 * math.pi, 40, endpoint=False)
    points, normals, bundle = ends(angles, 10.0, (0.0, 0.0))
    bundle[3], normals[5], normals[7] = 2, (0.0, 0.0, 1.0), -normals[7]
    points[[3, 5]] += 0.5
    why, rows, found = through(points, normals, bundle)
    assert why == 0
    assert rows.tolist() == [k for k in range(40) if k not in (3, 5, 7)]
    assert found[:3] == pytest.approx([0.0, 0.0, 10.0], abs=1e-12)
    assert through(points, normals, bundle, hole=False)[0] == TOO_FEW


def test_no_circle():
    points, normals, bundle = ends(np.array([0.1, 2.0]), 5.0, (0.0, 0.0))
    assert through(points, normals, bundle)[0] == TOO_FEW
    along = np.linspace(-4.0, 4.0, 9)
    line = np.column_stack([50.0 + 0.6 * along, 20.0 + 0.8 * along, along])
    square = np.tile([-0.8, 0.6, 0.0], (9, 1))
    assert through(line, square, np.zeros(9, np.int64))[0] == IN_LINE
    assert through(np.tile(line[:1], (9, 1)), square, np.zeros(9, np.int64))[0] == IN_LINE
