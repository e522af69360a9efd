"""The station: readings made from a known place give that place, in every convention, with sentences where they do not."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.model.finding import Signal
from setwright.touch.conditions import Conditions
from setwright.touch.station import Wanted, touch
from tests.touch.workshop import contact, kit_of, machine_of, readings

PLACE = (-300.0, -215.0, -477.0, 0.0)
NAN = math.nan


def bore_contacts(place=PLACE, *, radius=15.0, tip=5.0, on="bore A", centre=(0.0, 0.0)):
    away = radius - tip
    return [contact(on, toward, machine_of(place, (centre[0] + away * ux, centre[1] + away * uy, NAN)))
            for toward, ux, uy in (("+X", 1, 0), ("-X", -1, 0), ("+Y", 0, 1), ("-Y", 0, -1))]  # fmt: skip


def face_contact(on, toward, work, place=PLACE, *, tip=5.0, **more):
    axis, sign = "XY".index(toward[1]), 1 if toward[0] == "+" else -1
    work = list(work)
    work[axis] -= sign * tip
    return contact(on, toward, machine_of(place, work), **more)


def top_contact(length, height=50.0, *, place=PLACE, tool=1, **more):
    x, y, z = machine_of(place, (0.0, 0.0, 1.0))
    return contact("top", "-Z", (x, y, z + length + height), instrument="setter", tool=tool, **more)


def test_bore_centre_and_height_of_the_main_job(tmp_path):
    got = touch(kit_of(tmp_path), readings(*bore_contacts(), top_contact(131.482)))
    plain = got.as_plain()
    offset = plain["offsets"]["G54"]
    assert offset["x"]["value"] == pytest.approx(-300.0, abs=1e-6)
    assert offset["y"]["value"] == pytest.approx(-215.0, abs=1e-6)
    assert offset["z"]["value"] == pytest.approx(-477.0, abs=1e-4)
    assert 0.002 < offset["x"]["expanded_uncertainty"] < 0.01
    assert offset["x"]["k"] == pytest.approx(1.96, abs=0.05)
    assert got.determined["angle"].by == "kit"
    assert "nothing you touched fixes the angle: taken from the vise" in got.determined["angle"].text
    assert "type X = -300.000 into G54" in got.keystrokes()
    assert "G90 G10 L2 P1 X-300.000 Y-215.000 Z-477.000" in got.g10()
    json.dumps(plain, allow_nan=False)


@pytest.mark.parametrize("turned", [0.0, 0.0002, -0.0003])
def test_corner_by_jaw_and_stop_follows_the_turn(tmp_path, turned):
    place = (-300.0, -215.0, -477.0, turned)
    kit = kit_of(tmp_path, x="end stop", y="fixed jaw")
    contacts = [face_contact("left", "+X", (-62, -20, NAN), place), face_contact("fixed jaw", "+Y", (-55, 42, NAN), place),
                face_contact("fixed jaw", "+Y", (58, 42, NAN), place), top_contact(131.482, place=place)]  # fmt: skip
    got = touch(kit, readings(*contacts))
    assert got.angle.value == pytest.approx(turned, abs=3e-5)
    assert got.solution.value("x") == pytest.approx(-300.0, abs=0.003)
    assert got.solution.value("y") == pytest.approx(-215.0, abs=0.003)
    assert got.determined["angle"].by == "readings"


def test_middle_of_two_faces_leaves_the_width_open(tmp_path):
    kit = kit_of(tmp_path, x="left and right", y="fixed jaw")
    wide = 0.4  # the saw left the block 0.4 wider on each side
    contacts = [face_contact("left", "+X", (-62 - wide, 0, NAN)), face_contact("right", "-X", (62 + wide, 0, NAN)),
                face_contact("fixed jaw", "+Y", (0, 42, NAN)), top_contact(131.482)]  # fmt: skip
    got = touch(kit, readings(*contacts))
    assert got.solution.value("x") == pytest.approx(-300.0, abs=1e-6)
    assert got.solution.value("width x") == pytest.approx(2 * wide, abs=1e-3)


def test_a_sawn_face_that_is_not_the_datum_may_lie_where_it_will(tmp_path):
    out = 0.4  # within the 0.5 the saw leaves
    left = face_contact("left", "+X", (-62 - out, 0, NAN))
    got = touch(kit_of(tmp_path), readings(*bore_contacts(), left, top_contact(131.482)))
    assert got.solution.value("x") == pytest.approx(-300.0, abs=1e-4)
    assert got.solution.value("place of left") == pytest.approx(out, abs=1e-3)
    assert not got.outliers


def test_two_bores_give_the_angle(tmp_path):
    place = (-300.0, -215.0, -477.0, 0.0009)
    kit = kit_of(tmp_path, angle="bore A and bore B")
    contacts = [*bore_contacts(place), *bore_contacts(place, radius=6.0, on="bore B", centre=(40.0, 0.0)), top_contact(131.482)]
    got = touch(kit, readings(*contacts))
    assert got.angle.value == pytest.approx(0.0009, abs=6e-5)
    assert got.determined["angle"].by == "readings"
    assert got.angle.standard == pytest.approx(math.hypot(0.004, 0.00075, 0.002 / math.sqrt(3)) / 40.0, rel=0.15)
    assert any(finding.slug == "part-turned" for finding in got.findings)


def test_sweep_reads_the_centre_without_a_radius(tmp_path):
    swept = {"on": "bore A", "with": "coaxial indicator", "toward": "sweep", "display": {"x": -300.0, "y": -215.0}}
    got = touch(kit_of(tmp_path), readings(swept, top_contact(131.482)))
    assert (got.solution.value("x"), got.solution.value("y")) == (pytest.approx(-300.0, abs=1e-5), pytest.approx(-215.0, abs=1e-5))


def test_bore_with_only_the_moved_axis_written_down(tmp_path):
    """Touched 0.6 mm beside the middle in a bore of 30 with a tip of 10: each chord is 0.6²/20 = 0.018 short on both sides."""
    chord = math.sqrt(10.0**2 - 0.6**2)
    along_x = [contact("bore A", toward, (PLACE[0] + s * chord, NAN, NAN)) for toward, s in (("+X", 1), ("-X", -1))]
    along_y = [contact("bore A", toward, (NAN, PLACE[1] + s * chord, NAN)) for toward, s in (("+Y", 1), ("-Y", -1))]
    got = touch(kit_of(tmp_path), readings(*along_x, *along_y, top_contact(131.482)))
    assert (got.solution.value("x"), got.solution.value("y")) == (pytest.approx(-300.0, abs=1e-5), pytest.approx(-215.0, abs=1e-5))
    assert got.solution.value("radius of bore A") == pytest.approx(0.0, abs=0.02)
    assert got.solution.value("chord x of bore A") == pytest.approx(0.018, abs=0.03)
    assert not got.outliers


def test_half_a_step_is_taken_back(tmp_path):
    shifted = [face | {"last_step": 0.01} for face in bore_contacts()]
    for face in shifted:
        axis, sign = face["toward"][1].lower(), 1 if face["toward"][0] == "+" else -1
        face["display"] = face["display"] | {axis: face["display"][axis] + sign * 0.005}
    one = dict(shifted[0])
    got = touch(kit_of(tmp_path), readings(*shifted, top_contact(131.482)))
    assert got.solution.value("radius of bore A") == pytest.approx(0.0, abs=1e-6)
    assert one["display"]["x"] == pytest.approx(-289.995)
    stepped = {c.source: c.standard for c in got.solution.estimate({"x": 1.0}).contributions}
    assert stepped["last step of the handwheel"] == pytest.approx(0.01 / math.sqrt(12) / math.sqrt(2), rel=1e-3)


def test_three_heights_show_a_tilt(tmp_path):
    tilt = 0.0004
    heights = []
    for x, y in ((-55, -35), (55, -35), (0, 38)):
        px, py, pz = machine_of(PLACE, (x, y, 1.0))
        heights.append(contact("top", "-Z", (px, py, pz + 131.482 + 50 + tilt * y), instrument="setter", tool=1))
    got = touch(kit_of(tmp_path), readings(*bore_contacts(), *heights))
    assert got.solution.value("tilt about x") == pytest.approx(tilt, abs=6e-5)
    assert got.solution.value("tilt about y") == pytest.approx(0.0, abs=3e-5)
    assert got.determined["tilt about x"].by == "readings"


CONVENTIONS = {"from gauge line": (-477.0, 131.482, 118.0), "tip on datum": (0.0, -345.518, -359.0),
               "reference tool": (-345.518, 0.0, -13.482)}  # fmt: skip


@pytest.mark.parametrize("convention", CONVENTIONS)
def test_every_convention_of_lengths(tmp_path, convention):
    z, one, two = CONVENTIONS[convention]
    kit = kit_of(tmp_path, lengths=convention, preset2="length = 118.0, radius = 8.0")
    got = touch(kit, readings(*bore_contacts(), top_contact(131.482), top_contact(118.0, tool=2)))
    plain = got.as_plain()
    assert plain["offsets"]["G54"]["z"]["value"] == pytest.approx(z, abs=1e-3)
    assert plain["tool_lengths"]["1"]["value"] == pytest.approx(one, abs=1e-3)
    assert plain["tool_lengths"]["2"]["value"] == pytest.approx(two, abs=1e-3)
    assert not got.open_axes


@pytest.mark.parametrize("convention", ["tip on datum", "reference tool"])
def test_unknown_lengths_are_enough_where_only_sums_matter(tmp_path, convention):
    kit = kit_of(tmp_path, lengths=convention, preset1="")
    got = touch(kit, readings(*bore_contacts(), top_contact(131.482), top_contact(118.0, tool=2)))
    z, _, two = CONVENTIONS[convention]
    assert got.as_plain()["offsets"]["G54"]["z"]["value"] == pytest.approx(z, abs=1e-4)
    assert got.as_plain()["tool_lengths"]["2"]["value"] == pytest.approx(two, abs=1e-4)


def test_tool_setter_gives_lengths(tmp_path):
    setter = {"tool": 2, "with": "setter", "display": {"z": -600 + 50 + 118.25}}
    kit = kit_of(tmp_path)
    got = touch(kit, readings(*bore_contacts(), top_contact(131.482), lengths=(setter,)))
    assert got.as_plain()["tool_lengths"]["2"]["value"] == pytest.approx(118.25, abs=1e-3)
    assert got.truth().lengths[2] == pytest.approx(118.25, abs=1e-3)
    assert got.truth().machine_from_work.shift == pytest.approx([-300, -215, -477], abs=1e-3)


def test_half_a_step_of_the_tool_setter_is_taken_back(tmp_path):
    """The tip comes down in steps of 0.02 and stops 0.01 too low on average; the other error sources leave 0.02 mm at most."""
    setter = {"tool": 2, "with": "setter", "display": {"z": -600 + 50 + 118.25 - 0.01}, "last_step": 0.02}
    got = touch(kit_of(tmp_path), readings(*bore_contacts(), top_contact(131.482), lengths=(setter,)))
    assert got.as_plain()["tool_lengths"]["2"]["value"] == pytest.approx(118.25, abs=1e-3)


def test_a_tool_over_a_feeler_finds_a_face_by_its_own_radius(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw")
    by_tool = face_contact("left", "+X", (-62, 0, NAN), tip=8.0 + 0.1) | {"with": "feeler 0.10 mm", "tool": 1}
    jaw = [face_contact("fixed jaw", "+Y", (x, 42, NAN)) for x in (-50, 50)]
    got = touch(kit, readings(by_tool, *jaw, top_contact(131.482)))
    assert got.solution.value("x") == pytest.approx(-300.0 - 8.0 + 7.995, abs=1e-4)  # the preset radius counts, not the nominal one
    assert got.as_plain()["contributions"]["G54 X"][0]["source"] in ("radius of tool 1", "repeatability of feeler 0.10 mm")
    assert {line["source"] for line in got.as_plain()["contributions"]["G54 X"]} >= {"radius of tool 1", "height of feeler 0.10 mm"}


def test_wear_external_offset_and_diameter_registers(tmp_path):
    wear = {"1": {"length_wear": -0.05, "radius_wear": 0.02}}
    held = {"external": {"x": 1.0, "y": 2.0, "z": 3.0}, "tool": wear}
    kit = kit_of(tmp_path, radius="diameter", registers=held)
    plain = touch(kit, readings(*bore_contacts(), top_contact(131.482))).as_plain()
    assert plain["offsets"]["G54"]["x"]["value"] == pytest.approx(-301.0, abs=1e-6)
    assert plain["offsets"]["G54"]["y"]["value"] == pytest.approx(-217.0, abs=1e-6)
    assert plain["offsets"]["G54"]["z"]["value"] == pytest.approx(-480.0, abs=1e-4)
    assert plain["tool_lengths"]["1"]["value"] == pytest.approx(131.532, abs=1e-3)
    assert plain["tool_radii"]["1"]["value"] == pytest.approx(2 * 7.995 - 0.02)


def test_pallet_offsets_follow_the_turn(tmp_path):
    place = (-300.0, -215.0, -477.0, 0.0005)
    kit = kit_of(tmp_path, angle="bore A and bore B", setup="shifts = { G55 = [200, 0, 0] }")
    contacts = [*bore_contacts(place), *bore_contacts(place, radius=6.0, on="bore B", centre=(40.0, 0.0)), top_contact(131.482)]
    got = touch(kit, readings(*contacts))
    zero = [got.solution.value(axis) for axis in "xyz"]
    x, y, z = machine_of((*zero, got.angle.value), (200.0, 0.0, 0.0))
    second = got.as_plain()["offsets"]["G55"]
    assert [second[axis]["value"] for axis in "xyz"] == pytest.approx([x, y, z], abs=1e-9)
    assert second["y"]["expanded_uncertainty"] > 3 * got.as_plain()["offsets"]["G54"]["y"]["expanded_uncertainty"]


def test_inch_words(tmp_path):
    got = touch(kit_of(tmp_path), readings(*bore_contacts(), top_contact(131.482)), units="inch")
    assert "type X = -11.8110 into G54" in got.keystrokes("inch")
    assert got.as_plain("inch")["offsets"]["G54"]["x"]["value"] == pytest.approx(-300.0 / 25.4)
    assert got.g10("inch").splitlines()[1] == "G20"


REFUSED = [
    ("no contact", (), "no contact was read"),
    ("axis open", (face_contact("left", "+X", (-62, 0, NAN)), face_contact("right", "-X", (62, 0, NAN))),
     "nothing you touched fixes Y"),
    ("wrong way", (face_contact("left", "+X", (-62, 0, NAN)) | {"toward": "-X"},), '"left" is met moving +X'),
    ("no such face", (face_contact("lefft", "+X", (-62, 0, NAN)),), 'contact 1: there is no face "lefft" in'),
    ("no such finder", (face_contact("left", "+X", (-62, 0, NAN), instrument="findr"),), 'did you mean "finder"'),
    ("too fast", (face_contact("left", "+X", (-62, 0, NAN), speed="1500 rpm"),), "rated 1000 rpm"),
    ("turning probe", (face_contact("left", "+X", (-62, 0, NAN), instrument="probe", speed="50 rpm"),), "must stand still"),
    ("two days", (face_contact("left", "+X", (-62, 0, NAN), when="2026-03-01"),
                  face_contact("right", "-X", (62, 0, NAN), when="2026-03-02")),
     "contacts of 2026-03-01 and of 2026-03-02 are mixed"),
    ("two units", (face_contact("left", "+X", (-62, 0, NAN), units="mm"), face_contact("right", "-X", (62, 0, NAN), units="in")),
     "some contacts were read in mm and some in inches"),
    ("no tool", (contact("top", "-Z", (NAN, NAN, -200.0), instrument="setter"),), "write which tool touched"),
    ("side of a bore from above", (contact("bore A", "-Z", (NAN, NAN, -200.0), instrument="probe"),), "faces that look up"),
]  # fmt: skip


@pytest.mark.parametrize(("contacts", "said"), [case[1:] for case in REFUSED], ids=[case[0] for case in REFUSED])
def test_refusals_say_what_to_do(tmp_path, contacts, said):
    with pytest.raises(InputRefused) as caught:
        touch(kit_of(tmp_path, x="left"), readings(*contacts))
    assert said in str(caught.value)
    assert all(problem.remedy for problem in caught.value.problems)


def test_open_axes_are_null_while_readings_are_entered(tmp_path):
    got = touch(kit_of(tmp_path, x="left"), readings(face_contact("left", "+X", (-62, 0, NAN))), wanted=Wanted.AS_FAR)
    plain = got.as_plain()
    assert plain["offsets"]["G54"]["x"]["value"] == pytest.approx(-300.0, abs=1e-6)
    assert plain["offsets"]["G54"]["y"]["value"] is None
    assert got.open_axes == ("y", "z")
    assert got.g10() == ""
    assert [f.signal for f in got.findings if f.slug == "axis-not-found"] == [Signal.DANGER] * 2


def test_unknown_length_leaves_z_open_with_its_reason(tmp_path):
    with pytest.raises(InputRefused, match="length of tool 2 is not known"):
        touch(kit_of(tmp_path, preset1=""), readings(*bore_contacts(), top_contact(118.0, tool=2)))


def test_burr_is_named_by_its_sign(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw")
    places = [(-62, -30), (-62, 0), (-62, 30)]
    for error, said in ((-0.08, "came 0.080 mm early: a burr"), (0.08, "came 0.080 mm late: a chamfer")):
        lefts = [face_contact("left", "+X", (x, y, NAN)) for x, y in places]
        lefts[1]["display"]["x"] += error
        jaw = [face_contact("fixed jaw", "+Y", (x, 42, NAN)) for x in (-50, 0, 50)]
        got = touch(kit, readings(*lefts, *jaw, top_contact(131.482)))
        assert len(got.outliers) == 1
        assert got.outliers[0].reading == 1
        assert said in got.outliers[0].text()


def test_two_contacts_that_disagree_do_not_accuse_one(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw")
    lefts = [face_contact("left", "+X", (-62, 0, NAN)), face_contact("left", "+X", (-62.1, 0, NAN))]
    jaw = [face_contact("fixed jaw", "+Y", (x, 42, NAN)) for x in (-50, 50)]
    got = touch(kit, readings(*lefts, *jaw, top_contact(131.482)))
    assert got.outliers[0].rivals
    assert "no other contact can tell which one is wrong" in got.outliers[0].text()


def test_unchecked_contacts_are_said_and_the_next_one_helps(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw")
    contacts = [face_contact("left", "+X", (-62, 0, NAN)), face_contact("fixed jaw", "+Y", (0, 42, NAN)), top_contact(131.482)]
    got = touch(kit, readings(*contacts))
    assert got.next.on != "back"  # between the jaws
    assert {reading for reading, _ in got.unchecked} >= {0, 1}
    assert any(f.slug == "contact-unchecked" for f in got.findings)
    assert got.next is not None
    assert got.next.expanded_then < got.next.expanded_now


def test_short_arc_is_flagged(tmp_path):
    angles = np.radians([70, 90, 110])
    contacts = [contact("bore A", "+Y", machine_of(PLACE, (10 * np.cos(a), 10 * np.sin(a), NAN))) for a in angles]
    side = face_contact("left", "+X", (-62, 0, NAN))
    got = touch(kit_of(tmp_path), readings(*contacts, side, top_contact(131.482)), wanted=Wanted.AS_FAR)
    assert any(f.slug == "arc-too-short" and "40 deg" in f.text for f in got.findings)


def test_read_back_compares_digit_by_digit(tmp_path):
    held = {"offset": {"G54": {"x": -300.0, "y": -251.0, "z": 477.0}}}
    got = touch(kit_of(tmp_path, registers=held), readings(*bore_contacts(), top_contact(131.482)))
    assert got.read_back == ("G54 Y holds -251.000, should be -215.000: 1 and 5 are exchanged",
                             "G54 Z holds 477.000, should be -477.000: the sign is wrong")  # fmt: skip
    assert sum(f.slug == "register-differs" and f.signal is Signal.DANGER for f in got.findings) == 2


def test_conditions_widen_the_result(tmp_path):
    kit, read = kit_of(tmp_path), readings(*bore_contacts(), top_contact(131.482))
    usual = touch(kit, read).as_plain()["offsets"]["G54"]["z"]["expanded_uncertainty"]
    warm = touch(kit, read, conditions=Conditions(growth=0.05)).as_plain()["offsets"]["G54"]["z"]["expanded_uncertainty"]
    assert warm > 1.5 * usual
