"""Contacts that are possible within what the setup is known to: with the skin of the blank, with what other tools cut, with jaws.

The plate lies from 0 to 100, 0 to 50 and -20 to 0 between jaws that end at Z-10; the end mill is 10 thick, its holder 30 thick
and 40 above the tip."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from setwright.geometry.moves import Moves
from setwright.kit.registers import Truth, nominal_truth
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal
from setwright.prove.possible import possible_with_metal, skin_of
from setwright.prove.report import plain
from setwright.prove.stage import blank_field, hung_tools
from setwright.prove.station import Proof, prove
from tests.prove.conftest import JOB, Proving, said

SLUG = "contact-within-uncertainty"
PITCHES = [0.5, 1.0]
ZERO = 'x = "left", y = "front", z = { face = "top" }'
ELSEWHERE = 'x = "right", y = "back", z = { face = "bottom", is = -20 }'
"""Zero taken from the sides that nothing passes here, so that those that are passed vary."""


def varying(x: float = 0.0, y: float = 0.0, z: float = 0.0, *, length: float = 0.0, zero: str = ELSEWHERE) -> str:
    job = JOB.replace(ZERO, zero).replace("corner = [0, 0, -20]", f"corner = [0, 0, -20], varies = [{x}, {y}, {z}]")
    return job.replace("stickout = 40 }", f"stickout = 40, preset = {{ varies = {length} }} }}")


def at_pitch(proof: Proof, pitch: float) -> Proof:
    """The same with rays as far apart as said, or the proof itself."""
    return proof if pitch == 1.0 else prove(proof.kit, proof.truth, pitch_mm=pitch)


def in_doubt(proof: Proof, body: str = "blank") -> list[Finding]:
    return [finding for finding in said(proof, SLUG) if finding.body == body]


def rows_of(proof: Proof) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = plain(proof, "mm")["clearance"]
    return found


def two_tools(one: float, other: float, **varies: float) -> str:
    """T1 and T2 alike, their lengths known to these standard deviations."""
    second = f'{{ station = 2, use = "em10", stickout = 40, preset = {{ varies = {other} }} }}'
    return varying(length=one, **varies).replace("tool = [", f"tool = [{second}, ")


def over_a_face(z: float, by: int = 2) -> str:
    """T1 faces the middle of the plate to Z-1 between Y20 and Y36; then T1 or T2 rapids over that at Z, 3 from its walls."""
    change = "T2 M6\nG0 G43 H2 X-10. Y28. Z50. S5000 M3\n" if by == 2 else ""
    face = "G0 X-10. Y25.\nZ5.\nG1 Z-1. F300.\nX110.\nY31.\nX-10."
    return f"{face}\nG0 Z50.\nX-10. Y28.\n{change}Z{z}\nX110."


CASES = {
    "a rapid 0.5 over a top that varies 1.5": (varying(z=1.5), "G0 X-10. Y25.\nZ0.5\nX110.", "cutter", 0.5, 1.5),
    "a rapid 0.3 beside a side that varies 1": (varying(x=1.0), "G0 X-5.3 Y-20.\nZ-5.\nY70.", "cutter", 0.3, 1.0),
    "a holder 0.05 over a top that varies 1": (
        varying(z=1.0), "G0 X-5. Y25.\nZ5.\nG1 Z-39.95 F300.", "holder", 0.05, 1.0),
    "a rapid 0.2 over the top, the length known to 0.32": (varying(length=0.16), "G0 X-10. Y25.\nZ0.2\nX110.", "cutter", 0.2, 0.32),
}  # fmt: skip


@pytest.mark.parametrize(("case", "pitch"), [*product(CASES.values(), PITCHES), (next(iter(CASES.values())), 0.1)])
def test_a_gap_to_the_blank_smaller_than_what_it_is_known_to_is_warned_of(
    proving: Proving, case: tuple[str, str, str, float, float], pitch: float
) -> None:
    job, moves, part, gap, known = case
    if part == "holder":  # beside the plate, above it with the holder only; no jaw in the way
        job = job.replace("box = [100, 50, 20]", "box = [100, 50, 80]").replace("corner = [0, 0, -20]", "corner = [0, 0, -80]")
    finding, = in_doubt(at_pitch(proving(moves, job=job), pitch))
    assert (finding.signal, finding.tool) == (Signal.WARNING, 1)
    assert f"the {part} of T1" in finding.text
    assert finding.value == pytest.approx(gap, abs=1e-6)
    assert f"± {known:.3f} mm" in finding.text


def test_a_gap_that_is_larger_is_not(proving: Proving) -> None:
    over = "G0 X-10. Y25.\nZ0.5\nX110."
    assert not in_doubt(proving(over, job=varying(z=0.49)))
    assert not in_doubt(proving(over, job=varying(x=3.0, y=3.0)))  # beside it the blank varies, not over it
    assert not in_doubt(proving("G0 X-5.3 Y-20.\nZ-5.\nY70.", job=varying(length=0.16, z=0.2, y=2.0)))


def test_a_length_in_doubt_is_none_sideways(proving: Proving) -> None:
    """0.3 beside the moving jaw's end at X-25 + 150: the length is known to 0.32, the side is not in doubt."""
    proof = proving("G0 X140. Y60.\nZ-15.\nX130.3\nG1 Y-10. F300.", job=varying(length=0.16))
    jaw = [near for near in proof.case.nearness if near.body == "fixed jaw" and near.part == "cutter"]
    assert jaw[0].least_mm == pytest.approx(0.3, abs=1e-6)
    assert jaw[0].known_mm == pytest.approx(0.0, abs=1e-9)
    assert not said(proof, SLUG)


