"""Seeded mistakes are named first; an honest touch-off is not accused."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from setwright.touch.conditions import Conditions
from setwright.touch.hypotheses import of_registers
from setwright.touch.setting import prepare
from setwright.touch.slips import Hovered
from setwright.touch.solution import solve
from setwright.touch.station import Wanted, touch
from tests.demo import bundled
from tests.touch.simulate import FACES, SCHEMES, TIP_RADIUS, world_of
from tests.touch.slipped import BOTH_SIDES, DATUM, DATUM_BOTH, READINGS, REGISTERS, honest, kit_of, kit_with, readings, two_sided


@pytest.fixture(scope="module")
def kit(tmp_path_factory):
    return kit_of(tmp_path_factory.mktemp("job"), **DATUM)


def first_named(result):
    kinds: Counter[str] = Counter()
    for suspected in result.diagnosis.ranked:
        kinds[suspected.slug] += suspected.probability
    return kinds.most_common(1)[0][0] if result.diagnosis.none < 0.5 else "none"


def typed_right(kit, case):
    return {entry.name: entry.rounded for entry in touch(kit, readings(*case.contacts, lengths=case.lengths)).entries}


@pytest.mark.parametrize("seed", range(6))
def test_honest_touch_off_is_not_accused(kit, seed):
    case = honest(seed)
    result = touch(kit_with(kit, typed_right(kit, case)), readings(*case.contacts, lengths=case.lengths))
    assert first_named(result) == "none"
    assert not result.read_back
    assert not any(finding.slug == "slip-suspected" for finding in result.findings)


@pytest.mark.parametrize("slug", REGISTERS)
def test_slip_in_a_register_is_named(kit, slug):
    case = honest(100)
    typed = typed_right(kit, case)
    REGISTERS[slug](typed, np.random.default_rng(3))
    result = touch(kit_with(kit, typed), readings(*case.contacts, lengths=case.lengths))
    assert first_named(result) == slug
    assert any(finding.slug == "register-differs" for finding in result.findings)


@pytest.mark.parametrize("slug", sorted(set(READINGS) - {"radius-in-readings"}))
def test_slip_in_the_readings_is_named(kit, slug):
    case = honest(200)
    READINGS[slug](case, np.random.default_rng(4))
    result = touch(kit, readings(*case.contacts, lengths=case.lengths))
    assert first_named(result) == slug
    tell = ("slip-suspected", "contact-disagrees", "readings-contradict")
    assert any(finding.slug in tell and finding.remedy for finding in result.findings)


@pytest.mark.parametrize("slug", BOTH_SIDES)
def test_slip_in_the_readings_of_both_sides_is_named(tmp_path, slug):
    kit, case = kit_of(tmp_path, **DATUM_BOTH), two_sided(3)
    BOTH_SIDES[slug](case, np.random.default_rng(4))
    assert first_named(touch(kit, readings(*case.contacts, lengths=case.lengths))) == slug


def test_a_shift_left_in_explains_a_hover_that_the_registers_do_not(kit):
    case = honest(8)
    held = kit_with(kit, typed_right(kit, case))
    result = touch(held, readings(*case.contacts, lengths=case.lengths), hovered=(Hovered(x=31.3, y=-12.8, station=1),))
    assert first_named(result) == "shift-left"


def test_words_name_register_size_and_side(kit):
    case = honest(5)
    typed = typed_right(kit, case)
    typed["G54 X"] -= 10.0
    words = touch(kit_with(kit, typed), readings(*case.contacts)).diagnosis.ranked[0].words
    assert words == ("the X register is 10.000 too far -X: one finder diameter, 10.000: the radius was taken on the wrong side")


@pytest.mark.parametrize(("seen", "slug"), [((-5.0, 0.0, 0.0), "radius-not-applied"), ((0.0, 0.0, 50.0), "height-not-applied"),
                                            ((0.1, -0.1, 0.0), "none")])  # fmt: skip
def test_hover_explains_itself_without_reading_the_registers(kit, seen, slug):
    case = honest(7)
    x, y, z = seen
    result = touch(kit, readings(*case.contacts), hovered=(Hovered(x=x, y=y, z=z, resolution=0.25, station=1),))
    assert first_named(result) == slug


def test_probabilities_are_probabilities(kit):
    case = honest(9)
    diagnosis = touch(kit, readings(*case.contacts)).diagnosis
    assert 0.0 <= diagnosis.none <= 1.0
    assert sum(s.probability for s in diagnosis.ranked) + diagnosis.none <= 1.0 + 1e-12


def test_a_height_touched_with_another_tool_is_told_as_that(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw", preset2="length = 109.0, radius = 6.0")
    for seed in range(10):
        case = honest(seed)
        for i in (6, 7, 8):
            case.contacts[i]["display"]["z"] += 109.0 - 131.482  # tool 2 was in the spindle
        first = touch(kit, readings(*case.contacts)).diagnosis.ranked[0]
        assert first.slug == "tool-not-as-written"
        assert "tool 2 was in the spindle" in first.words


def test_a_setter_that_was_not_under_the_tool_is_told_as_that(kit):
    for seed in range(10):
        case = honest(seed)
        for i in (6, 7, 8):
            case.contacts[i]["display"]["z"] -= 50.0
        first = touch(kit, readings(*case.contacts, lengths=case.lengths)).diagnosis.ranked[0]
        assert first.slug == "setter-left-out"
        paper = [c | {"with": "paper"} if c["toward"] == "-Z" else c for c in honest(seed).contacts]
        other = touch(kit, readings(*paper, lengths=case.lengths)).diagnosis.ranked[0]
        assert other.slug == "setter-left-out"
        assert "the setter stood under tool 1, and paper is written" in other.words


@pytest.mark.parametrize(("z", "slug", "words"), [
    (-14.2755, "tool-not-as-written", "written as made with tool 1, but tool 2 was in the spindle"),
    (-17.7720, "setter-left-out", "the height setter 2.0000 is written under tool 1, but the tip stood on the face itself"),
    (-17.5720, "digits-exchanged", "two digits are exchanged"),
])  # fmt: skip
def test_one_height_of_five_is_told_by_what_was_done_to_it(z, slug, words):
    kit = bundled.kit_of("pintle", "top")
    contacts, read = list(kit.folder.job.readings.contact), kit.folder.job.readings
    contacts[3] = contacts[3].model_copy(update={"display": contacts[3].display.model_copy(update={"z": 25.4 * z})})
    whole = read.model_copy(update={"contact": tuple(contacts)})
    (one,) = touch(kit, whole, wanted=Wanted.AS_FAR, units="in").outliers
    assert (one.reading, one.slug) == (3, slug)
    assert one.text("in").endswith(words)


def test_a_radius_slip_is_named_though_the_opposite_face_was_touched_too(kit):
    case = honest(6)
    case.contacts.append(case.world.touch("right", "-X", (62, 0)))
    typed = typed_right(kit, case)
    typed["G54 X"] -= 5.0
    result = touch(kit_with(kit, typed), readings(*case.contacts, lengths=case.lengths))
    assert first_named(result) == "radius-not-applied"


def test_an_inch_job_is_diagnosed_in_inches(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw", preset2="length = 118.25, radius = 6.0")
    case = honest(9)
    inch = replace(kit, folder=replace(kit.folder, job=kit.folder.job.model_copy(update={"units": "in"})))
    right = {entry.name: entry for entry in touch(inch, readings(*case.contacts), units="inch").entries}
    shown = right["G54 Y"].text("inch")
    letters = list(shown)
    at = next(i for i in range(1, len(shown) - 2) if shown[i].isdigit() and shown[i + 1].isdigit() and shown[i] != shown[i + 1])
    letters[at], letters[at + 1] = letters[at + 1], letters[at]
    typed = {name: entry.rounded for name, entry in right.items()} | {"G54 Y": 25.4 * float("".join(letters))}
    first = touch(kit_with(inch, typed), readings(*case.contacts), units="inch").diagnosis.ranked[0]
    assert first.slug == "digits-exchanged"
    assert first.words == f"G54 Y holds {''.join(letters)} for {shown}: two digits are exchanged"
    assert first.remedy.startswith(f"type Y = {shown} into G54")
    setting = prepare(inch, readings(*case.contacts), Conditions())
    solution = solve(setting.rows, setting.basis.unknowns)
    steps = {round(abs(h.registers["G54 X"]) / 25.4, 9) for h in of_registers(setting, solution, tuple(right.values()))
             if h.slug == "handwheel-zero-lost" and "G54 X" in h.registers}  # fmt: skip
    assert steps == {0.001, 0.01, 0.1}


def without_radius(contacts, only=None):
    """The contacts of upright faces as somebody writes them down who took the tip's radius off already; `only`: on these faces."""
    made = []
    for one in contacts:
        if one["toward"] in ("+X", "-X", "+Y", "-Y") and (only is None or one["on"] in only):
            axis, sign = one["toward"][1].lower(), 1.0 if one["toward"][0] == "+" else -1.0
            display = one["display"] | {axis: one["display"][axis] + sign * TIP_RADIUS[one["with"]]}
            one = one | {"display": display}
        made.append(one)
    return made


