"""Readings that agree with each other and not with what the kit says: a number they put grossly wrong is not typed."""

from __future__ import annotations

from datetime import date

import pytest

from setwright.base.errors import InputRefused
from setwright.model.finding import Signal
from setwright.touch.station import Wanted, touch
from tests.touch.test_touch_guard import JAW, NAN, dangers, found_in, lefts, value
from tests.touch.test_touch_station import bore_contacts, face_contact, top_contact
from tests.touch.workshop import contact, kit_of, machine_of, readings

FACES = {"x": "left", "y": "fixed jaw"}
LONG, SHORT = 131.482, 118.25
"""Lengths that stick-out and holder of the two mills make, mm."""
TABLE_Z, SETTER = -600.0, 50.0


def on_setter(tool, length):
    return {"tool": tool, "with": "setter", "display": {"z": TABLE_Z + SETTER + length}}


def both(*contacts, kit, long=LONG, short=SHORT):
    """Solved with the length readings of the two tools."""
    return touch(kit, readings(*contacts, lengths=(on_setter(1, long), on_setter(2, short))), wanted=Wanted.AS_FAR)


def length(result, tool):
    return result.as_plain()["tool_lengths"][str(tool)]["value"]


def test_another_tool_under_z_than_written_gives_no_z(tmp_path):
    kit = kit_of(tmp_path, **FACES, preset1="")
    right = both(*lefts(0.0, 0.0), *JAW, top_contact(LONG), kit=kit)
    assert value(right, "z") == pytest.approx(-477.0, abs=2e-3)
    assert not dangers(right)
    wrong = both(*lefts(0.0, 0.0), *JAW, top_contact(SHORT), kit=kit)  # tool 2 hung there, tool 1 is written
    assert value(wrong, "z") is None
    assert value(wrong, "x") == pytest.approx(-300.0, abs=1e-3)
    assert wrong.g10() == ""
    (said,) = dangers(wrong)
    assert said.text.startswith("there is no Z: contact 6: written as made with tool 1, but tool 2 was in the spindle")
    assert not any(f.slug == "slip-suspected" for f in wrong.findings)


@pytest.mark.parametrize(("lengths", "lost"), [("tip on datum", ["length 1", "length 2"]), ("reference tool", ["Z"])])
def test_the_setter_forgotten_under_every_tool_is_told_and_nothing_typed_from_it(tmp_path, lengths, lost):
    kit = kit_of(tmp_path, **FACES, lengths=lengths, preset1="", preset2="")
    right = found_in(kit, *lefts(0.0, 0.0), *JAW, top_contact(LONG), top_contact(SHORT, tool=2))
    assert not dangers(right)
    assert any(lost[0] in line for line in right.keystrokes())
    wrong = found_in(kit, *lefts(0.0, 0.0), *JAW, top_contact(LONG, 0.0), top_contact(SHORT, 0.0, tool=2))
    (said,) = dangers(wrong)
    flat = "contacts 6 and 7: the setter is written under every tool, but the tip stood on the face itself"
    assert said.text == f"there is no {', '.join(lost)}: {flat}"
    assert not any(lost[0] in line for line in wrong.keystrokes())
    assert wrong.g10() == ""


def test_a_length_reading_ten_millimetres_wrong_accuses_no_contact(tmp_path):
    kit = kit_of(tmp_path, **FACES, preset1="")
    result = both(*lefts(0.0, 0.0), *JAW, top_contact(LONG), kit=kit, long=LONG + 10.0)
    assert (value(result, "z"), length(result, 1)) == (None, None)
    assert length(result, 2) == pytest.approx(SHORT, abs=2e-3)
    said = next(f for f in dangers(result) if f.slug == "readings-contradict")
    assert said.text.startswith("there is no Z, length 1: length reading 1 (tool 1 on tool setter) does not agree")


def test_tools_in_each_others_pockets_are_one_finding(tmp_path):
    kit = kit_of(tmp_path, **FACES, preset1="")
    result = both(*lefts(0.0, 0.0), *JAW, top_contact(SHORT), kit=kit, long=SHORT, short=LONG)
    told = [f for f in result.findings if f.signal in (Signal.WARNING, Signal.DANGER)]
    assert [f.slug for f in told] == ["tool-unlike-kit"]
    assert told[0].text.startswith("tools 1 and 2, 13.232 mm apart, measure each other's length")
    assert value(result, "z") == pytest.approx(-477.0, abs=2e-3)  # they were measured as they hang


def test_a_tool_pulled_out_is_told_once_and_keeps_its_measured_length(tmp_path):
    kit = kit_of(tmp_path, **FACES, preset1="")
    result = both(*lefts(0.0, 0.0), *JAW, top_contact(LONG), kit=kit, short=SHORT + 9.0)
    told = [f.slug for f in result.findings if f.signal is Signal.WARNING]
    assert told == ["tool-unlike-kit"]
    assert length(result, 2) == pytest.approx(SHORT + 9.0, abs=2e-3)