def test_a_place_further_off_in_a_direction_in_doubt_is_found_behind_a_nearer_one_that_is_sure(proving: Proving) -> None:
    """0.1 beside the jaw's end, which is sure; then 0.25 over its top, where the length is known to 0.32."""
    proof = proving("G0 X140. Y60.\nZ-15.\nX130.1\nG1 Y70. F300.\nG0 Z10.\nX50. Y60.\nZ-9.75", job=varying(length=0.16))
    finding, = in_doubt(proof, "fixed jaw")
    assert finding.value == pytest.approx(0.25, abs=0.002)
    assert "± 0.320 mm" in finding.text


def test_what_an_earlier_cut_takes_off_is_taken_off_the_larger_blank_too(proving: Proving) -> None:
    """The top is milled 1 down over Y20 to Y30, far wider than it varies; a rapid 0.5 over the milled floor meets nothing."""
    mill = "G0 X-10. Y25.\nZ5.\nG1 Z-1. F300.\nX110.\nG0 Z5.\nX-10.\n"
    job = varying(z=0.8)
    assert not in_doubt(proving(mill + "Z-0.5\nX110.", job=job))
    beside, = in_doubt(proving(mill + "Y27.\nZ0.5\nX110.", job=job))  # 2 aside it runs over what was left standing
    assert beside.value == pytest.approx(0.5, abs=1e-6)


def test_a_tool_that_rises_from_its_own_cut_is_in_no_doubt(proving: Proving) -> None:
    assert not in_doubt(proving("G0 X50. Y25.\nZ2.\nG1 Z-5. F300.\nX60.\nG0 Z2.", job=varying(0.1, 0.1, 0.1, length=0.05)))


@pytest.mark.parametrize("pitch", PITCHES)
def test_the_height_over_a_face_that_another_tool_cut_hangs_on_both_lengths(proving: Proving, pitch: float) -> None:
    """T1 faces to Z-1; T2 rapids 0.2 over that. Two lengths known to 0.16 each: 2 sqrt(2) 0.16 = 0.453."""
    second = '{ station = 2, use = "em10", stickout = 40, preset = { varies = 0.16 } }'
    job = varying(length=0.16).replace("tool = [", f"tool = [{second}, ")
    face = "G0 X-10. Y25.\nZ5.\nG1 Z-1. F300.\nX110.\nG0 Z50.\nT2 M6\nG0 G43 H2 X-10. Y25. Z50. S5000 M3\n"
    finding, = in_doubt(at_pitch(proving(face + "Z-0.8\nX110.", job=job), pitch))
    assert (finding.tool, finding.signal) == (2, Signal.WARNING)
    assert finding.value == pytest.approx(0.2, abs=1e-6)
    nearest, = [row for row in rows_of(proving(face + "Z-0.8\nX110.", job=job)) if row["bodies"] == ["cutter", "blank"]]
    assert (nearest["least_mm"], nearest["plus_minus_mm"]) == pytest.approx((0.2, 2 * math.sqrt(2) * 0.16), abs=1e-6)
    assert nearest["line"] == finding.line
    assert not in_doubt(at_pitch(proving(face + "Z-0.5\nX110.", job=job), pitch))


