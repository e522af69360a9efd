"""Broken meshes: what is said of them, and what a mended copy encloses."""

import numpy as np
import pytest
import trimesh

from setwright.base.errors import InputRefused
from setwright.geometry.mending import faults_of, mended
from setwright.geometry.meshes import mended_mesh, read_mesh
from setwright.geometry.stl import closed, enclosed_volume, read_stl, write_stl

BOX = np.asarray(trimesh.creation.box((2.0, 3.0, 5.0)).triangles, np.float64)
BALL = np.asarray(trimesh.creation.icosphere(subdivisions=2, radius=4.0).triangles, np.float64)


def ell() -> np.ndarray:
    """A prism of height 2 with an L for its floor, area 5: the lid of its open top is not convex."""
    floor = np.array([[0, 0], [3, 0], [3, 1], [1, 1], [1, 3], [0, 3]], np.float64)
    faces = trimesh.creation.extrude_polygon(__import__("shapely").Polygon(floor), 2.0)
    return np.asarray(faces.triangles, np.float64)


def volume(triangles: np.ndarray) -> float:
    found = mended(triangles)
    assert found is not None
    assert closed(found.triangles)
    return enclosed_volume(found.triangles)


def test_a_whole_mesh_has_no_fault_and_stays_as_it_is() -> None:
    assert str(faults_of(BOX)) == "no fault found"
    found = mended(BOX)
    assert found is not None
    assert found.done == ()
    assert enclosed_volume(found.triangles) == pytest.approx(30.0, rel=1e-12)


@pytest.mark.parametrize("missing", [[0], [0, 1], [0, 5], [3, 4, 8]])
def test_holes_are_counted_and_closed(missing: list[int]) -> None:
    broken = np.delete(BOX, missing, axis=0)
    faults = faults_of(broken)
    assert faults.holes >= 1
    assert "hole" in str(faults)
    assert mended(broken) is not None
    found = mended(broken)
    assert found is not None
    assert closed(found.triangles)
    if len(missing) == 1:
        assert enclosed_volume(found.triangles) == pytest.approx(30.0, rel=1e-12)


def test_a_lid_that_is_not_convex() -> None:
    whole = ell()
    top = (whole[:, :, 2] > 1.999).all(axis=1)
    assert enclosed_volume(whole) == pytest.approx(10.0)
    assert volume(whole[~top]) == pytest.approx(10.0, rel=1e-9)


def test_turned_triangles_are_turned_back() -> None:
    broken = BALL.copy()
    broken[5:60] = broken[5:60, ::-1]
    assert faults_of(broken).turned > 0
    assert volume(broken) == pytest.approx(enclosed_volume(BALL), rel=1e-12)
    assert volume(BALL[:, ::-1]) == pytest.approx(enclosed_volume(BALL), rel=1e-12)


def test_corners_a_hair_apart_are_joined() -> None:
    generator = np.random.default_rng(3)
    broken = BALL + generator.uniform(-1e-7, 1e-7, BALL.shape)
    assert not closed(broken)
    assert faults_of(broken).apart > 0
    assert volume(broken) == pytest.approx(enclosed_volume(BALL), rel=1e-6)


def test_doubled_and_empty_triangles_are_left_out() -> None:
    empty = np.array([[BOX[0, 0], BOX[0, 1], BOX[0, 1]]])
    broken = np.concatenate([BOX, BOX[:3], empty])
    assert faults_of(broken).crowded > 0
    assert volume(broken) == pytest.approx(30.0, rel=1e-12)


def test_what_branches_is_not_mended() -> None:
    fin = np.array([[BOX[0, 0], BOX[0, 1], [9.0, 9.0, 9.0]]])
    broken = np.concatenate([BOX, fin])
    assert mended(broken) is None
    with pytest.raises(InputRefused, match="cannot be mended"):
        mended_mesh(write_stl(broken), name="a.stl")
    with pytest.raises(InputRefused, match="not closed") as refusal:
        read_mesh(write_stl(broken), name="a.stl")
    assert "--mend" not in refusal.value.problems[0].remedy


def test_the_refusal_says_what_is_wrong_and_offers_a_copy() -> None:
    with pytest.raises(InputRefused, match="1 hole with 3 open sides") as refusal:
        read_mesh(write_stl(BOX[1:]), name="jaw.stl")
    assert "setwright kit JOB --mend jaw.stl" in refusal.value.problems[0].remedy
    data, done = mended_mesh(write_stl(BOX[1:]), name="jaw.stl")
    assert done == ("1 hole closed",)
    assert enclosed_volume(read_mesh(data, name="jaw.stl")) == pytest.approx(30.0, rel=1e-6)


def test_written_files_are_read_back() -> None:
    assert np.allclose(read_stl(write_stl(BALL)), BALL, atol=1e-6)
