"""What if: every form is taken for what it says, and what cannot be taken for anything is refused with what to write."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.hover.course import course_of
from setwright.hover.outcome import Outcome
from setwright.hover.whatif import FORMS, combined, parse_if, what_if
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.slips.case import SlipCase
from setwright.slips.world import World, as_set
from tests.hover.by_hand import DEMOS


@cache
def case(name: str = "bearing-cap") -> SlipCase:
    folder = load_job(DEMOS / name)
    together = kit(folder, folder.job.setup[0])
    return course_of(as_set(together, nominal_truth(together))).case


def after(text: str, name: str = "bearing-cap") -> World:
    return parse_if(text, case(name)).change(case(name).world)


def refusal(text: str) -> str:
    with pytest.raises(InputRefused) as refused:
        parse_if(text, case())
    return str(refused.value)


@pytest.mark.parametrize("text", [form for form in FORMS if "NAME" not in form])
def test_every_form_given_as_an_example_is_taken(text: str) -> None:
    assert parse_if(text, case()).words


def test_tool_and_register_are_told_apart() -> None:
    tool, register = after("T3 length +0.5 mm"), after("length 3 +0.5 mm")
    assert tool.truth.lengths[3] == pytest.approx(142.02)
    assert tool.registers.lengths[3] == pytest.approx(141.52)
    assert register.truth.lengths[3] == pytest.approx(141.52)
    assert register.registers.lengths[3] == pytest.approx(142.02)
    assert after("H3 +0.5").registers.lengths[3] == register.registers.lengths[3]


@pytest.mark.parametrize(("one", "other"), [("G54 X -10 mm", "G54 X +10 mm"), ("G54 X -10", "g54 x = 5"), ("H3 +1", "length 3 150"),
                                            ("T3 radius +1", "T3 diameter 20"),
                                            ("block delete on", "block delete off")])  # fmt: skip
def test_two_that_say_one_number_differently_are_refused(one: str, other: str) -> None:
    with pytest.raises(InputRefused, match="are about the same number"):
        combined([parse_if(one, case()), parse_if(other, case())])
    combined([parse_if(one, case()), parse_if("G54 Y -10 mm", case())])


@pytest.mark.parametrize(("text", "words"), [("T3 radius -50 mm", "makes T3 a tool of radius -33.990 mm"),
                                             ("T3 length 0", "makes T3 a tool of length 0.000 mm"),
                                             ("T2 and T2 exchanged", "cannot be exchanged with itself")])  # fmt: skip
def test_what_no_tool_can_be_is_refused_in_its_own_words(text: str, words: str) -> None:
    assert words in refusal(text)


def test_sign_makes_a_change_and_its_absence_a_value() -> None:
    good = case().world.registers.offsets["G54"].x
    assert after("G54 X -10 mm").registers.offsets["G54"].x == pytest.approx(good - 10.0)
    assert after("G54 X = -300 mm").registers.offsets["G54"].x == pytest.approx(-300.0)
    assert after("G54 X by -10 mm").registers.offsets["G54"].x == pytest.approx(good - 10.0)
    assert after("D2 8").registers.radii[2] == pytest.approx(8.0)
    assert after("T2 diameter -0.2 mm").truth.radii[2] == pytest.approx(7.895)


def test_units_are_those_written_else_those_of_the_job() -> None:
    good = case("pintle").world.registers.offsets["G54"].x
    assert after("G54 X +0.1", "pintle").registers.offsets["G54"].x == pytest.approx(good + 2.54)
    assert after("G54 X +1 mm", "pintle").registers.offsets["G54"].x == pytest.approx(good + 1.0)


def test_part_holding_and_blank() -> None:
    good = case().world.truth.machine_from_work
    assert after("blank 1 mm higher").truth.machine_from_work.shift - good.shift == pytest.approx([0.0, 0.0, 1.0])
    assert after("vise 2 mm left").truth.machine_from_work.shift - good.shift == pytest.approx([-2.0, 0.0, 0.0])
    assert after("part turned 0.2 deg").truth.machine_from_work.rotation[1, 0] == pytest.approx(np.sin(np.radians(0.2)))
    body = after("blank 2 mm taller").kit.blank
    assert body is not None
    assert body.bounds()[1][2] == pytest.approx(3.0)
    assert after("parallels 14 mm").truth.machine_from_work.shift - good.shift == pytest.approx([0.0, 0.0, -8.0])


def test_control_and_program() -> None:
    assert after("external Z +10 mm").registers.external == pytest.approx((0.0, 0.0, 10.0))
    assert after("shift X 50 mm").held.registers.external == pytest.approx((50.0, 0.0, 0.0))
    assert after("rotation 90 deg").held.registers.offsets["G54"].rotation == pytest.approx(np.pi / 2)
    assert after("block delete on").skip_levels == {1}
    assert list(after("program cap-2.nc").sources) == ["cap-2.nc"]
    swapped = after("T2 and T3 exchanged")
    assert (swapped.truth.lengths[2], swapped.truth.lengths[3]) == pytest.approx((141.52, 131.482))


def test_several_at_once() -> None:
    both = combined([parse_if("G54 X -10 mm", case()), parse_if("H2 +1", case())])(case().world)
    assert both.registers.offsets["G54"].x == pytest.approx(case().world.registers.offsets["G54"].x - 10.0)
    assert both.registers.lengths[2] == pytest.approx(132.482)


def test_what_cannot_be_taken_is_refused_with_the_nearest() -> None:
    assert "T1, T2, T3, T4, T5" in refusal("T9 length +1 mm")
    assert "did you mean G54?" in refusal("G56 X 1 mm")
    assert "did you mean cap-2.nc?" in refusal("program cap-3.nc")
    assert "“blank 1 mm higher”" in refusal("blnk 1 mm higher")
    assert "foo" in refusal("blank 1 foo higher")
    assert "1, 2, 3, 4, 5" in refusal("length 9 +1 mm")
    assert refusal("")


def test_contact_stage_finds_what_of_the_holding_is_hit() -> None:
    world = case().world
    low = what_if(world, [parse_if("G54 Z -20 mm", case())])
    assert (low.outcome, low.body, low.line) == (Outcome.CRASH, "fixed jaw", 23)
    assert what_if(world, [parse_if("G54 Z +1 mm", case())]).outcome is Outcome.UNDECIDED