def test_a_certain_contact_is_not_also_a_possible_one(proving: Proving) -> None:
    proof = proving("G0 X-10. Y25.\nZ-0.5\nX110.", job=varying(z=1.0))
    assert said(proof, "rapid-into-material")
    assert not in_doubt(proof)


def test_measured_place_and_angle_count_each_in_its_direction(proving: Proving) -> None:
    """0.25 beside the left side, the place known to 0.1 along X; an angle known to 0.002 rad is 0.1 more, 50 from the datum."""
    proof = proving("G0 X-5.25 Y-20.\nZ-5.\nY70.", job=varying())

    def with_truth(**known: object) -> Proof:
        truth = replace(nominal_truth(proof.kit), source="touch", u_length=0.0, **known)  # type: ignore[arg-type]
        return prove(proof.kit, truth, pitch_mm=1.0)

    assert not in_doubt(with_truth(u_place=(0.1, 5.0, 5.0)))
    finding, = in_doubt(with_truth(u_place=(0.1, 0.0, 0.0), u_angle=0.002))
    assert "± 0.283 mm" in finding.text
    assert finding.value == pytest.approx(0.25, abs=1e-6)
    known: Truth = with_truth(u_place=(0.1, 0.0, 0.0), u_angle=0.002).truth
    assert known.u_angle == 0.002


def test_the_least_distance_to_the_blank_is_a_row_with_its_doubt(proving: Proving) -> None:
    proof = proving("G0 X-10. Y25.\nZ0.5\nX110.", job=varying(z=0.2, length=0.01))
    rows = {row["bodies"][0]: row for row in plain(proof, "mm")["clearance"] if row["bodies"][1] == "blank"}
    assert rows["cutter"]["least_mm"] == pytest.approx(0.5, abs=1e-6)
    assert rows["cutter"]["plus_minus_mm"] == pytest.approx(0.22, abs=1e-9)
    assert rows["cutter"]["margin_mm"] == pytest.approx(0.28, abs=1e-6)
    assert rows["cutter"]["line"] in (8, 9)
    assert rows["holder"]["least_mm"] == pytest.approx(40.5, abs=1e-6)


def rapid_in_doubt(kit: Kit, truth: Truth, varies: NDArray[np.float64], way: Sequence[Sequence[float]]) -> bool:
    """Whether one rapid of T1 is in doubt against a blank that varies so."""
    blank = kit.setup.blank.model_copy(update={"varies": tuple(varies.tolist())})
    kit = replace(kit, setup=kit.setup.model_copy(update={"blank": blank}))
    order, pieces = hung_tools(kit)
    start, end = (np.array([point], np.float64) for point in way)
    rapid = Moves(np.zeros(1, np.uint8), start, end, np.zeros((1, 3)), np.zeros(1, np.uint8), np.zeros(1),
                  np.array([order[1]], np.int32), np.zeros(1, np.bool_), np.zeros(1, np.int32))  # fmt: skip
    skin = skin_of(rapid, pieces, kit, truth, order)
    return bool(possible_with_metal(blank_field(kit, 5.0), rapid, pieces, skin, []))


