"""The worked-out files of the bundled jobs: meshes against closed forms, readings against their truth."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import trimesh

from setwright.geometry.meshes import read_mesh
from tests.demo import bearing_cap_truth, pintle_shape, pintle_truth, spacers_truth
from tests.demo.bundled import DEMO, folder
from tests.demo.write import written

INCH = 25.4


@pytest.mark.parametrize("name", sorted(name for name in written() if name.endswith((".toml", "blank.stl"))))
def test_files_are_those_of_the_generator(name: str) -> None:
    assert (DEMO / name).read_bytes() == written()[name]


def test_pintle_mesh_has_the_corners_of_the_generator() -> None:
    """Corners only: how flat faces are cut into triangles is the business of the library that does it."""
    kept, made = (_corners(data) for data in ((DEMO / "pintle" / "wanted.stl").read_bytes(), written()["pintle/wanted.stl"]))
    assert np.array_equal(kept, made)


def _corners(data: bytes) -> Any:
    rows = np.frombuffer(data[84:], np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]))
    return np.unique(rows["corners"].reshape(-1, 3), axis=0)


def test_cap_blank_is_the_box_with_its_bore() -> None:
    mesh = _solid(read_mesh(folder("bearing-cap").meshes["blank.stl"], name="blank.stl"))
    assert mesh.bounds.tolist() == [[0, 0, 0], [124, 84, 32]]
    n, r = 360, 15.0
    bore = n / 2 * r**2 * math.sin(2 * math.pi / n)  # area of the regular polygon with its corners on the circle
    assert mesh.volume == pytest.approx(32 * (124 * 84 - bore), rel=1e-7)
    assert mesh.euler_number == 0


def test_wanted_pintle_plate_has_the_volume_of_its_drawing() -> None:
    s = pintle_shape
    mesh = _solid(read_mesh((DEMO / "pintle" / "wanted.stl").read_bytes(), name="wanted.stl"))
    assert mesh.bounds == pytest.approx(np.array([[-3.25, -1, -0.375], [3.25, 1, 0]]), abs=1e-6)
    half = math.asin(0.6)
    waist = 1.25**2 * (half - 0.6 * 0.8)  # the segment of the circle of radius 1.25 that is 1.5 wide: sin 0.6, cos 0.8
    wide, narrow = s.COUNTERSINK / 2, s.HOLE / 2
    cone = (wide - narrow) / math.tan(math.radians(41))
    hole = math.pi * (cone / 3 * (wide**2 + wide * narrow + narrow**2) + narrow**2 * (0.375 - cone))
    middle = math.pi * (0.625**2 * 0.062 + 0.25**2 * (0.375 - 0.062))
    exact = (6.5 * 2 - 2 * waist) * 0.375 - middle - 8 * hole
    # corners lie on the circles, so chords leave metal in every hole: at most 1 - sin(2 pi / n) / (2 pi / n) of its area
    left = (middle + 8 * hole) * (2 * math.pi / 48) ** 2 / 6
    arc = 2 * half * 1.25 / s.WAIST_SEGMENTS
    cut_more = 2 * 0.375 * (2 * half * 1.25) * arc**2 / 12 / 1.25
    assert exact - cut_more < mesh.volume < exact + left
    assert mesh.euler_number == 2 - 2 * 9  # nine holes through


def _solid(triangles: Any) -> Any:
    mesh = trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(triangles.size // 3).reshape(-1, 3), process=False)
    mesh.merge_vertices()
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    return mesh


def _shown(job: str, setup: str, face: str, toward: str) -> list[tuple[float, float, float]]:
    """What the display showed at the contacts with a face from one side, in the order they were made."""
    found = [c.display for c in folder(job).job.readings.contact if (c.setup, c.on, c.toward) == (setup, face, toward)]
    assert found
    places = [(d.x, d.y, d.z) for d in found if d.x is not None and d.y is not None and d.z is not None]
    assert len(places) == len(found)
    return places


def _middle(job: str, setup: str, face: str) -> tuple[float, float]:
    """Centre of a bore or boss: the middle of the last two opposite contacts on each axis."""
    last = {toward: _shown(job, setup, face, toward)[-1] for toward in ("+X", "-X", "+Y", "-Y")}
    return (last["+X"][0] + last["-X"][0]) / 2, (last["+Y"][1] + last["-Y"][1]) / 2


def _slope(job: str, setup: str, face: str, toward: str) -> float:
    """The turn of a face along X that was touched twice."""
    (ax, ay, _), (bx, by, _) = _shown(job, setup, face, toward)
    return (by - ay) / (bx - ax)


def _tool_length(job: str, setup: str, tool: int) -> float:
    """From the tool setter by its stated height; the true contact lies half a step above the step shown."""
    shown = [r.display.z for r in folder(job).job.readings.tool_length if (r.setup, r.tool) == (setup, tool)]
    assert len(shown) == 1
    assert shown[0] is not None
    return shown[0] + 0.005 - 80.0 + 580.0


@pytest.mark.parametrize("side", bearing_cap_truth.SIDES, ids=lambda side: side.setup)
def test_cap_readings_give_back_where_it_stood(side: bearing_cap_truth.Side) -> None:
    x, y = _middle("bearing-cap", side.setup, side.bore)
    assert (x, y) == pytest.approx(side.origin[:2], abs=0.02)  # two whole steps of 0.01
    assert _slope("bearing-cap", side.setup, "fixed jaw", "+Y") == pytest.approx(side.angle, abs=(0.01 + 6 * 0.003) / 138)
    for tool in side.tools:
        assert _tool_length("bearing-cap", side.setup, tool) == pytest.approx(bearing_cap_truth.LENGTHS[tool], abs=0.015)
    for _, _, z in _shown("bearing-cap", side.setup, "top", "-Z"):
        zero = z + 0.005 - 1.0 - 50.0 - _tool_length("bearing-cap", side.setup, 2)
        assert zero == pytest.approx(side.origin[2], abs=0.03)


def test_pintle_readings_give_back_where_it_stood() -> None:
    t = pintle_truth
    assert _slope("pintle", "top", "back", "-Y") == pytest.approx(t.ANGLE, abs=(0.0005 + 6 * 0.0002) / 2.4)
    (ax, ay, _), (bx, by, _) = _shown("pintle", "top", "back", "-Y")
    over_zero = (ay + by) / 2 - t.ANGLE * ((ax + bx) / 2 - t.ORIGIN[0] * INCH)
    assert over_zero / INCH + 0.00025 - 1.1 == pytest.approx(t.ORIGIN[1], abs=0.001)
    ((x, y, _),) = _shown("pintle", "top", "left", "+X")
    beside_zero = x / INCH - 0.00025 + t.ANGLE * (y / INCH - t.ORIGIN[1])
    assert beside_zero + 3.35 == pytest.approx(t.ORIGIN[0], abs=0.001)
    tools = [contact.tool for contact in folder("pintle").job.readings.contact if contact.on == "top"]
    assert tools == list(t.LENGTHS)
    for (_, _, z), length in zip(_shown("pintle", "top", "top", "-Z"), t.LENGTHS.values(), strict=True):
        assert z / INCH + 0.00025 - 2.0 - length == pytest.approx(t.ORIGIN[2], abs=0.001)


def test_spacer_readings_give_back_where_the_pallet_stood() -> None:
    t = spacers_truth
    assert _middle("spacers", "pallet", "outside") == pytest.approx(t.ORIGIN[:2], abs=0.02)
    assert _slope("spacers", "pallet", "rail", "+Y") == pytest.approx(t.ANGLE, abs=(0.01 + 6 * 0.003) / 100)
    for tool, length in t.LENGTHS.items():
        assert _tool_length("spacers", "pallet", tool) == pytest.approx(length, abs=0.015)
    for _, _, z in _shown("spacers", "pallet", "rail top", "-Z"):
        zero = z + 0.005 - 12.0 - 50.0 - _tool_length("spacers", "pallet", 3)
        assert zero == pytest.approx(t.ORIGIN[2], abs=0.03)
