"""Numbers to type have physical sense: instruments say what counts, readings lie in the travel, contradictions give no number."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from pydantic import ValidationError

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import load_job
from setwright.kit.station import kit as put_together
from setwright.model.finding import Signal
from setwright.model.instrument import Instrument
from setwright.model.job import Guess
from setwright.model.reading import Contact
from setwright.model.requirement import PositionOf
from setwright.sheet.fill import _offsets
from setwright.touch.station import Wanted, touch
from tests.cli.conftest import ask
from tests.touch.test_touch_station import bore_contacts, face_contact, top_contact
from tests.touch.workshop import contact, kit_of, readings

NAN = math.nan


@pytest.mark.parametrize(("said", "asked_for"), [
    ({"kind": "mechanical edge finder"}, "tip_diameter"), ({"kind": "touch-trigger probe"}, "tip_diameter"),
    ({"kind": "height setter"}, "height"), ({"kind": "paper"}, "height"),
    ({"kind": "mechanical edge finder", "tip_diameter": -10}, "less than zero"),
    ({"kind": "height setter", "height": -50}, "less than zero"),
    ({"kind": "touch-trigger probe", "tip_diameter": 6, "length": 0}, "more than zero"),
    ({"kind": "electronic finder", "tip_diameter": 10, "runout": -0.01}, "less than zero"),
])  # fmt: skip
def test_an_instrument_says_what_it_must(said, asked_for):
    with pytest.raises(ValidationError, match=asked_for):
        Instrument.model_validate({"name": "one", "repeatability": 0.005} | said)
    assert Instrument.model_validate({"name": "it", "repeatability": 0.005, "kind": "3D indicator"}).tip_diameter == 0.0


def test_a_finder_without_a_tip_is_refused_with_its_file(tmp_path):
    kit_of(tmp_path)
    file = tmp_path / "shop" / "instruments" / "finder.toml"
    file.write_text(file.read_text().replace("tip_diameter = 10\n", ""))
    result = ask("touch", tmp_path)
    assert result.exit_code == 2
    assert "finder.toml" in result.stderr
    assert "tip_diameter" in result.stderr


def test_steps_and_zones_are_not_negative():
    said = {"setup": "first", "on": "left", "with": "finder", "toward": "+X", "display": {"x": -300}}
    with pytest.raises(ValidationError, match="less than zero"):
        Contact.model_validate(said | {"last_step": -0.01})
    with pytest.raises(ValidationError, match="more than zero"):
        PositionOf.model_validate({"of": "bore A", "x": 0, "y": 0, "within": 0})


JAW = [face_contact("fixed jaw", "+Y", (x, 42, NAN)) for x in (-50, 0, 50)]
PLACES = (-30, 0, 30)


def lefts(*errors):
    """Contacts with the left face, each shown wrong by so much (mm)."""
    found = [face_contact("left", "+X", (-62, y, NAN)) for y in PLACES[: len(errors)]]
    for one, error in zip(found, errors, strict=True):
        one["display"]["x"] += error
    return found


def found_in(kit, *contacts, units="mm"):
    return touch(kit, readings(*contacts), wanted=Wanted.AS_FAR, units=units)


def value(result, axis):
    return result.as_plain()["offsets"]["G54"][axis]["value"]


def dangers(result):
    return [f for f in result.findings if f.signal is Signal.DANGER]


@pytest.fixture
def kit(tmp_path):
    return kit_of(tmp_path, x="left", y="fixed jaw")


def test_a_lost_sign_gives_no_number_and_is_named(kit):
    one = lefts(0.0)
    one[0]["display"]["x"] *= -1.0
    result = found_in(kit, *one, *JAW, top_contact(131.482))
    assert value(result, "x") is None
    assert value(result, "y") == pytest.approx(-215.0, abs=1e-3)
    assert result.g10() == ""
    assert not any("X =" in line for line in result.keystrokes())
    assert "the sign was lost (-367.000 would be in it)" in dangers(result)[0].text
    assert result.diagnosis.ranked[0].slug == "sign-lost"
    other = [c | {"display": {a: -v for a, v in c["display"].items()}} for c in (*lefts(0.0), *JAW, top_contact(131.482))]
    nothing = found_in(kit, *other)
    assert nothing.keystrokes() == [line for line in nothing.keystrokes() if "radius" in line or "length" in line]
    assert json.dumps(nothing.as_plain(), allow_nan=False)


def test_millimetres_in_an_inch_job_are_named(kit):
    inch = replace(kit, folder=replace(kit.folder, job=kit.folder.job.model_copy(update={"units": "in"})))
    contacts = [*lefts(0.0), *JAW, top_contact(131.482)]
    contacts[0] = contacts[0] | {"display": {"x": -367.0 * 25.4}}
    result = found_in(inch, *contacts, units="inch")
    assert value(result, "x") is None
    assert "shows X -367.0000 in" in dangers(result)[0].text
    assert "millimetres were written as inches" in dangers(result)[0].text
    assert result.g10("inch") == ""


def test_a_guessed_travel_is_asked_about_and_refuses_nothing(kit):
    guess = Guess(setup="first", what="machine: travel", evidence="none", key="shop/machines/mill-2.toml: travel")
    drafted = replace(kit, folder=replace(kit.folder, job=kit.folder.job.model_copy(update={"guess": (guess,)})))
    far = [c | {"display": {a: v - 400.0 for a, v in c["display"].items() if a == "x"}} for c in lefts(0.0, 0.0)]
    result = found_in(drafted, *far, *JAW, top_contact(131.482))
    asked = [f for f in result.findings if f.slug == "out-of-reach"]
    assert {f.signal for f in asked} == {Signal.CAUTION}
    assert asked[0].text.endswith("?")
    assert value(result, "x") == pytest.approx(-700.0, abs=0.01)
    strict = found_in(kit, *far, *JAW, top_contact(131.482))
    assert value(strict, "x") is None


def test_a_tool_that_would_stand_above_the_travel_has_no_length(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw", preset2="length = 520.0, varies = 0.01")
    result = found_in(kit, *lefts(0.0), *JAW, top_contact(131.482))
    said = dangers(result)[0].text
    assert "tool 2 stands on the part's top at Z 44.000 mm, beyond the travel" in said
    assert result.as_plain()["tool_lengths"]["2"]["value"] is None


def test_two_contacts_half_an_inch_apart_give_no_number(kit):
    result = found_in(kit, *lefts(0.0, 12.7), *JAW, top_contact(131.482))
    assert value(result, "x") is None
    assert value(result, "y") == pytest.approx(-215.0, abs=1e-3)
    assert value(result, "z") == pytest.approx(-477.0, abs=2e-3)
    assert result.g10() == ""
    (one,) = (f for f in dangers(result) if f.slug == "readings-contradict")
    assert "contact 1 (left +X) and contact 2 contradict each other by 12.700 mm" in one.text
    assert "touch left once more" in one.remedy
    assert result.determined["x"].by == "contradiction"


def test_one_more_touch_decides(kit):
    result = found_in(kit, *lefts(0.0, 12.7, 0.0), *JAW, top_contact(131.482))
    assert value(result, "x") == pytest.approx(-300.0, abs=1e-3)
    assert [(o.reading, o.rivals) for o in result.outliers] == [(1, ())]
    assert result.g10() == ""  # the wrong reading is still written there
    assert dangers(result)[0].slug == "contact-disagrees"


def test_all_axes_exchanged_give_no_number(kit):
    swapped = [c | {"display": {"x": c["display"].get("y", 0.0), "y": c["display"].get("x", 0.0)}}
               for c in (face_contact("left", "+X", (-62, y, 0)) for y in PLACES)]  # fmt: skip
    swapped += [c | {"display": {"x": c["display"]["y"], "y": c["display"]["x"]}}
                for c in (face_contact("fixed jaw", "+Y", (x, 42, 0)) for x in (-50, 0, 50))]  # fmt: skip
    result = found_in(kit, *swapped, top_contact(131.482))
    assert value(result, "x") is None
    assert value(result, "y") is None
    assert "X and Y are exchanged in the readings" in dangers(result)[0].text


def test_a_blank_of_another_size_accuses_no_contact(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw")
    right = face_contact("right", "-X", (63.5, 0, NAN))
    result = found_in(kit, *lefts(0.0, 0.0, 0.0), right, *JAW, top_contact(131.482))
    assert value(result, "x") == pytest.approx(-300.0, abs=0.01)
    assert result.diagnosis.ranked[0].slug in ("part-not-to-size", "reading-wrong")
    assert not dangers(result) or "what it is compared with" in dangers(result)[0].text


def drafted_kit(folder, guessed, **how):
    """A job in which the keys `guessed` were guessed by a draft, and the blank says nothing of how far it varies."""
    kit_of(folder, **how)
    file = folder / "job.toml"
    text = file.read_text().replace("varies = [0.5, 0.5, 0.3]\n", "")
    for key in guessed:
        text += f'[[guess]]\nsetup = "first"\nwhat = "a size"\nevidence = "none"\nkey = "{key}"\n'
    file.write_text(text)
    loaded = load_job(folder)
    return put_together(loaded, loaded.job.setup[0])


WIDE = [face_contact("fixed jaw", "+Y", (x, 42.304, NAN)) for x in (-50, 50)]


def test_a_guessed_width_is_an_unknown_and_gives_no_number(tmp_path):
    contacts = [*lefts(0.0, 0.0), *WIDE, top_contact(131.482)]
    guessed = ["job.toml: setup.blank.box", "shop/holding/vise-150.toml: vise"]
    drafted = found_in(drafted_kit(tmp_path / "a", guessed, x="left", y="front"), *contacts)
    assert value(drafted, "y") is None
    assert "nobody measured the blank's size along Y" in drafted.determined["y"].text
    assert drafted.as_plain()["contributions"]["G54 Y"][0]["source"] == "size of the part along Y"
    assert drafted.as_plain()["contributions"]["G54 Y"][0]["share"] > 0.99
    assert value(drafted, "x") == pytest.approx(-300.0, abs=1e-3)
    stated = found_in(drafted_kit(tmp_path / "b", [], x="left", y="front"), *contacts)
    y = stated.as_plain()["offsets"]["G54"]["y"]
    assert abs(y["value"] - -215.0) <= y["expanded_uncertainty"]  # 0.304 off, and it says so


def test_a_guessed_table_leaves_lengths_known_only_with_the_height(tmp_path):
    table = "shop/machines/mill-2.toml: travel"
    setter = {"tool": 2, "with": "setter", "display": {"z": -600 + 50 + 118.25}}
    one = {"tool": 1, "with": "setter", "display": {"z": -600 + 50 + 131.482}}
    contacts = readings(*lefts(0.0, 0.0), *JAW, top_contact(131.482), lengths=(one, setter))
    kit = drafted_kit(tmp_path / "a", [table], x="left", y="fixed jaw", preset1="")
    result = touch(kit, contacts, wanted=Wanted.AS_FAR)
    length = result.as_plain()["tool_lengths"]["2"]
    assert length["expanded_uncertainty"] > 100.0
    z = result.as_plain()["offsets"]["G54"]["z"]["value"]
    assert z + length["value"] == pytest.approx(-477.0 + 118.25, abs=0.01)  # the tip stands where it should all the same
    assert "known only as sums" in result.determined["z"].text
    stated = touch(drafted_kit(tmp_path / "b", [], x="left", y="fixed jaw", preset1=""), contacts, wanted=Wanted.AS_FAR).as_plain()
    assert {line["source"] for line in stated["contributions"]["length 2"]} >= {"height of the table"}


def test_tools_of_unknown_length_on_the_part_fix_no_height(tmp_path):
    kit = drafted_kit(tmp_path, ["shop/machines/mill-2.toml: travel"], x="left", y="fixed jaw", preset1="")
    result = found_in(kit, *lefts(0.0, 0.0), *JAW, top_contact(131.482), top_contact(118.25, tool=2))
    plain = result.as_plain()
    assert plain["offsets"]["G54"]["z"]["value"] is None
    assert plain["g10"] == ""
    assert [length["value"] for length in plain["tool_lengths"].values()] == [None, None]
    assert any("the lengths of tools 1 and 2 are not known" in one.text for one in dangers(result))
    assert plain["offsets"]["G54"]["x"]["value"] == pytest.approx(-300.0, abs=1e-3)


def test_a_guessed_place_hides_no_slip_and_accuses_no_holding(tmp_path):
    far = [c | {"display": {a: v + (20.0 if a == "x" else 0.0) for a, v in c["display"].items()}} for c in lefts(0.0, 0.0)]
    contacts = [*far, *JAW, top_contact(131.482)]
    stated = found_in(kit_of(tmp_path / "a", x="left", y="fixed jaw"), *contacts)
    assert stated.diagnosis.ranked[0].slug == "holding-moved"
    drafted = found_in(drafted_kit(tmp_path / "b", ["shop/holding/vise-150.toml: vise"], x="left", y="fixed jaw"), *contacts)
    assert not any(slip.slug == "holding-moved" for slip in drafted.diagnosis.ranked)


def test_a_tip_nobody_measured_stands_in_the_budget_and_is_said(tmp_path, kit):
    contacts = [*lefts(0.0, 0.0), *JAW, top_contact(131.482)]
    measured = found_in(kit, *contacts)
    (notice,) = (f for f in measured.findings if f.slug == "size-unchecked")
    assert notice.signal is Signal.NOTICE
    assert "the tip's size itself is unchecked" in notice.text
    file = tmp_path / "shop" / "instruments" / "finder.toml"
    file.write_text(file.read_text().replace("tip_uncertainty = 0.003\n", ""))
    loaded = load_job(tmp_path)
    result = found_in(put_together(loaded, loaded.job.setup[0]), *contacts)
    assert next(f for f in result.findings if f.slug == "size-unchecked").signal is Signal.CAUTION
    assert result.as_plain()["contributions"]["G54 X"][0]["source"] == "tip size of finder"
    both = found_in(kit_of(tmp_path / "both"), *bore_contacts(), top_contact(131.482))
    assert not any(f.slug == "size-unchecked" for f in both.findings)  # opposite walls: the tip falls out


def test_a_length_two_inches_wrong_shows_where_lengths_are_set_on_the_part(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw", lengths="tip on datum", preset1="", preset2="")
    right = [*lefts(0.0, 0.0), *JAW, top_contact(131.482), top_contact(118.25, tool=2)]
    assert not any(f.slug == "tool-unlike-kit" for f in found_in(kit, *right).findings)
    wrong = [*right[:-1], top_contact(118.25 + 50.8, tool=2)]
    (said,) = (f for f in found_in(kit, *wrong).findings if f.slug == "tool-unlike-kit")
    assert "tool 2 measures 50.7" in said.text or "tool 2 measures 50.8" in said.text


def test_readings_of_another_setup_only_are_refused_with_the_names(tmp_path):
    kit_of(tmp_path)
    (tmp_path / "readings.toml").write_text(
        'format = 1\n[[contact]]\nsetup = "second"\non = "left"\nwith = "finder"\ntoward = "+X"\ndisplay = { x = -300 }\n')
    result = ask("touch", tmp_path)
    assert result.exit_code == 2
    assert 'was read for setup "second"' in result.stderr
    assert 'write setup = "first" there' in result.stderr


def test_what_is_known_is_answered_on_screen_and_in_json(tmp_path):
    kit_of(tmp_path, x="left", y="fixed jaw")
    text = "format = 1\n"
    for one in (*lefts(0.0, 0.0), *JAW):
        shown = ", ".join(f"{axis} = {v}" for axis, v in one["display"].items())
        text += f'[[contact]]\nsetup = "first"\non = "{one["on"]}"\nwith = "finder"\ntoward = "{one["toward"]}"\n'
        text += f"display = {{ {shown} }}\n"
    (tmp_path / "readings.toml").write_text(text)
    result = ask("touch", tmp_path)
    assert result.exit_code == 1
    assert "-300.000" in result.stdout
    assert "open" in result.stdout
    loaded = load_job(tmp_path)
    x, y, z, _ = _offsets(put_together(loaded, loaded.job.setup[0]), touch(put_together(loaded, loaded.job.setup[0]),
                                                                         wanted=Wanted.AS_FAR))[0].registers  # fmt: skip
    assert (x.value, y.value) == (pytest.approx(-300.0, abs=1e-3), pytest.approx(-215.0, abs=1e-3))
    assert z.value is None  # an empty box on the sheet
    document = json.loads(ask("touch", tmp_path, "--json").stdout)
    assert document["offsets"]["G54"]["x"]["value"] == pytest.approx(-300.0, abs=1e-3)
    assert document["offsets"]["G54"]["z"]["value"] is None
    assert document["offsets"]["G54"]["z"]["type"] == ""
    assert document["g10"] == ""
    assert any(finding["slug"] == "axis-not-found" for finding in document["findings"])


def test_whole_touch_off_is_still_refused_when_asked_whole(kit):
    with pytest.raises(InputRefused, match="Z is open"):
        touch(kit, readings(*lefts(0.0), *JAW))


def test_a_contact_of_which_a_coordinate_across_is_impossible_counts_for_nothing(kit):
    odd = contact("fixed jaw", "+Y", (1e6, JAW[0]["display"]["y"], NAN))
    result = found_in(kit, *lefts(0.0, 0.0), *JAW, odd, top_contact(131.482))
    assert value(result, "y") == pytest.approx(-215.0, abs=1e-3)
    assert dangers(result)[0].slug == "out-of-reach"


def test_two_touches_on_a_face_that_gives_the_angle_ask_where_along_it(tmp_path):
    kit_of(tmp_path, x="left", y="back", angle="back")
    job = tmp_path / "job.toml"
    held = 'use = "vise-150"\nfixed_jaw = { against = "back" }\nend_stop = { against = "left" }\nparallels = 22\n'
    job.write_text(job.read_text().replace(held, 'use = "plate"\n'))
    (tmp_path / "shop" / "holding" / "plate.toml").write_text('name = "plate"\n[plate]\nsize = [300, 200]\nthickness = 30\n')
    loaded = load_job(tmp_path)
    kit = put_together(loaded, loaded.job.setup[0])
    whole = [face_contact("back", "-Y", (x, 42, NAN)) for x in (-50, 50)]
    bare = [c | {"display": {"y": c["display"]["y"]}} for c in whole]
    asked = next(f for f in found_in(kit, *lefts(0.0), *bare, top_contact(131.482)).findings if f.slug == "angle-from-kit")
    assert asked.signal is Signal.CAUTION
    assert asked.remedy.startswith("write X as well at contacts 2 and 3 (back)")
    answered = found_in(kit, *lefts(0.0), *whole, top_contact(131.482))
    assert answered.determined["angle"].by == "readings"


AGREEING = (("left", "+X", {"x": -367.004, "y": -200.0}, {}), ("fixed jaw", "+Y", {"y": -178.01, "x": -350.0}, {}),
            ("fixed jaw", "+Y", {"y": -178.01, "x": -250.0}, {}),
            ("top", "-Z", {"z": -344.438}, {"tool": 1, "with": "paper"}))  # fmt: skip


def _shown(per: float, per_z: float, *, swapped: bool = False):
    """The readings of AGREEING as a display divided by `per` (`per_z`: the heights) shows them."""
    names = {"x": "y", "y": "x", "z": "z"} if swapped else {"x": "x", "y": "y", "z": "z"}
    return readings(*({"on": on, "with": "finder", "toward": toward} | more
                      | {"display": {names[axis]: round(v / (per_z if axis == "z" else per), 4) for axis, v in at.items()}}
                      for on, toward, at, more in AGREEING))  # fmt: skip


@pytest.mark.parametrize(("shown", "words"), [
    (_shown(25.4, 25.4), "the readings are inches taken for mm, heights too"),
    (_shown(25.4, 1.0), "the readings are inches taken for mm"),
    (_shown(1.0, 1.0, swapped=True), "X and Y are exchanged in the readings"),
])  # fmt: skip
def test_readings_that_agree_and_are_all_wrong_in_one_way_give_no_number(tmp_path, shown, words):
    kit = kit_of(tmp_path, x="left", y="fixed jaw")
    result = touch(kit, shown, wanted=Wanted.AS_FAR)
    dangers = [one for one in result.findings if one.signal is Signal.DANGER]
    assert [(one.slug, one.text) for one in dangers] == [("readings-contradict", f"there is no number to type: {words}")]
    assert not any(one.slug == "slip-suspected" for one in result.findings)  # it is told once
    assert result.diagnosis.ranked[0].words == words
    assert not any(line.startswith("type") and ("G54" in line or "length" in line) for line in result.keystrokes())
    assert result.g10() == ""
    plain = result.as_plain()
    assert {number["value"] for axis, number in plain["offsets"]["G54"].items() if axis in "xyz"} == {None}


def test_the_same_readings_in_the_right_unit_give_numbers(tmp_path):
    result = touch(kit_of(tmp_path, x="left", y="fixed jaw"), _shown(1.0, 1.0), wanted=Wanted.AS_FAR)
    x, y = -367.004 + 5.0 + 62.0, -178.010 + 5.0 - 42.0
    z = -344.438 - 131.482 - 0.080 - 1.0  # the tool's length, the paper, the top over the zero
    assert f"G10 L2 P1 X{x:.3f} Y{y:.3f} Z{z:.3f}" in result.g10()
    assert not any(one.slug == "readings-contradict" for one in result.findings)


def test_before_a_tool_came_down_z_is_open_and_nothing_is_said_of_lengths(tmp_path, kit):
    measured = found_in(kit, *lefts(0.0), *JAW)
    assert measured.determined["z"].text == "Z is open: nothing you touched fixes Z"
    differences = kit_of(tmp_path / "differences", x="left", y="fixed jaw", lengths="reference tool", preset1="", preset2="")
    first = found_in(differences, *lefts(0.0))  # nobody has read the reference tool yet
    assert value(first, "x") == pytest.approx(-300.0, abs=1e-3)
    assert (value(first, "z"), first.g10()) == (None, "")
    both = found_in(differences, *lefts(0.0), *JAW, top_contact(131.482), top_contact(118.25, tool=2))
    plain = both.as_plain()
    assert plain["offsets"]["G54"]["z"]["value"] == pytest.approx(-477.0 + 131.482, abs=2e-3)
    lengths = [plain["tool_lengths"][station]["value"] for station in ("1", "2")]
    assert lengths == [pytest.approx(0.0), pytest.approx(118.25 - 131.482, abs=3e-3)]


@pytest.mark.parametrize("contact", [{"on": "top", "toward": "-Z", "display": {"z": -340.0}},
                                     {"on": "left", "toward": "+X", "display": {"x": -367.0}}])  # fmt: skip
@pytest.mark.parametrize("finder", ["finder", "probe", "coaxial indicator"])
def test_a_finder_and_a_tool_do_not_sit_in_the_spindle_together(kit, contact, finder):
    with pytest.raises(InputRefused, match="sits in the spindle itself, and tool 1 cannot") as caught:
        found_in(kit, contact | {"with": finder, "tool": 1})
    assert "what lay under the tool's tip" in caught.value.problems[0].remedy


@pytest.mark.parametrize(("on", "toward"), [("left", "+X"), ("bore A", "-X"), ("top", "-Z")])
def test_a_coaxial_indicator_meets_no_face_from_one_side(kit, on, toward):
    with pytest.raises(InputRefused, match="reads the centre it is swept round, and no face from one side"):
        found_in(kit, {"on": on, "toward": toward, "with": "coaxial indicator", "display": {"x": -310.0, "z": -340.0}})