def test_random_gaps_are_warned_of_exactly_when_they_are_smaller_than_the_doubt(proving: Proving) -> None:
    """500 gaps over the top, beside the left side or beside the back, against variation drawn for each axis by itself."""
    proof, random, wrong = proving("G0 X0.", job=varying(length=0.05)), np.random.default_rng(20261128), []
    kit, truth = proof.kit, proof.truth
    for number in range(500):
        axis, gap = int(random.integers(3)), float(random.uniform(0.01, 1.0))
        varies = random.uniform(0.0, 1.0, 3).round(3)
        known = varies[axis] + (0.1 if axis == 2 else 0.0)
        if abs(gap - known) < 1e-4:
            continue
        way = {0: ((-5.0 - gap, -40.0, -5.0), (-5.0 - gap, 90.0, -5.0)), 1: ((-30.0, -5.0 - gap, -5.0), (130.0, -5.0 - gap, -5.0)),
               2: ((-30.0, 25.0, gap), (130.0, 25.0, gap))}[axis]  # fmt: skip
        said_so = rapid_in_doubt(kit, truth, varies, way)
        if said_so != (gap < known):
            wrong.append((number, axis, gap, known, said_so))
    assert not wrong


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize(("one", "other"), [(0.2, 0.01), (0.01, 0.2), (0.1, 0.1)])
def test_over_a_face_that_another_tool_cut_each_of_the_two_lengths_counts_once(
    proving: Proving, one: float, other: float, pitch: float
) -> None:
    known = 2.0 * math.hypot(one, other)
    job = two_tools(one, other)
    finding, = in_doubt(at_pitch(proving(over_a_face(known - 1.02), job=job), pitch))
    assert (finding.tool, finding.value) == (2, pytest.approx(known - 0.02, abs=1e-6))
    assert f"± {known:.3f} mm" in finding.text
    assert not in_doubt(at_pitch(proving(over_a_face(known - 0.98), job=job), pitch))


@pytest.mark.parametrize("z", [-0.71, -0.02])
def test_the_row_says_the_least_distance_over_what_the_program_cut_itself(proving: Proving, z: float) -> None:
    """T2 passes 0.29 or 0.98 over the face that T1 cut, and T1 came no nearer than 5 to the skin
    before; two lengths known to 0.1 are 0.283."""
    proof = proving(over_a_face(z), job=two_tools(0.1, 0.1))
    assert not in_doubt(proof)
    row, = [row for row in rows_of(proof) if row["bodies"] == ["cutter", "blank"]]
    assert row["least_mm"] == pytest.approx(z + 1.0, abs=2e-3)
    assert row["least_mm"] <= z + 1.0 + 1e-9 <= row["at_most_mm"] + 1e-9
    assert (row["tool"], row["plus_minus_mm"]) == (2, pytest.approx(2.0 * math.hypot(0.1, 0.1), abs=1e-6))


def test_over_its_own_face_a_tool_is_in_no_doubt_and_the_row_says_how_near(proving: Proving) -> None:
    proof = proving(over_a_face(-0.8, by=1), job=two_tools(0.3, 0.3))
    assert not in_doubt(proof)
    row, = [row for row in rows_of(proof) if row["bodies"] == ["cutter", "blank"]]
    assert row["least_mm"] == pytest.approx(0.2, abs=2e-3)
    assert row["plus_minus_mm"] == 0.0


def test_every_finding_has_its_row(proving: Proving) -> None:
    """T1 passes 0.1 over the skin and knows it to 0.02; T2 0.2 over what T1 cut, and knows it to 0.4."""
    text = over_a_face(-0.8).replace("G0 Z50.\n", "G0 Z50.\nY10.\nZ0.1\nX110.\nZ50.\n", 1)
    proof = proving(text, job=two_tools(0.01, 0.2))
    finding, = in_doubt(proof)
    told = [(row["tool"], row["least_mm"], row["line"]) for row in rows_of(proof) if row["bodies"] == ["cutter", "blank"]]
    assert (2, pytest.approx(finding.value), finding.line) in told
    assert len(told) == len({tool for tool, _, _ in told})


@pytest.mark.parametrize(("one", "other", "told"), [(0.2, 0.01, []), (0.01, 0.2, [2])])
def test_against_the_holding_only_the_tool_that_passes_counts(
    proving: Proving, one: float, other: float, told: list[int]
) -> None:
    """T2 passes 0.15 over the fixed jaw, T1 nowhere near."""
    moves = "G0 X-10. Y60. Z20.\nZ50.\nT2 M6\nG0 G43 H2 X-10. Y60. Z50. S5000 M3\nZ-9.85\nX110."
    proof = proving(moves, job=two_tools(one, other))
    assert [finding.tool for finding in in_doubt(proof, "fixed jaw")] == told
    row = min((row for row in rows_of(proof) if row["bodies"] == ["cutter", "fixed jaw"]), key=lambda row: row["least_mm"])
    assert (row["tool"], row["plus_minus_mm"]) == (2, pytest.approx(2.0 * other, abs=1e-9))


