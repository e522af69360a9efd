"""Faces found without being told where to look: names and sizes against lists written by hand from the programs."""

import math
import tomllib
from pathlib import Path

import pytest

from setwright.base.errors import InputRefused
from setwright.demo import __file__ as demo
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.prove.chain import prove_job
from setwright.prove.found import FoundFaces, found_faces
from tests.prove.conftest import JOB, JOB_IN_INCHES, Proving

HOLES = [f"X{x} Y{y}" for x in (-46, 46) for y in (-26, 26)]
CORNERS = [f"outside radius R12 at X{x} Y{y}" for x in (-47, 47) for y in (-27, 27)]
PLATE_HOLES = [f"X{x} Y{y}" for x in (-2.7, -1.3, 1.3, 2.7) for y in (-0.5, 0.5)]
BY_HAND = {
    ("bearing-cap", "first side"): [
        "top Z0", "floor Z-5", "floor Z-10", "floor Z-12.515", "wall X-59 facing left", "wall X59 facing right",
        "wall Y-39 facing front", "wall Y39 facing back", "wall Y-10.0125 facing back", "wall Y10.0125 facing front",
        "bore Ø52.015 at X0 Y0", "bore Ø32.02 at X0 Y0", *(f"bore Ø6.8 at {at}" for at in HOLES), *CORNERS,
        "cone 90° at X0 Y0", *(f"cone 90° at {at}" for at in HOLES),
        *(f"cone 118° at {at}" for at in HOLES),  # the drill's point ends at Z-32.5, its full diameter 2.04 above: Z-30.46 of -31
    ],
    ("bearing-cap", "second side"): [
        "top Z0", "floor Z-7", "bore Ø42.02 at X0 Y0", "cone 90° at X0 Y0", *(f"cone 90° at {at}" for at in HOLES),
    ],
    ("pintle", "top"): [
        "floor Z-0.062", "bore Ø1.2525 at X0 Y0", "bore Ø0.5005 at X0 Y0",
        *(f"bore Ø0.266 at {at}" for at in PLATE_HOLES), *(f"cone 82° at {at}" for at in PLATE_HOLES),
        "inside radius R1.25 at X0 Y2", "inside radius R1.25 at X0 Y-2",
    ],  # inches: G41 about I1 J0.75 is R1.25; the drills' points end below the bar, the reamer takes the spot in the middle away
    ("spacers", "pallet"): ["top Z20", "bore Ø16.013 at X0 Y0", "cone 90° at X0 Y0"],
}  # fmt: skip
"""Of the programs' own numbers, with the diameters of drill and boring bar as the shop's files state them."""


def of_demo(name: str, setup: str) -> FoundFaces:
    folder = load_job(Path(demo).parent / name)
    proofs = prove_job(folder, [folder.job.setup_named(setup)], truth_of=nominal_truth)
    return found_faces(next(proof for proof in proofs if proof.kit.setup.name == setup))


@pytest.mark.parametrize(("name", "setup"), BY_HAND)
def test_the_faces_of_a_demo_are_those_its_program_makes(name: str, setup: str) -> None:
    found = of_demo(name, setup)
    assert sorted(face.name for face in found.faces) == sorted(BY_HAND[name, setup])
    assert found.left_share < 0.02


POCKET = """\
G0 X30. Y15.
G1 Z-6. F300.
X40.
Y25.
X30.
Y15.
X35. Y20.
G0 Z5."""
"""With the end mill of 10: from X25 Y10 to X45 Y30, corners of 5, 6 deep, nothing left inside."""


def test_a_pocket(proving: Proving) -> None:
    found = found_faces(proving(POCKET, pitch_mm=0.5))
    assert {face.name for face in found.faces} == {
        "floor Z-6", "wall X25 facing right", "wall X45 facing left", "wall Y10 facing back", "wall Y30 facing front",
        *(f"inside radius R5 at X{x} Y{y}" for x in (30, 40) for y in (15, 25)),
    }  # fmt: skip
    assert {(one.what, round(one.value, 6)) for one in found.distances} == {("slot", 20.0)}
    for face in found.faces:
        assert face.form < 1e-6
        if face.diameter is not None:
            assert face.diameter == pytest.approx(10.0, abs=1e-6)


def drilled(places: list[tuple[float, float]]) -> str:
    return "\n".join(f"G0 X{x:.4f} Y{y:.4f}\nG1 Z-12. F200.\nG0 Z5." for x, y in places)


@pytest.mark.parametrize(("places", "words"), [
    ([(15, 10), (35, 10), (55, 10), (75, 10)], "in a row, 20 apart"),
    ([(15, 10), (65, 10), (15, 40), (65, 40)], "in a rectangle of 2 × 2, 50 × 30 over their middles, about X40 Y25"),
    ([(50 + 15 * math.cos(math.tau * k / 5), 25 + 15 * math.sin(math.tau * k / 5)) for k in range(5)],
     "evenly on a circle of Ø30 about X50 Y25"),
    ([(15, 10), (35, 17), (60, 31)], ""),
])  # fmt: skip
def test_holes_in_an_order(proving: Proving, places: list[tuple[float, float]], words: str) -> None:
    found = found_faces(proving(drilled(places)))
    assert len([face for face in found.faces if face.kind == "bore"]) == len(places)
    assert [one.words for one in found.patterns] == ([f"{len(places)} × bore Ø10 {words}"] if words else [])
    for face in found.faces:
        if face.kind == "bore":
            assert min(math.dist(face.at[:2], place) for place in places) < 1e-4  # written to four places
            assert face.diameter == pytest.approx(10.0, abs=1e-6)


