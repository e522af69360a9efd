"""Input that cannot be computed with, asked of `prove`: a refusal with its place, or a finding, and never much memory."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import trimesh

from tests.cli.conftest import ask

BOX = trimesh.creation.box(bounds=[[0, 0, -20], [100, 50, 0]])
BLANK = 'box = [100, "2 in", 20]'


def stl(mesh: trimesh.Trimesh) -> bytes:
    return bytes(mesh.export(file_type="stl"))


def change(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def prove(job: Path, *words: str) -> tuple[int, str]:
    result = ask("prove", job, "--pitch", "1", *words)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, " ".join(result.output.split())


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (BLANK, "box = [nan, 50, 20]", "job.toml:13:8: setup.1.blank.box.1: nan is not a finite number"),
        (BLANK, "box = [inf, 50, 20]", "inf is not a finite number"),
        (BLANK, "box = [100, 0, 20]", "job.toml:13:13: setup.1.blank.box.2: must be more than zero"),
        (BLANK, "box = [100, -5, 20]", "must be more than zero"),
        (BLANK, "box = [1e7, 50, 20]", "the limit is 2.0 GiB"),
        ("stickout = 40", "stickout = 40\npreset = { radius = 0 }", "preset.radius: must be more than zero"),
        ("stickout = 40", "stickout = 40\npreset = { radius = nan }", "preset.radius: nan is not a finite number"),
        ("stickout = 40", "stickout = 40\npreset = { radius = -3 }", "preset.radius: must be more than zero"),
        ("stickout = 40", "stickout = nan", "nan is not a finite number"),
    ],
)
def test_a_job_with_impossible_numbers(job: Path, old: str, new: str, says: str) -> None:
    change(job / "job.toml", old, new)
    code, said = prove(job)
    assert code == 2
    assert says in said
    assert "1 problem in the input" in said


@pytest.mark.parametrize(
    ("diameter", "code", "says"),
    [("0", 2, "em10.toml:3:1: diameter: must be more than zero"), ("30000", 2, "30000 mm across"), ("2000", 0, "tool-too-large")],
)
def test_a_tool_of_no_size_or_larger_than_the_machine(job: Path, diameter: str, code: int, says: str) -> None:
    change(job / "shop" / "tools" / "em10.toml", "diameter = 10", f"diameter = {diameter}")
    found, said = prove(job)
    assert found == code
    assert says in said


def test_a_tool_longer_than_the_machine_is_high(job: Path) -> None:
    change(job / "job.toml", "stickout = 40", "stickout = 40\npreset = { length = 900 }")
    assert "is 900 mm long, the room is 550 mm" in prove(job)[1]


@pytest.mark.parametrize("mesh", ["open", "twisted", "empty", "nan", "cut short", "flat"])
def test_a_blank_from_a_broken_mesh(job: Path, mesh: str) -> None:
    opened = BOX.copy()
    opened.update_faces(np.arange(12) > 0)
    corners = BOX.vertices.copy()
    top = corners[:, 2] > -1
    corners[top, 0] = 100 - corners[top, 0]  # its sides cross in the middle
    whole = stl(BOX)
    data, says = {
        "open": (stl(opened), "1 hole with 3 open sides"),
        "twisted": (stl(trimesh.Trimesh(corners, BOX.faces, process=False)), "turns inside out"),
        "empty": (bytes(84), "the mesh is empty"),
        "nan": (whole[:96] + np.float32(np.nan).tobytes() + whole[100:], "corners that are not numbers"),
        "cut short": (whole[:-10], "cut short"),
        "flat": (stl(trimesh.Trimesh(BOX.vertices * [1, 1, 0], BOX.faces, process=False)), "b.stl"),
    }[mesh]
    (job / "b.stl").write_bytes(data)
    change(job / "job.toml", BLANK, 'mesh = "b.stl"')
    code, said = prove(job)
    assert code == 2
    assert "b.stl" in said
    assert says in said


def test_a_mesh_whose_bodies_run_through_one_another_is_their_union(job: Path) -> None:
    """Two boxes in one file: the slot 4 deep through the first, and where the second stands 5 higher, 9 deep over 50 more."""
    second = trimesh.creation.box(bounds=[[50, 10, -10], [105, 40, 5]])
    (job / "b.stl").write_bytes(stl(trimesh.util.concatenate([BOX, second])))
    change(job / "job.toml", BLANK, 'mesh = "b.stl"')
    code, said = prove(job)
    assert code == 0
    volume = 4 * 10 * 100 + 5 * 10 * 55 + 4 * 10 * 5
    assert f"Removed {volume / 1000:.1f} cm³" in said


@pytest.mark.parametrize("pitch", ["0", "-1", "nan", "inf", "0.0005", "1e-9", "1e-300"])
def test_a_pitch_that_cannot_be(job: Path, pitch: str) -> None:
    """The finest ask for more than 10 ** 9 rays."""
    tracemalloc.start()
    result = ask("prove", job, "--pitch", pitch)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert result.exit_code == 2
    assert "pitch" in result.output
    assert peak < 200e6


@pytest.mark.parametrize(
    ("moves", "code", "says"),
    [
        ("X-10.\nX-10. Y25.\nG0 X-10.\nG1 X110. F800.", 0, "Nothing hits"),
        ("X1100000000.", 2, "plate.nc:9:5: X1.1e+09 is beyond all measure"),
        ("Xnan", 2, "plate.nc:9:5"),
        ("X5000. F800.", 1, "overtravel"),
        ("X50000. F800.", 2, "farther than 10 m"),
        ("G2 X-10. Y25. I0. J0.", 2, "plate.nc:9"),
    ],
)
def test_a_program_with_odd_moves(job: Path, moves: str, code: int, says: str) -> None:
    change(job / "plate.nc", "X110. F800.", moves)
    found, said = prove(job)
    assert found == code, said
    assert says in said


def test_a_program_of_nothing(job: Path) -> None:
    (job / "plate.nc").write_text("%\nO1\nM30\n%\n")
    assert "NOT PROVED: the program moves nothing" in prove(job)[1]
    (job / "plate.nc").write_text("")
    code, said = prove(job)
    assert code == 2
    assert "no block" in said