def test_random_pairs_of_tools_are_warned_of_exactly_when_the_gap_is_smaller(proving: Proving) -> None:
    random, wrong = np.random.default_rng(20261129), []
    for _ in range(12):
        one, other, by = *random.uniform(0.01, 0.2, 2).round(3).tolist(), int(random.integers(1, 3))
        known = 2.0 * math.hypot(one, other) if by == 2 else 0.0
        gap = round(float(random.uniform(0.02, 0.6)), 3)
        if abs(gap - known) < 1e-3:
            continue
        if bool(in_doubt(proving(over_a_face(gap - 1.0, by), job=two_tools(one, other)))) != (gap < known):
            wrong.append((one, other, by, gap))
    assert not wrong


RAW_TOP = '[[setup.face]]\nname = "raw top"\nflat = { facing = "+Z", at = [50, 25, 0], size = [100, 50] }\nmade = false\n'
RAW_LEFT = '[[setup.face]]\nname = "sawn end"\nflat = { facing = "-X", at = [0, 25, -10], size = [50, 20] }\nmade = false\n'
OVER, LEFT, RIGHT = "G0 X-10. Y25.\nZ0.3\nX110.", "G0 X-5.3 Y-20.\nZ-5.\nY70.", "G0 X105.3 Y-20.\nZ-5.\nY70."


@pytest.mark.parametrize(("datum", "moves", "told"), [
    ('z = { face = "top" }', OVER, False), ('z = { face = "raw top" }', OVER, False),
    ('z = { face = "bottom", is = -20 }', OVER, True), ('z = { face = "parallels", is = -20 }', OVER, True),
    ('x = "left"', LEFT, False), ('x = "left"', RIGHT, True), ('x = "right"', LEFT, True), ('x = "right"', RIGHT, False),
    ('x = "sawn end"', LEFT, False), ('x = "sawn end"', RIGHT, True), ('x = "a bore"', LEFT, True),
])  # fmt: skip
def test_a_side_that_zero_is_taken_from_lies_where_it_was_touched(proving: Proving, datum: str, moves: str, told: bool) -> None:
    """The passes are 0.3 away, the blank varies 0.5 along each axis."""
    bore = '[[setup.face]]\nname = "a bore"\nbore = { centre = [50, 25], diameter = 8, from = 0, to = -20 }\nmade = false\n'
    zero = ZERO.replace('x = "left"' if datum[0] == "x" else 'z = { face = "top" }', datum)
    job = varying(0.5, 0.5, 0.5, zero=zero) + RAW_TOP + RAW_LEFT + bore
    found = in_doubt(proving(moves, job=job))
    assert [finding.value for finding in found] == ([pytest.approx(0.3, abs=1e-6)] if told else [])


def test_zero_in_the_middle_of_two_sides_leaves_half_at_each(proving: Proving) -> None:
    for varies, told in ((0.5, 0), (0.7, 1)):
        job = varying(varies, 0.0, 0.0, zero=ZERO.replace('x = "left"', 'x = "left and right"'))
        assert [len(in_doubt(proving(moves, job=job))) for moves in (LEFT, RIGHT)] == [told, told]


def test_the_jaw_that_holds_the_side_zero_is_taken_from_does_not_vary(proving: Proving) -> None:
    """0.3 over nothing, 0.3 before the fixed jaw's end: zero is at the back, which sits against it; or in front."""
    beside = "G0 X50. Y35.\nZ-15."
    for datum, told in (("back", 0), ("front", 1)):
        job = varying(0.0, 0.5, 0.0, zero=ZERO.replace('y = "front"', f'y = "{datum}"'))
        job = job.replace("box = [100, 50, 20]", "box = [40, 50, 20]")
        found = in_doubt(proving(beside.replace("Y35.", "Y44.7").replace("X50.", "X90."), job=job), "fixed jaw")
        assert len(found) == told
