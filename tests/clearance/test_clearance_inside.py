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
    vertices, faces = trimesh.remesh.subdivide(BLOCK.reshape(-1, 3), np.arange(36).reshape(-1, 3))
    mesh = vertices[faces]  # corners at multiples of 50, sides and diagonals under many of the points
    forest = Bodies.of({"block": Mesh(mesh[:, ::-1] if flipped else mesh)}).forest
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


def test_ray_through_corners_that_differ_above_and_below() -> None:
    """A double pyramid with its lower tip aside: whoever counts a corner twice counts it once going in, twice coming out."""
    ring = np.array([[50.0, 0, 0], [0, 50, 0], [-50, 0, 0], [0, -50, 0]])
    top, low = np.array([0, 0, 50.0]), np.array([10.0, 10, -50])
    sides = [(ring[k], ring[(k + 1) % 4]) for k in range(4)]
    mesh = np.array([[a, b, top] for a, b in sides] + [[b, a, low] for a, b in sides])
    normals = np.cross(mesh[:, 1] - mesh[:, 0], mesh[:, 2] - mesh[:, 0])
    forest = Bodies.of({"double pyramid": Mesh(mesh)}).forest
    for x in (-30.0, 0.0, 5.0, 10.0, 20.0):
        for y in (-20.0, 0.0, 10.0):
            for z in (-70.0, -8.0, 3.0, 70.0):
                inside = bool((np.einsum("ij,ij->i", normals, np.array([x, y, z]) - mesh[:, 0]) < 0).all())
                assert is_inside(forest, 0, x, y, z) == inside
