"""The same distances by an independent library for poses in random places against curved meshes."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from setwright.clearance import Bodies, Mesh, least_clearance
from setwright.geometry.pieces import Piece
from tests.clearance.scenes import at, ball, cylinder, table

fcl = pytest.importorskip("fcl")
LIBRARY_ERROR_MM = 1e-3


def library_distance(shape: object, centre: np.ndarray, mesh: trimesh.Trimesh) -> float:
    model = fcl.BVHModel()
    model.beginModel(len(mesh.vertices), len(mesh.faces))
    model.addSubModel(mesh.vertices, mesh.faces)
    model.endModel()
    request, result = fcl.DistanceRequest(), fcl.DistanceResult()
    return float(fcl.distance(fcl.CollisionObject(shape, fcl.Transform(centre)), fcl.CollisionObject(model), request, result))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("piece", "shape"), [
    (cylinder(4, -10, 10), lambda: fcl.Cylinder(4, 20)), (ball(6), lambda: fcl.Sphere(6)),
], ids=["cylinder", "ball"])  # fmt: skip
def test_against_the_library(seed: int, piece: Piece, shape: object) -> None:
    rng = np.random.default_rng(seed)
    mesh = trimesh.creation.torus(30.0, 8.0, major_sections=40, minor_sections=16)
    mesh.apply_transform(trimesh.transformations.random_rotation_matrix(rng.random(3)))
    bodies = Bodies.of({"ring": Mesh(mesh.triangles)})
    separate = 0
    for _ in range(25):
        centre = rng.uniform(-60, 60, 3)
        theirs = library_distance(shape(), centre, mesh)  # type: ignore[operator]
        found = least_clearance(at(*centre), table(piece), bodies)
        if theirs > 0:
            separate += 1
            assert found.lower[0, 0] == pytest.approx(theirs, abs=LIBRARY_ERROR_MM)
            assert found.upper[0, 0] == pytest.approx(theirs, abs=LIBRARY_ERROR_MM)
        else:
            assert found.lower[0, 0] == 0.0
    assert separate > 10
