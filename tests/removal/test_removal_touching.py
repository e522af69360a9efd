"""Which overlaps `touch` finds in metal full of holes: those of every ray with every sweep, worked out one by one."""

import numpy as np
import pytest

from setwright.base.tolerance import CONTACT_DEPTH_MM
from setwright.geometry.bodies import BoxShape
from setwright.geometry.pieces import Role
from setwright.removal.across import span_across, spans_across_arc
from setwright.removal.along import span_along
from setwright.removal.contact import first_touch, touch
from setwright.removal.cut import cut
from setwright.removal.field import ACROSS, field_of
from setwright.removal.sweeps import MOTION, across_y, sweeps_of
from tests.removal.common import ball, cone, cylinder, moves, tool, zone

HOLES = (
    ("line", (6.0, 6.0, 2.0), (6.0, 6.0, -7.0)), ("line", (3.0, 15.0, -4.0), (21.0, 15.0, -4.0)),
    ("line", (15.0, 2.0, -2.0), (21.0, 8.0, -5.0)),
    ("arc", (20.0, 22.0, -3.0), (20.0, 22.0, -3.0), (16.0, 22.0, -3.0), 2, 2 * np.pi),
)  # fmt: skip
METAL = cut(field_of(BoxShape((0.0, 0.0, -9.0), (24.0, 28.0, 0.0)), pitch_mm=0.5), moves(*HOLES), tool(cylinder(2.5))).field
PIECES = {
    "smaller mill": cylinder(2.2, 0.0, 20.0), "same mill": cylinder(2.5, 0.0, 20.0), "larger mill": cylinder(2.7, 0.1, 20.0),
    "drill point": cone(0.2, 2.6, 0.0, 3.0), "ball": ball(2.6), "bull nose": zone(1.8, 0.7, 0.7, 0.0, 0.7),
}  # fmt: skip


def again(rng):
    """The motions that made the holes, each a little aside, up and down, and some that were not there before."""
    rows = []
    for kind, start, end, *arc in HOLES * 4:
        by = rng.uniform(-0.3, 0.3, 3) * (rng.random(3) < 0.5)
        rows.append((kind, np.add(start, by), np.add(end, by), *([np.add(arc[0], by), *arc[1:]] if arc else [])))
    for _ in range(6):
        a, b = rng.uniform((0, 0, -6), (24, 28, 3), (2, 3))
        rows.append(("line", a, b))
    low, turn = (20.0, 22.0, -3.1), rng.uniform(0.3, 5.0)
    end = (16.0 + 4.0 * np.cos(turn), 22.0 + 4.0 * np.sin(turn), -3.1)
    rows += [("arc", low, end, (16.0, 22.0, -3.1), 2, turn), ("arc", end, low, (16.0, 22.0, -3.1), 2, -turn)]
    return [rows[k] for k in rng.permutation(len(rows))]


def spans_of(shape, code, axis, u, v):
    if axis == 2:
        low, high, _, _ = span_along(shape, code[0], code[1], u, v, np.inf)
        return [(low, high)]
    if code[0] == 0:
        low, high, _, _ = span_across(shape, code[1], u, v)
        return [(low, high)]
    spans = np.empty((8, 2))
    return spans[: spans_across_arc(shape, code[0], code[1], u, v, spans)].tolist()


def deepest(field, axis, shape, code):
    """The longest stretch of metal inside one sweep on any ray of a bundle."""
    grid, bundle, rays = field.grid, field.bundles[axis], field.bundles[axis].rays()
    u, v = ACROSS[axis]
    most = 0.0
    for ray in np.unique(rays.ray).tolist():
        place = grid.first[u] + grid.pitch[u] * (ray % bundle.nu), grid.first[v] + grid.pitch[v] * (ray // bundle.nu)
        ends = rays.ends[rays.ray.searchsorted(ray) : rays.ray.searchsorted(ray + 1)]
        for low, high in spans_of(shape, code, axis, *map(float, place)):
            most = max(most, float((np.minimum(ends[:, 1], high) - np.maximum(ends[:, 0], low)).max()))
    return most


@pytest.mark.parametrize("kind", PIECES)
def test_every_overlap_is_found_and_no_other(kind):
    rows, piece = moves(*again(np.random.default_rng(len(kind)))), tool(PIECES[kind])
    sweeps = sweeps_of(rows, piece, touch_only=True)
    depths = np.zeros((3, len(rows)))
    for axis in range(3):
        seen = across_y(sweeps) if axis == 1 else sweeps
        for shape, code in zip(seen.shape, seen.code, strict=True):
            depths[axis, code[MOTION]] = max(depths[axis, code[MOTION]], deepest(METAL, axis, shape, code))
    least = np.where(depths > 0.0, depths, np.inf).min(axis=0)
    want = {k: least[k] for k in np.flatnonzero((least > CONTACT_DEPTH_MM + 2 * sweeps.slack) & (least < np.inf)).tolist()}
    found = touch(METAL, rows, piece)
    assert {contact.motion: contact.depth for contact in found} == pytest.approx(want, abs=1e-9)
    assert {contact.role for contact in found} <= {Role.CUTTING}
    assert first_touch(METAL, rows, piece) == min(want, default=-1)
    assert len(want) > 3
