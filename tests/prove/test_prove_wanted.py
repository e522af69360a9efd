"""The simulated part against a wanted shape: a plate 100 x 50 x 20 with a slot 10 wide and 4 deep along X at Y25, cut in line 9."""

from collections.abc import Sequence

import numpy as np
import pytest
import trimesh

from setwright.base.errors import InputRefused
from setwright.clearance.nearest import nearest_distance
from setwright.geometry.bodies import BoxShape, MeshShape
from setwright.model.finding import Signal
from setwright.prove.report import plain_job
from setwright.prove.wanted import compare
from setwright.removal.field import field_of
from tests.prove.conftest import JOB, Proving, said

SLOT = "G0 X-10. Y25.\nZ-4.\nG1 X110. F300."
WITH = JOB.replace("datum =", 'wanted = { mesh = "wanted.stl" }\ndatum =')


def box(low: Sequence[float], high: Sequence[float]) -> trimesh.Trimesh:
    return trimesh.creation.box(bounds=[low, high])


def plate(depth: float, *, middle: float = 25.0, length: float = 100.0, millimetre: float = 1.0) -> bytes:
    """The wanted plate with its slot, as a file."""
    slot = box((-5, middle - 5, -depth), (length + 5, middle + 5, 5))
    whole = trimesh.boolean.difference([box((0, 0, -20), (length, 50, 0)), slot], engine="manifold")
    whole.apply_scale(millimetre)
    return bytes(whole.export(file_type="stl"))


def test_what_comes_out_as_wanted_is_not_spoken_of(proving: Proving) -> None:
    for data in (plate(4.0), plate(4.04), plate(3.96)):
        proof = proving(SLOT, job=WITH, files={"wanted.stl": data})
        assert proof.case.wanted is not None
        assert said(proof, "cut-into-part") == said(proof, "metal-left") == []
    assert proving(SLOT).case.wanted is None


def test_a_slot_too_deep_is_cut_into_by_its_line(proving: Proving) -> None:
    proof = proving(SLOT, job=WITH, files={"wanted.stl": plate(3.8)})
    finding, = said(proof, "cut-into-part")
    assert (finding.signal, finding.line, finding.tool) == (Signal.WARNING, 9, 1)
    assert finding.value == pytest.approx(0.2, abs=1e-5)
    assert said(proof, "metal-left") == []
    answer = plain_job([proof], "mm")["wanted"]
    assert (answer["cut_into_mm"], answer["left_mm"], answer["line"]) == (pytest.approx(0.2, abs=1e-5), 0.0, 9)
    assert answer["at"][2] == pytest.approx(-4.0, abs=1e-9)


@pytest.mark.parametrize("over", [0.3, 0.06])
def test_a_slot_too_shallow_leaves_metal(proving: Proving, over: float) -> None:
    finding, = said(proving(SLOT, job=WITH, files={"wanted.stl": plate(4.0 + over)}), "metal-left")
    assert (finding.signal, finding.line) == (Signal.CAUTION, 9)
    assert finding.value == pytest.approx(over, abs=1e-5)


@pytest.mark.parametrize("middle", [24.8, 25.2])
def test_a_slot_beside_its_place_is_both(proving: Proving, middle: float) -> None:
    """0.2 off: as much is missing on one wall as is left on the other, and the tolerance decides."""
    files = {"wanted.stl": plate(4.0, middle=middle)}
    proof = proving(SLOT, job=WITH, files=files)
    assert [said(proof, slug)[0].value for slug in ("cut-into-part", "metal-left")] == pytest.approx([0.2, 0.2], abs=1e-5)
    assert said(proving(SLOT, job=WITH.replace("stl\" }", "stl\", within = 0.21 }"), files=files), "cut-into-part") == []


def test_a_blank_that_does_not_reach_the_shape_is_said_without_a_line(proving: Proving) -> None:
    finding, = said(proving(SLOT, job=WITH, files={"wanted.stl": plate(4.0, length=100.5)}), "cut-into-part")
    assert (finding.line, finding.value) == (0, pytest.approx(0.5, abs=1e-5))


def test_a_cut_that_is_forgotten_is_said_without_a_line(proving: Proving) -> None:
    """The slot is 10 wide and 4 deep: the skin over it, seen from a ray beside its middle, is nearly 4 from the floor."""
    finding, = said(proving("G0 X-10. Y25.", job=WITH, files={"wanted.stl": plate(4.0)}), "metal-left")
    assert finding.line == 0
    assert 3.9 < (finding.value or 0.0) <= 4.0 + 1e-5


def test_a_file_in_inches_and_shifted(proving: Proving) -> None:
    job = WITH.replace('stl" }', 'stl", mesh_units = "in", shift = [0, 0, 0.1] }')
    proof = proving(SLOT, job=job, files={"wanted.stl": plate(4.1, millimetre=1 / 25.4)})
    both = [said(proof, slug)[0].value for slug in ("cut-into-part", "metal-left")]
    assert both == pytest.approx([0.1, 0.1], abs=1e-4)  # its top stands 0.1 over the blank, its underside over the blank's