def test_a_wall_met_from_the_wrong_side_is_not_taken(tmp_path):
    kit = kit_of(tmp_path)
    free = 15.0 - 5.0  # the bore's radius less the tip's
    right = bore_contacts()
    wrong = [dict(one) for one in right]
    centre = machine_of((-300.0, -215.0, -477.0, 0.0), (0.0, 0.0, 0.0))
    assert right[1]["toward"] == "-X"
    wrong[1] = contact("bore A", "-X", (centre[0] + free, centre[1], NAN))  # the right wall again
    result = found_in(kit, *wrong, *JAW, top_contact(LONG))
    (said,) = (f for f in dangers(result) if f.slug == "contact-disagrees")
    assert "contact 2 (bore A -X) is off by 20.000 mm: it shows X -290.000 mm, and the others give X -310.000 mm" in said.text
    assert value(result, "x") == pytest.approx(-300.0, abs=0.01)


def test_one_spot_touched_twice_half_a_millimetre_apart_exchanges_no_axes(tmp_path):
    kit = kit_of(tmp_path, x="left", y="back", angle="back")
    back = [contact("back", "-Y", (-340.0, -215.0 + 42.0 + 5.0 + off, NAN)) for off in (0.0, 0.5)]
    result = found_in(kit, *lefts(0.0), *back, top_contact(LONG))
    (said,) = (f for f in dangers(result) if f.slug == "readings-contradict")
    assert said.text.startswith("contact 2 (back -Y) and contact 3 contradict each other by 0.500 mm")
    assert value(result, "x") == pytest.approx(-300.0, abs=0.1)
    assert value(result, "y") is None


def test_what_may_as_well_be_the_matter_is_told_with_it(tmp_path):
    kit = kit_of(tmp_path, **FACES)
    far = [face_contact("left", "+X", (-62 + 40.0, 0.0, NAN))]
    result = found_in(kit, *far, *JAW, top_contact(LONG))
    (said,) = (f for f in result.findings if f.slug == "slip-suspected")
    assert "the holding does not stand where the job says along X" in said.text
    assert "; or contact 1 (left +X) does not agree with the others" in said.text
    assert "correct the place in the job" in said.remedy
    assert "make this contact again" in said.remedy


def test_a_tool_nobody_measured_is_told(tmp_path):
    kit = kit_of(tmp_path, **FACES, preset2="")
    (said,) = (f for f in found_in(kit, *lefts(0.0), *JAW, top_contact(LONG)).findings if f.slug == "tool-not-measured")
    assert said.text == "tool 2 has no length: nobody measured it, and its register holds what was there before"
    both_known = both(*lefts(0.0), *JAW, top_contact(LONG), kit=kit)
    assert not any(f.slug == "tool-not-measured" for f in both_known.findings)


def test_length_readings_are_called_so_everywhere(tmp_path):
    kit = kit_of(tmp_path, **FACES, preset1="")
    lengths = [on_setter(1, LONG), on_setter(1, LONG), on_setter(1, LONG + 2.0), on_setter(2, SHORT)]
    result = touch(kit, readings(*lefts(0.0), *JAW, top_contact(LONG), lengths=tuple(lengths)), wanted=Wanted.AS_FAR)
    said = next(f for f in dangers(result) if f.slug == "contact-disagrees")
    assert said.text.startswith("length reading 3 (tool 1 on tool setter) is off by 2.000 mm")
    assert "contact 8" not in " ".join(one["text"] for one in result.as_plain()["slips"])


def test_a_finder_of_unknown_length_under_z_is_called_by_its_name(tmp_path):
    kit = kit_of(tmp_path, **FACES, preset1="", preset2="")
    result = found_in(kit, *lefts(0.0), *JAW, contact("top", "-Z", (NAN, NAN, -400.0)))
    (said,) = (f for f in dangers(result) if f.slug == "axis-not-found")
    assert said.text.startswith("Z is open: the length of the finder is not known")


@pytest.mark.parametrize(("times", "refused"), [
    (("2026-03-01T23:57:00", "2026-03-02T00:02:00"), False), (("2026-03-01T23:57:00", "2026-03-02T07:00:00"), True),
    (("2026-03-01T06:10:00", "2026-03-01T19:30:00"), True), (("2026-03-01T23:57:00", date(2026, 3, 2)), True),
    (("2026-03-02T00:02:00", date(2026, 3, 2)), False),
])  # fmt: skip
def test_a_touch_off_past_midnight_is_one_and_a_night_between_is_not(tmp_path, times, refused):
    kit = kit_of(tmp_path, **FACES)
    contacts = [*lefts(0.0, 0.0), *JAW, top_contact(LONG)]
    contacts[0], contacts[1] = (one | {"when": when} for one, when in zip(contacts[:2], times, strict=True))
    if refused:
        with pytest.raises(InputRefused, match="are mixed"):
            found_in(kit, *contacts)
    else:
        assert value(found_in(kit, *contacts), "x") == pytest.approx(-300.0, abs=1e-3)


