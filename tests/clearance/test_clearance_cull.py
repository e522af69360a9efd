"""Boxes leave out only what is clear: 3,000 random moves of a tool with a holder, looked at with and without them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from setwright.base.tolerance import CHORD_SAGITTA_MM, CONTACT_DEPTH_MM
from setwright.clearance import GROUPS, Bodies, Box, Cylinder, Mesh
from setwright.clearance.cull import rows_near
from setwright.clearance.push import scan_verdicts
from setwright.clearance.scene import scene_of
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Role
from tests.clearance.scenes import ball, cube_mesh, cylinder, table, toroid

TOOL = table(ball(4.0, 4.0), toroid(6.0, 2.0), cylinder(3, 8, 30, Role.SHANK), cylinder(14, 30, 55, Role.HOLDER))
BODIES = Bodies.of({
    "jaw": Box((-30, 20, -10), (30, 34, 6)), "pin": Cylinder(-20, -15, 3.0, -5.0, 12.0),
    "clamp": Mesh(cube_mesh((5, -30, 0), (25, -12, 9))),
})  # fmt: skip


def random_moves(count: int) -> Moves:
    """Lines, and arcs of any turn about all three axes, within 60 mm of the bodies."""
    rng = np.random.default_rng(4)
    start, end = rng.uniform(-60, 60, (count, 3)), rng.uniform(-60, 60, (count, 3))
    kind, axis = np.where(rng.random(count) < 0.5, MoveKind.ARC, MoveKind.LINE), rng.integers(0, 3, count)
    centre, sweep = start + rng.uniform(-25, 25, (count, 3)), rng.uniform(-7.0, 7.0, count)
    for row in np.flatnonzero(kind == MoveKind.ARC):
        u, v = (axis[row] + 1) % 3, (axis[row] + 2) % 3
        centre[row, axis[row]] = start[row, axis[row]]
        radial = start[row] - centre[row]
        cos, sin = np.cos(sweep[row]), np.sin(sweep[row])
        end[row, u] = centre[row, u] + radial[u] * cos - radial[v] * sin
        end[row, v] = centre[row, v] + radial[u] * sin + radial[v] * cos
    return Moves(kind.astype(np.uint8), start, end, centre, axis.astype(np.uint8), sweep, np.zeros(count, np.int32),
                 np.ones(count, np.bool_), np.arange(count, dtype=np.int32))  # fmt: skip


def test_what_is_left_out_is_clear_and_much_is_left_out() -> None:
    moves, shift = random_moves(3_000), np.array([3.0, -2.0, 1.5])
    scene = scene_of(moves, TOOL, BODIES, GROUPS, CHORD_SAGITTA_MM)
    everything, left_out = np.arange(len(moves)), 0
    for body, near in enumerate(rows_near(scene, shift)):
        verdict = np.zeros((len(moves), len(GROUPS)), np.uint8)
        scan_verdicts(scene, body, len(GROUPS), everything, shift, CONTACT_DEPTH_MM, verdict)
        far = np.setdiff1d(everything, near)
        assert (verdict[far] == 0).all()
        assert verdict[near].any()
        left_out += far.size
    assert left_out > 1_000


def test_a_group_nobody_asks_for_does_not_count() -> None:
    """The holder alone reaches the jaw, and it is not looked at."""
    moves = random_moves(1)
    here = np.array([[0.0, 8.0, 0.0]])
    above = replace(moves, kind=np.array([MoveKind.LINE], np.uint8), start=here, end=here)
    seen = scene_of(above, TOOL, BODIES, {"cutter": (Role.CUTTING,)}, CHORD_SAGITTA_MM)
    assert rows_near(seen, np.zeros(3))[0].size == 0
    whole = scene_of(above, TOOL, BODIES, GROUPS, CHORD_SAGITTA_MM)
    assert rows_near(whole, np.zeros(3))[0].size == 1