def test_an_open_mesh_is_refused(proving: Proving) -> None:
    mesh = box((0, 0, -20), (100, 50, 0))
    mesh.update_faces(np.arange(len(mesh.faces)) > 0)
    with pytest.raises(InputRefused, match="not closed"):
        proving(SLOT, job=WITH, files={"wanted.stl": bytes(mesh.export(file_type="stl"))})


def test_a_slope_is_measured_square_to_the_surface() -> None:
    """A wedge's slope, 45 degrees: a ray meets it at 0.1 * sqrt 2 along itself where the surfaces are 0.1 apart."""
    part = field_of(MeshShape(wedge(10.0)), pitch_mm=0.5)
    found = compare(part, [MeshShape(wedge(10.0 - 0.1 * np.sqrt(2)))], within_mm=0.05)
    assert found.cut_into is None
    assert found.left is not None
    assert found.left.depth_mm == pytest.approx(0.1, abs=1e-9)


def wedge(leg: float) -> np.ndarray:
    """A prism 10 long along X with legs along Y and Z."""
    corners = np.array([[0, 0, 0], [0, leg, 0], [0, 0, leg], [10, 0, 0], [10, leg, 0], [10, 0, leg]], np.float64)
    return np.asarray(trimesh.convex.convex_hull(corners).triangles)


@pytest.mark.parametrize("pitch", [0.3, 1.0, 2.0])
def test_what_lies_between_the_rays_is_within_the_bound(pitch: float) -> None:
    """Dents that are pyramids upside down, 2 to 4 deep in the top of a block, their deepest point anywhere between the rays."""
    generator = np.random.default_rng(11)
    for _ in range(20):
        deep = float(generator.uniform(2.0, 4.0))
        x, y = generator.uniform(8, 12, 2)
        corners = [(x - 6, y - 6, 1e-3), (x + 6, y - 6, 1e-3), (x + 6, y + 6, 1e-3), (x - 6, y + 6, 1e-3), (x, y, -deep)]
        dent = trimesh.convex.convex_hull(np.array(corners))
        block = box((0, 0, -9), (20, 20, 0))
        part = trimesh.boolean.difference([block, dent], engine="manifold")
        found = compare(field_of(MeshShape(np.asarray(part.triangles)), pitch_mm=pitch), [MeshShape(np.asarray(block.triangles))],
                        within_mm=0.05)  # fmt: skip
        assert found.cut_into is not None
        assert found.cut_into.depth_mm <= deep + 1e-9 <= found.cut_into.depth_mm + found.bound_mm


def test_nearest_distance_to_a_box_is_that_of_its_formula() -> None:
    generator = np.random.default_rng(7)
    low, high = np.array([-3.0, -2.0, -1.0]), np.array([3.0, 2.0, 1.0])
    points = generator.uniform(-5, 5, (2000, 3))
    outside = np.linalg.norm(np.maximum(np.maximum(low - points, points - high), 0.0), axis=1)
    within = np.minimum(points - low, high - points).min(axis=1)
    expected = np.where(outside > 0, outside, within)
    triangles = np.asarray(box(low, high).subdivide().triangles)
    found = nearest_distance(points, triangles, np.full(len(points), np.inf))
    assert np.allclose(found, expected, atol=1e-12)
    assert np.array_equal(nearest_distance(points, triangles, np.full(len(points), 0.5)), np.minimum(found, 0.5))


def test_nearest_distance_to_slender_and_flat_triangles() -> None:
    """Against the least distance of points all over each triangle, which can only be more, by no more than their spacing."""
    generator = np.random.default_rng(8)
    triangles = generator.normal(size=(20, 3, 3)) * [3.0, 0.3, 1.0]
    triangles[0, 2] = (triangles[0, 0] + triangles[0, 1]) / 2  # no area
    share = np.array([(i, j, 60 - i - j) for i in range(61) for j in range(61 - i)]) / 60.0
    points = generator.normal(size=(50, 3)) * 2.0
    for triangle in triangles:
        spread = share @ triangle
        near = np.linalg.norm(points[:, None] - spread[None], axis=2).min(axis=1)
        found = nearest_distance(points, triangle[None], np.full(len(points), np.inf))
        spacing = np.linalg.norm(triangle - np.roll(triangle, 1, axis=0), axis=1).max() / 60.0
        assert (found <= near + 1e-12).all()
        assert (near <= found + spacing).all()


def test_every_copy_on_a_pallet_is_compared() -> None:
    blocks = [BoxShape((0, 0, 0), (10, 10, 5)), BoxShape((20, 0, 0), (30, 10, 5.2))]
    wanted = [MeshShape(np.asarray(box((x, 0, 0), (x + 10, 10, 5)).triangles)) for x in (0, 20)]
    found = compare(field_of(blocks, pitch_mm=1.0), wanted, within_mm=0.05)
    assert found.left is not None
    assert found.left.depth_mm == pytest.approx(0.2, abs=1e-9)
    assert found.left.at[0] > 20