def round_about(x, y, free, *, on="bore A"):
    """Four contacts of a bore whose centre stands at `x`, `y`; `free`: from its centre to the tip's axis, mm."""
    ways = (("+X", x + free, y), ("-X", x - free, y), ("+Y", x, y + free), ("-Y", x, y - free))
    return [contact(on, way, (*at, NAN)) for way, *at in ways]


def test_the_bore_beside_the_one_that_is_written_gives_no_x_and_y(tmp_path):
    kit = kit_of(tmp_path)  # bore A, 30 mm wide, is the zero; bore B, 12 mm, lies 40 mm to the right; the tip has 10 mm
    right = found_in(kit, *round_about(-300.0, -215.0, 10.0), *JAW, top_contact(LONG))
    assert (value(right, "x"), value(right, "y")) == (pytest.approx(-300.0, abs=1e-3), pytest.approx(-215.0, abs=1e-3))
    swept = contact("bore A", "sweep", (-260.0, -215.0, NAN), instrument="coaxial indicator")
    for made, lost in ((round_about(-260.0, -215.0, 1.0), "X, Y"), ([swept], "X")):
        beside = found_in(kit, *made, *JAW, top_contact(LONG))
        numbers = ", ".join(str(i + 1) for i in range(len(made)))
        said = f"there is no {lost}: contact {numbers}: written as bore A, but made on bore B"
        assert any(said in one.text for one in dangers(beside))
        assert (value(beside, "x"), beside.g10()) == (None, "")
        assert value(beside, "z") == pytest.approx(-477.0, abs=2e-3)


def test_readings_of_two_faces_written_the_wrong_way_round_give_no_number(tmp_path):
    kit = kit_of(tmp_path, **FACES)
    x, y = -300.0 - 62.0 - 5.0, -215.0 + 42.0 - 5.0  # one touch of each face, only the axis that moved
    left, jaw = (contact("left", "+X", (x, NAN, NAN)), contact("fixed jaw", "+Y", (NAN, y, NAN)))
    right = found_in(kit, left, jaw, top_contact(LONG))
    assert value(right, "x") == pytest.approx(-300.0, abs=1e-3)
    assert not dangers(right)
    crossed = found_in(kit, contact("left", "+X", (y, NAN, NAN)), contact("fixed jaw", "+Y", (NAN, x, NAN)), top_contact(LONG))
    assert any("X and Y are exchanged in the readings" in f.text for f in dangers(crossed))
    assert (value(crossed, "x"), value(crossed, "y"), crossed.g10()) == (None, None, "")


def test_one_contact_with_x_and_y_exchanged_is_told_so(tmp_path):
    kit = kit_of(tmp_path, **FACES)
    three = [contact("left", "+X", (-367.0, -215.0 + at, NAN)) for at in (-30.0, 30.0)]
    result = found_in(kit, *three, contact("left", "+X", (-215.0, -367.0, NAN)), *JAW, top_contact(LONG))
    (odd,) = (one for one in result.outliers if one.reading == 2)
    assert odd.slug == "axes-exchanged"
    assert "it shows X -215.000 mm, and the others give X -367" in odd.text()
    assert odd.text().endswith("X and Y are exchanged")


@pytest.mark.parametrize(("habit", "lost"), [("from gauge line", "Z, length 1, length 2"), ("tip on datum", "length 2")])
def test_length_readings_written_the_wrong_way_round_give_no_length(tmp_path, habit, lost):
    kit = kit_of(tmp_path, **FACES, preset1="", lengths=habit)
    touched = (*lefts(0.0, 0.0), *JAW, top_contact(LONG))  # tool 1 itself came down on the top
    crossed = both(*touched, kit=kit, long=SHORT, short=LONG)
    (said,) = (one for one in dangers(crossed) if one.slug == "readings-contradict")
    assert said.text == f"there is no {lost}: the length readings of tools 1 and 2 are written the wrong way round"
    assert (length(crossed, 2), crossed.g10()) == (None, "")
    assert not any("not in the list" in one.text for one in crossed.findings)
    hung = both(*lefts(0.0, 0.0), *JAW, top_contact(SHORT), kit=kit, long=SHORT, short=LONG)  # each hangs in the other's pocket
    zero = 0.0 if habit == "from gauge line" else -477.0
    assert [length(hung, tool) for tool in (1, 2)] == [pytest.approx(zero + one, abs=3e-3) for one in (SHORT, LONG)]
    assert not dangers(hung)
