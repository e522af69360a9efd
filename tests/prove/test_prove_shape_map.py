"""The surface beside a wanted shape, as a distance at each corner: a plate 100 x 50 x 20 with a slot 10 wide and 4 deep along X at
Y25, cut in line 9."""

import io

import numpy as np
import pytest
import trimesh

from setwright.base.errors import InputRefused
from setwright.geometry.bodies import BoxShape, CylinderShape, MeshShape
from setwright.prove.shape_map import at_corners, map_file, shape_map
from setwright.prove.wanted import signed_distances
from setwright.removal.field import field_of
from setwright.removal.surface import surface_of
from tests.prove.conftest import Proving
from tests.prove.test_prove_wanted import SLOT, WITH, box, plate


def test_a_box_too_high_by_a_tenth() -> None:
    """Top ends are 0.1 above; an end on a side wall is as far off as it stands above the wanted top, at most 0.1."""
    part = field_of(BoxShape((0, 0, 0), (10, 8, 5.1)), pitch_mm=0.4)
    points, distance, row = signed_distances(part, [MeshShape(np.asarray(box((0, 0, 0), (10, 8, 5)).triangles))])
    top = points[:, 2] == 5.1
    assert distance[top] == pytest.approx(np.full(top.sum(), 0.1), abs=1e-12)
    assert distance[~top] == pytest.approx(np.maximum(points[~top, 2] - 5.0, 0.0), abs=1e-12)
    assert (row == -1).all()


def test_a_pocket_too_large_by_a_tenth() -> None:
    """A round pocket 6.1 in radius where one of 6, with facets, is wanted: its wall lies deeper in the metal, by the radii's
    difference and up to the facets' sag more."""
    pocket = trimesh.creation.cylinder(radius=6.0, height=4.0, sections=720)
    pocket.apply_translation((10, 10, 4.0))
    wanted = trimesh.boolean.difference([box((0, 0, 0), (20, 20, 5)), pocket], engine="manifold")
    part = field_of(BoxShape((0, 0, 0), (20, 20, 5)), pitch_mm=0.4)
    part = _without_cylinder(part, 6.1)
    points, distance, _ = signed_distances(part, [MeshShape(np.asarray(wanted.triangles))])
    wall = (np.abs(np.hypot(points[:, 0] - 10, points[:, 1] - 10) - 6.1) < 1e-9) & (points[:, 2] > 2.2) & (points[:, 2] < 4.8)
    assert wall.sum() > 200
    sag = 6.0 * (1 - np.cos(np.pi / 720))
    assert (distance[wall] <= -0.1 + 1e-9).all()
    assert (distance[wall] >= -0.1 - sag - 1e-9).all()
    floor = (np.abs(points[:, 2] - 2.0) < 1e-9) & (np.hypot(points[:, 0] - 10, points[:, 1] - 10) < 5.9)
    assert floor.sum() > 200
    assert distance[floor] == pytest.approx(np.zeros(floor.sum()), abs=1e-6)


def _without_cylinder(part, radius):
    from setwright.removal.cut import cut
    from tests.removal.common import cylinder, moves, tool

    return cut(part, moves(("line", (10, 10, 6), (10, 10, 2))), tool(cylinder(radius))).field


def test_random_places_have_the_sign_and_distance_of_a_box() -> None:
    """A cylinder beside a wanted box, against the box's own formula."""
    part = field_of(CylinderShape((0.0, 0.0), 4.0, -3.0, 3.0), pitch_mm=0.5)
    low, high = np.array([-3.0, -3.5, -2.0]), np.array([3.0, 3.5, 2.5])
    points, distance, _ = signed_distances(part, [MeshShape(np.asarray(box(low, high).triangles))])
    outside = np.linalg.norm(np.maximum(np.maximum(low - points, points - high), 0.0), axis=1)
    depth = np.minimum(points - low, high - points).min(axis=1)
    assert distance == pytest.approx(np.where(outside > 0, outside, -depth), abs=1e-9)
    assert (distance > 1).any()


def test_a_corner_carries_the_distance_of_a_ray_end_beside_it() -> None:
    part = field_of(BoxShape((0, 0, 0), (10, 8, 5.1)), pitch_mm=0.4)
    points, distance, _ = signed_distances(part, [MeshShape(np.asarray(box((0, 0, 0), (10, 8, 5)).triangles))])
    corners = surface_of(part).corners
    values, apart = at_corners(corners, points, distance)
    assert (apart < np.linalg.norm(part.grid.pitch)).all()
    inner = (corners[:, 2] > 5.0) & (corners[:, 0] > 1) & (corners[:, 0] < 9) & (corners[:, 1] > 1) & (corners[:, 1] < 7)
    assert values[inner] == pytest.approx(np.full(inner.sum(), 0.1), abs=1e-12)
    near = np.linalg.norm(points[None] - corners[:50, None], axis=2)
    assert apart[:50] == pytest.approx(near.min(axis=1), abs=1e-12)


def test_a_slot_too_deep_and_a_part_too_wide_are_both_named(proving: Proving) -> None:
    """The wanted slot is 0.2 less deep and 0.2 to one side: floor and one wall are missing, the other wall has metal left."""
    shown = shape_map(proving(SLOT, job=WITH, files={"wanted.stl": plate(3.8, middle=25.2)}))
    missing, left = shown.places
    assert (missing.line, left.line, missing.row, left.file) == (9, 9, left.row, missing.file)
    assert (missing.distance_mm, left.distance_mm) == (pytest.approx(-0.2, abs=1e-5), pytest.approx(0.2, abs=1e-5))
    assert (missing.at[2] == pytest.approx(-4.0)) or (missing.at[1] == pytest.approx(20.0))
    assert left.at[1] == pytest.approx(30.0)
    assert 0.5 < shown.share_within < 0.95
    assert shown.bound_mm < 1e-6


def test_what_comes_out_as_wanted_lies_within_everywhere(proving: Proving) -> None:
    shown = shape_map(proving(SLOT, job=WITH, files={"wanted.stl": plate(4.0)}))
    assert shown.places == ()
    assert shown.share_within == 1.0
    assert np.abs(shown.distance).max() < 1e-5


def test_without_a_wanted_shape_it_is_refused(proving: Proving) -> None:
    with pytest.raises(InputRefused, match="states no wanted shape"):
        shape_map(proving(SLOT))


def test_the_file_says_the_same_to_another_reader(proving: Proving) -> None:
    shown = shape_map(proving(SLOT, job=WITH, files={"wanted.stl": plate(3.8)}))
    read = trimesh.load(io.BytesIO(map_file(shown)), file_type="ply", process=False)
    assert np.array_equal(read.vertices, shown.corners)
    assert np.array_equal(read.faces, shown.triangles)
    columns = read.metadata["_ply_raw"]["vertex"]["data"]
    assert np.array_equal(columns["distance"].ravel(), shown.distance)
    assert np.array_equal(columns["apart"].ravel(), shown.apart)
