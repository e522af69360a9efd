"""A tool wholly inside a solid touches none of its triangles: it must still be a contact."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from setwright.clearance import Bodies, Cylinder, Mesh, Verdict, find_contacts, least_clearance
from setwright.clearance.inside import is_inside
from tests.clearance.scenes import at, cube_mesh, cylinder, table, through

BLOCK = cube_mesh((-50, -50, -50), (50, 50, 50))
FRAME = np.concatenate([BLOCK, cube_mesh((-40, -40, -40), (40, 40, 40))[:, ::-1]])


def test_deep_inside_is_a_contact() -> None:
    bodies = Bodies.of({"block": Mesh(BLOCK)})
    moves = through((0, 0, 0), (1, 2, 3), (4, 0, 0))
    found = least_clearance(moves, table(cylinder(2, 0, 10)), bodies, course_within=5)
    assert found.upper[0, 0] == 0.0
    assert found.course is not None
    assert (found.course == 0).all()
    contacts = find_contacts(moves, table(cylinder(2, 0, 10)), bodies)
    assert (contacts.verdict[:, 0, 0] == Verdict.CONTACT).all()
    assert contacts.first_depth[0, 0] == pytest.approx(50.0, abs=0.002), "up, from the lowest place of the first move"


def test_in_the_hollow_of_a_frame_is_not() -> None:
    bodies = Bodies.of({"frame": Mesh(FRAME)})
    found = least_clearance(through((0, 0, 0), (1, 2, 3)), table(cylinder(2, 0, 10)), bodies)
    assert found.lower[0, 0] == pytest.approx(40 - 13, abs=1e-6)
    in_the_wall = least_clearance(at(45, 0, 0), table(cylinder(2, 0, 3)), bodies)
    assert in_the_wall.upper[0, 0] == 0.0


def test_a_body_swallowed_by_the_tool_is_a_contact() -> None:
    for pin in (Cylinder(0, 0, 1, 2, 3), Mesh(cube_mesh((-1, -1, 2), (1, 1, 3)))):
        assert least_clearance(at(0, 0, 0), table(cylinder(20, 0, 10)), Bodies.of({"pin": pin})).upper[0, 0] == 0.0


@pytest.mark.parametrize("flipped", [False, True])
def test_against_closed_form_at_generic_and_awkward_points(flipped: bool) -> None:
    """A ray from below a corner, an edge or a diagonal of a face counts once."""
    mesh = BLOCK[:, ::-1] if flipped else BLOCK
    forest = Bodies.of({"block": Mesh(mesh)}).forest
    lattice = np.stack(np.meshgrid(*[[-75.0, -50.0 + 1e-9, -25.0, 0.0, 10.0, 25.0, 49.0, 60.0]] * 3), axis=-1).reshape(-1, 3)
    for point in lattice:
        assert is_inside(forest, 0, *point) == bool((np.abs(point) < 50).all())


def test_overlapping_shells_are_one_solid() -> None:
    both = Mesh(np.concatenate([cube_mesh((0, 0, 0), (10, 10, 10)), cube_mesh((5, 5, 5), (15, 15, 15))]))
    forest = Bodies.of({"both": both}).forest
    for point, inside in (((7, 7, 7), True), ((2, 2, 2), True), ((12, 12, 12), True), ((12, 2, 2), False), ((7, 7, 12), True)):
        assert is_inside(forest, 0, *map(float, point)) is inside


@pytest.mark.parametrize("seed", range(3))
def test_turned_ball_of_facets(seed: int) -> None:
    """Inside a convex polyhedron = below every plane: a different criterion than rays."""
    rng = np.random.default_rng(seed)
    mesh = trimesh.creation.icosphere(3, 20.0)
    mesh.apply_transform(trimesh.transformations.random_rotation_matrix(rng.random(3)))
    forest = Bodies.of({"ball": Mesh(mesh.triangles)}).forest
    awkward = [mesh.vertices[:50] * [1, 1, 0.3], mesh.triangles_center[:50] * [1, 1, -0.9]]
    points = np.concatenate([rng.uniform(-22, 22, (300, 3)), *awkward])
    heights = np.einsum("pij,ij->pi", points[:, None, :] - mesh.triangles[:, 0], mesh.face_normals)
    for point, height in zip(points, heights.max(axis=1), strict=True):
        if abs(height) > 1e-6:
            assert is_inside(forest, 0, *point) == (height < 0)