WITH_A_SIZE = ("bore by four contacts", "boss by four contacts", "middle of a slot", "middle of two faces",
               "bore over part of its wall", "two bores", "bore and face of the last setup")  # fmt: skip


@pytest.mark.parametrize("scheme", WITH_A_SIZE)
@pytest.mark.parametrize("which", ["all readings", "what has a size"])
def test_the_radius_taken_off_beforehand_accuses_no_contact(tmp_path, scheme, which):
    kit = kit_of(tmp_path, faces=FACES, **SCHEMES[scheme][1])
    for seed in range(4):
        world = world_of(scheme, [7, seed], digit=0.001)
        contacts = SCHEMES[scheme][0](world)
        only = None if which == "all readings" else {one["on"] for one in contacts} - {"fixed jaw", "back"}
        result = touch(kit, readings(*without_radius(contacts, only)), wanted=Wanted.AS_FAR)
        assert result.diagnosis.ranked[0].slug == "radius-in-readings"
        assert "so it counts twice" in result.diagnosis.ranked[0].words
        assert result.outliers == ()
        offset = result.as_plain()["offsets"]["G54"]
        assert (offset["x"]["value"], offset["y"]["value"], result.g10()) == (None, None, "")
        z = offset["z"]
        assert abs(z["value"] - world.place[2]) <= 2.0 * z["expanded_uncertainty"]  # the heights are as they were
        (said,) = (f for f in result.findings if f.slug == "readings-contradict")
        assert said.text.startswith("there is no ")
        assert said.remedy.startswith("enter what the display showed at the contact")


def test_a_bore_of_another_size_is_told_beside_the_radius(tmp_path):
    world = world_of("bore by four contacts", [7, 1], digit=0.001)
    contacts = without_radius(SCHEMES["bore by four contacts"][0](world))
    first = touch(kit_of(tmp_path), readings(*contacts), wanted=Wanted.AS_FAR).diagnosis.ranked[0]
    assert first.words.endswith("so it counts twice, or bore A is 10.000 mm larger than the job says")
    assert first.remedy == "enter what the display showed at the contact, or measure bore A"