def test_a_wall_at_an_angle(proving: Proving) -> None:
    """From X5 Y0 along 30 degrees, the cutter left of the line by its radius: the wall looks to 120 degrees and passes (5, 0)."""
    along, aside = (math.cos(math.pi / 6), 0.5), (-0.5, math.cos(math.pi / 6))
    begin = (5 + 5 * aside[0] - 20 * along[0], 5 * aside[1] - 20 * along[1])
    end = (5 + 5 * aside[0] + 120 * along[0], 5 * aside[1] + 120 * along[1])
    found = found_faces(proving(f"G0 X{begin[0]:.6f} Y{begin[1]:.6f}\nG1 Z-4. F300.\nX{end[0]:.6f} Y{end[1]:.6f}"))
    leaning = [face for face in found.faces if face.kind == "leaning"]
    assert len(leaning) == 2  # a slot has two of them
    wall = next(face for face in leaning if face.level == pytest.approx(5 * aside[0], abs=1e-5))
    assert wall.facing == pytest.approx((*aside, 0.0), abs=1e-6)
    assert wall.name == "face leaning 90° toward 120° at -2.5"


def ring(lines: int) -> str:
    """A circle of 30 about X50 Y25, inside it the cutter of 10, as an arc or as short lines."""
    if not lines:
        return "G0 X50. Y25.\nG1 Z-4. F300.\nX60.\nG3 I-10.\nG1 X50."
    around = "\n".join(f"X{50 + 10 * math.cos(math.tau * k / lines):.5f} Y{25 + 10 * math.sin(math.tau * k / lines):.5f}"
                       for k in range(lines + 1))  # fmt: skip
    return f"G0 X50. Y25.\nG1 Z-4. F300.\nX60.\n{around}\nX50. Y25."


def test_a_circle_of_short_lines_is_a_bore_as_an_arc_is(proving: Proving) -> None:
    """240 chords of a circle of 10: they lie up to 10 * (1 - cos(pi / 240)) = 0.0009 inside."""
    whole, chords = (found_faces(proving(ring(lines), pitch_mm=0.5)).faces for lines in (0, 240))
    for faces, within in ((whole, 1e-6), (chords, 0.002)):
        bore, = (face for face in faces if face.kind == "bore")
        assert bore.diameter == pytest.approx(30.0, abs=within)
        assert bore.at[:2] == pytest.approx((50.0, 25.0), abs=1e-3)


@pytest.mark.parametrize("pitch", [0.4, 0.7, 1.0])
def test_names_do_not_hang_on_the_pitch(proving: Proving, pitch: float) -> None:
    found = found_faces(proving(f"{POCKET}\n{drilled([(70, 25)])}", pitch_mm=pitch))
    assert {face.name for face in found.faces} >= {"wall X25 facing right", "inside radius R5 at X40 Y25", "bore Ø10 at X70 Y25"}


def test_what_is_pasted_is_found_whole_and_stays_through_an_edit_elsewhere(proving: Proving) -> None:
    found = found_faces(proving(f"{POCKET}\n{drilled([(70, 25)])}"))
    across = '["wall X25 facing right", "wall X45 facing left"]'
    asked = ('[[setup.requirement]]\nname = "hole"\ndiameter = "bore Ø10 at X70 Y25"\nsize = "10 ±0.01"\n'
             f'[[setup.requirement]]\nname = "width"\nbetween = {across}\nsize = "20 ±0.01"\n')  # fmt: skip
    job = f"{JOB}\n{found.as_toml()}\n{asked}"
    tomllib.loads(job)
    edited = f"(AN EDIT)\n{drilled([(70, 25)])}\n(AND THE POCKET AFTER IT)\n{POCKET}\n{drilled([(85, 40)])}"
    for program in (f"{POCKET}\n{drilled([(70, 25)])}", edited):
        proof = proving(program, job=job)
        for one, size in zip(proof.features, (10.0, 20.0), strict=True):
            assert (one.simulated, one.found) == (pytest.approx(size, abs=1e-6), 1.0)
        assert not [finding for finding in proof.findings if finding.slug == "face-not-made"]
        assert {face.name for face in found.faces} <= {face.name for face in found_faces(proof).faces}
    shallow = proving(edited.replace("Z-6.", "Z-3."), job=job)
    assert any(finding.slug == "face-not-made" for finding in shallow.findings)


def test_an_inch_job_has_its_faces_in_inches(proving: Proving) -> None:
    found = found_faces(proving(drilled([(50.8, 25.4)]), job=JOB_IN_INCHES))
    assert "bore Ø0.3937 at X2 Y1" in {face.name for face in found.faces}
    assert "diameter = 0.3937" in found.as_toml()


def test_a_part_not_proved_to_its_end_has_no_faces_yet(proving_whatever: Proving) -> None:
    with pytest.raises(InputRefused, match="not proved to its end"):
        found_faces(proving_whatever("G1 Z-1. F100.\nA10."))
