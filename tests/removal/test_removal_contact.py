"""What touches, how deep, and what must not be called a contact."""

import numpy as np
import pytest

from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape
from setwright.geometry.pieces import Role
from setwright.removal.contact import contacts_with, touch
from setwright.removal.cut import cut
from setwright.removal.field import field_of
from tests.removal.common import ball, cylinder, moves, tool

BLOCK = BoxShape((0.0, 0.0, -20.0), (60.0, 40.0, 0.0))
MILL = tool(cylinder(5.0, 0.0, 10.0), cylinder(5.0, 10.0, 30.0, Role.SHANK), cylinder(20.0, 30.0, 60.0, Role.HOLDER))


def run(*rows, pieces=MILL, pitch=0.5):
    return cut(field_of(BLOCK, pitch_mm=pitch), moves(*rows), pieces)


def test_deeper_than_the_flutes():
    done = run(("line", (-10, 20, -12), (70, 20, -12)))
    (contact,) = done.contacts
    assert contact.role is Role.SHANK
    assert contact.depth == pytest.approx(2.0, abs=1e-9)
    assert contact.cutting
    assert contact.motion == 0
    assert 0 < contact.at[0] < 60
    assert -2 < contact.at[2] < 0


def test_exactly_as_deep_as_the_flutes():
    assert run(("line", (-10, 20, -10), (70, 20, -10))).contacts == ()


def test_drilled_hole_lets_the_shank_follow():
    assert run(("line", (30, 20, 5), (30, 20, -18)), ("line", (30, 20, -18), (30, 20, 5))).contacts == ()


def test_holder_meets_the_top():
    done = run(("line", (30, 20, -9), (30, 20, -9)), pieces=tool(cylinder(5, 0, 6), cylinder(12, 8, 30, Role.HOLDER)))
    (contact,) = done.contacts
    assert contact.role is Role.HOLDER
    assert contact.depth == pytest.approx(1.0, abs=1e-9)


def test_rapid_through_metal_is_contact_and_removes_nothing():
    done = run(("rapid", (-10, 20, -3), (70, 20, -3)))
    (contact,) = done.contacts
    assert (contact.role, contact.cutting) == (Role.CUTTING, False)
    assert contact.depth == pytest.approx(3.0, abs=1e-9)
    assert done.by_bundle.sum() == 0
    assert done.field.volume().value == pytest.approx(48000, rel=1e-12)


def test_rapid_in_its_own_slot_is_none():
    done = run(("line", (-10, 20, -3), (70, 20, -3)), ("rapid", (70, 20, -3), (-10, 20, -3)), ("rapid", (10, 20, -3), (10, 20, 50)))
    assert done.contacts == ()


def test_rapid_back_through_a_bore_is_none():
    start = (36.0, 20.0, -8.0)
    helix = ("arc", (36.0, 20.0, 1.0), start, (30.0, 20.0, 1.0), 2, 19.0 * np.pi)
    floor = ("arc", start, start, (30.0, 20.0, -8.0), 2, 2 * np.pi)
    done = run(helix, floor, ("rapid", start, (36.0, 20.0, 10.0)), ("rapid", (30.0, 26.0, 10.0), (30.0, 26.0, -8.0)))
    assert done.contacts == ()


def test_side_contact_is_as_deep_as_the_overlap():
    """A rapid beside the block overlaps its side by 0.1 mm; rays across see 0.1, rays along would say 3."""
    (contact,) = run(("rapid", (-10, -4.9, -3), (70, -4.9, -3))).contacts
    assert contact.depth == pytest.approx(0.1, abs=1e-9)


def test_touching_faces_are_no_contact():
    assert run(("rapid", (-10, -5.0, -3), (70, -5.0, -3)), ("rapid", (-10, 20, 0), (70, 20, 0))).contacts == ()


def test_rising_tool_meets_metal_with_its_shank_first():
    """From a pocket floor up and sideways: the shank reaches the ledge before the cutting part comes up there."""
    pieces = tool(cylinder(5.0, 0.0, 4.0), cylinder(5.0, 4.0, 30.0, Role.SHANK))
    rows = [("line", (20, 20, z), (20, 20, z)) for z in (-3.0, -6.0, -9.0, -12.0)]
    done = run(*rows, ("line", (20, 20, -12), (30, 20, 2)), pieces=pieces)
    (contact,) = done.contacts
    assert contact.motion == 4
    # just under the top the shank goes on until it has risen above it: 8 of 14 mm of rise; the highest rays stand 0.25 mm lower
    assert 7.7 / 14 * 10 < contact.depth < 8 / 14 * 10


def test_one_contact_for_each_motion_and_role():
    done = run(("line", (-10, 20, -12), (70, 20, -12)), ("rapid", (70, 5, -15), (-10, 5, -15)))
    assert [(c.motion, c.role) for c in done.contacts] == [(0, Role.SHANK), (1, Role.CUTTING), (1, Role.SHANK)]


@pytest.mark.parametrize("axis", range(3))
def test_thin_body_is_seen(axis):
    """A sheet of 0.02 mm stood anywhere in the way, rays 2 mm apart."""
    low, high = np.array([-30.0, -30.0, -30.0]), np.array([30.0, 30.0, 30.0])
    low[axis], high[axis] = 0.111, 0.131
    sheet = Body("sheet", BodyRole.HOLDING, BoxShape(tuple(low), tuple(high)))
    pieces = tool(ball(5.0), cylinder(5.0, 5.0, 20.0))
    through = moves(("rapid", tuple(-10 * np.eye(3)[axis]), tuple(10 * np.eye(3)[axis])))
    (contact,) = contacts_with([sheet], through, pieces, pitch_mm=2.0)
    assert contact.body == "sheet"
    assert contact.depth == pytest.approx(0.02, abs=1e-9)


def test_bodies_are_told_apart():
    jaw = Body("jaw", BodyRole.HOLDING, BoxShape((-20, -10, -10), (80, 0, 2)))
    pin = Body("pin", BodyRole.HOLDING, CylinderShape((30, 50), 4.0, -10.0, 3.0))
    rows = moves(("rapid", (30, 20, 1), (30, 44, 1)), ("line", (30, 44, 1), (30, 2, 1)), ("rapid", (30, 2, 5), (30, -5, 5)))
    found = contacts_with([jaw, pin], rows, tool(cylinder(5.0, 0, 20)), pitch_mm=0.5)
    assert [(c.body, c.motion) for c in found] == [("pin", 0), ("jaw", 1), ("pin", 1)]
    assert found[0].depth == pytest.approx(2.0, abs=1e-9)  # heights 1 to 3 are the least overlap
    assert found[1].depth == pytest.approx(1.0, abs=1e-9)


def test_touch_leaves_the_field_alone():
    field = field_of(BLOCK, pitch_mm=1.0)
    before = [tile.ends.copy() for bundle in field.bundles for tile in bundle.tiles]
    (contact,) = touch(field, moves(("line", (10, 20, -3), (50, 20, -3))), MILL)
    assert contact.depth == pytest.approx(3.0, abs=1e-9)
    cut(field, moves(("line", (10, 20, -3), (50, 20, -3))), MILL)
    after = [tile.ends for bundle in field.bundles for tile in bundle.tiles]
    assert all(np.array_equal(a, b) for a, b in zip(before, after, strict=True))
