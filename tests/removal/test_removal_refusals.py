"""Input that cannot be computed with is refused in words."""

import dataclasses

import numpy as np
import pytest

from setwright.base.errors import InputRefused, LimitReached
from setwright.geometry.bodies import BoxShape, CylinderShape, MeshShape
from setwright.geometry.pieces import PieceTable
from setwright.removal.cut import cut
from setwright.removal.field import field_of
from setwright.removal.measure import fit_plane, fit_round
from setwright.removal.regions import BoxRegion
from setwright.removal.turn import turned
from tests.removal.common import ball, cone, cylinder, moves, tool

BLOCK = BoxShape((0.0, 0.0, -10.0), (20.0, 20.0, 0.0))
FLAT = tool(cylinder(3.0))
SLOT = moves(("line", (-5, 10, -2), (25, 10, -2)))


@pytest.mark.parametrize(
    ("solid", "pitch", "words"),
    [
        (BoxShape((0, 0, 0), (10, 10, 0)), 0.5, "no volume"),
        (BoxShape((0, 0, 0), (10, np.nan, 5)), 0.5, "not a number"),
        (CylinderShape((0, 0), 0.0, 0, 5), 0.5, "no volume"),
        (BLOCK, 0.0, "pitch"),
        (BLOCK, np.nan, "pitch"),
        ([], 0.5, "no blank"),
        (MeshShape(np.zeros((0, 3, 3))), 0.5, "empty"),
        (MeshShape(np.array([[[0, 0, 0], [9, 0, 0], [0, 9, 5.0]]])), 0.5, "not closed"),
    ],
)
def test_blank(solid, pitch, words):
    with pytest.raises(InputRefused, match=words):
        field_of(solid, pitch_mm=pitch)


def test_inside_out_mesh():
    trimesh = pytest.importorskip("trimesh")
    triangles = np.asarray(trimesh.creation.box(extents=(10, 8, 6)).triangles, float)[:, ::-1]
    with pytest.raises(InputRefused, match="inside out"):
        field_of(MeshShape(np.ascontiguousarray(triangles)), pitch_mm=0.5)


def test_too_many_rays_says_which_pitch_fits():
    with pytest.raises(LimitReached, match="use a pitch of") as refusal:
        field_of(BoxShape((0, 0, 0), (1000, 1000, 500)), pitch_mm=0.03)
    fits = float(str(refusal.value).split("use a pitch of ")[1].split(" mm")[0])
    assert 0.1 < fits < 0.3


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [("start", np.nan, "not a number"), ("end", 1e6, "10 m"), ("tool", 3, "not in the tool table"), ("ident", -4, "number below")],
)
def test_moves(field, value, words):
    column = getattr(SLOT, field).copy()
    column.flat[0] = value
    with pytest.raises(InputRefused, match=words):
        cut(field_of(BLOCK, pitch_mm=1.0), dataclasses.replace(SLOT, **{field: column}), FLAT)


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        (cylinder(0.0), "radius 0"),
        (cylinder(-1.0), "negative"),
        (cylinder(2.0, 5.0, 1.0), "negative"),
        (cylinder(np.inf), "not a number"),
        (cylinder(20000.0), "10 m"),
        (dataclasses.replace(ball(3.0), z1=9.0), "own circle"),
    ],
)
def test_pieces(piece, words):
    with pytest.raises(InputRefused, match=words):
        cut(field_of(BLOCK, pitch_mm=1.0), SLOT, tool(cone(0, 1), piece))


def test_all_that_is_wrong_is_said_at_once():
    bad = dataclasses.replace(SLOT, start=np.full((1, 3), np.nan))
    with pytest.raises(InputRefused) as refusal:
        cut(field_of(BLOCK, pitch_mm=1.0), bad, tool(cylinder(0.0), cylinder(-1.0)))
    assert len(refusal.value.problems) == 3


def test_nothing_to_do_does_nothing():
    field = field_of(BLOCK, pitch_mm=1.0)
    done = cut(field, moves(), FLAT)
    assert done.removed.size == 0
    assert done.contacts == ()
    assert done.first_metal() == -1
    away = cut(field, moves(("line", (100, 100, 5), (120, 100, 5))), FLAT)
    assert away.field.volume() == field.volume()


def test_tool_without_pieces_removes_nothing():
    done = cut(field_of(BLOCK, pitch_mm=1.0), SLOT, PieceTable.of([[]]))
    assert done.by_bundle.sum() == 0


def test_huge_tool_takes_the_whole_top():
    done = cut(field_of(BLOCK, pitch_mm=1.0), moves(("line", (-900, 10, -2), (900, 10, -2))), tool(cylinder(500.0)))
    assert done.removed[0] == pytest.approx(20 * 20 * 2, rel=1e-12)


def test_measuring_where_nothing_is():
    field = field_of(BLOCK, pitch_mm=1.0)
    with pytest.raises(InputRefused, match="only 0 ray ends"):
        fit_plane(field, BoxRegion((5, 5, -6), (9, 9, -4)), facing=(0, 0, 1))
    with pytest.raises(InputRefused, match="bore"):
        fit_round(field, BoxRegion((5, 5, -6), (9, 9, -4)), hole=True)


def test_turning_by_something_else():
    with pytest.raises(InputRefused, match="turn"):
        turned(field_of(BLOCK, pitch_mm=1.0), [[0.8, -0.6, 0], [0.6, 0.8, 0], [0, 0, 1]])
