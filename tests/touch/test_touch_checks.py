"""The checks of Touch: each has its page, speaks when it should and is silent when all is well."""

from __future__ import annotations

import math

import pytest

from setwright.model.check import HEADINGS, checks_in
from setwright.model.finding import Signal
from setwright.touch.station import touch
from tests.touch.slipped import DATUM, honest
from tests.touch.test_touch_station import bore_contacts, face_contact, top_contact
from tests.touch.workshop import kit_of, machine_of, readings

NAN = math.nan
PACKAGE = "setwright.touch.checks"


@pytest.mark.parametrize("check", checks_in(PACKAGE), ids=lambda check: check.META.slug)
def test_page_is_complete(check):
    lines = check.__doc__.splitlines()
    at = [lines.index(heading) for heading in HEADINGS]
    assert at == sorted(at)
    assert all(lines[i + 1].startswith("    ") for i in at)
    assert check.META.slug.replace("-", "_") == check.__name__.rsplit(".", 1)[1]


def test_nothing_to_say_about_a_checked_touch_off(tmp_path):
    case = honest(3)
    tilt_free = [c for c in case.contacts if c["toward"] != "-Z"]
    tops = [top_contact(case.world.length, place=case.world.place), top_contact(case.world.length, place=case.world.place)]
    got = touch(kit_of(tmp_path, **DATUM), readings(*tilt_free, *tops))
    # one side only was touched, so the tip's size counts
    assert {finding.slug for finding in got.findings} - {"part-turned"} == {"size-unchecked"}


def test_part_turned_says_how_far_off_the_corner_is(tmp_path):
    turn = 0.0009
    place = (-300.0, -215.0, -477.0, turn)
    kit = kit_of(tmp_path, x="left", y="fixed jaw")
    contacts = [face_contact("left", "+X", (-62, 0, NAN), place), face_contact("fixed jaw", "+Y", (-58, 42, NAN), place),
                face_contact("fixed jaw", "+Y", (58, 42, NAN), place), top_contact(131.482, place=place)]  # fmt: skip
    found = [f for f in touch(kit, readings(*contacts)).findings if f.slug == "part-turned"]
    assert found[0].value == pytest.approx(turn * math.hypot(62, 42), rel=0.03)
    assert "turned +0.0516 deg" in found[0].text


def test_angle_from_the_vise_is_given_at_the_far_corner(tmp_path):
    got = touch(kit_of(tmp_path), readings(*bore_contacts(), top_contact(131.482)))
    found = next(f for f in got.findings if f.slug == "angle-from-kit")
    assert found.signal is Signal.NOTICE
    assert found.value == pytest.approx(0.95 * 0.0003 * math.hypot(62, 42), rel=1e-3)  # 95 % of a rectangular half width


def test_unchecked_readings_are_called_by_their_face(tmp_path):
    setter = {"tool": 2, "with": "setter", "display": {"z": -600 + 50 + 118.25}}
    got = touch(kit_of(tmp_path), readings(*bore_contacts(), top_contact(131.482), lengths=(setter,)))
    text = next(f for f in got.findings if f.slug == "contact-unchecked").text
    assert "length reading 1 (tool 2 on tool setter)" in text
    assert "bore A" not in text


def test_next_contact_checks_what_nothing_checks(tmp_path):
    kit = kit_of(tmp_path, x="left", y="fixed jaw")
    contacts = [face_contact("left", "+X", (-62, 10, NAN)), *[face_contact("fixed jaw", "+Y", (x, 42, NAN)) for x in (-50, 0, 50)],
                top_contact(131.482)]  # fmt: skip
    got = touch(kit, readings(*contacts))
    assert (got.next.on, got.next.toward) == ("left", "+X")
    assert got.next.checks == (0,)
    assert "it checks contact 1" in got.next.text()
    second = machine_of((-300.0, -215.0, -477.0, 0.0), (*got.next.near, NAN))
    again = face_contact("left", "+X", (-62, got.next.near[1], NAN))
    assert again["display"]["y"] == pytest.approx(second[1])
    assert 0 not in dict(touch(kit, readings(*contacts, again)).unchecked)


def test_tool_unlike_its_kit_is_noticed(tmp_path):
    kit = kit_of(tmp_path, preset1="length = 131.482, radius = 16.0", preset2="length = 140.0, radius = 6.0")
    got = touch(kit, readings(*bore_contacts(), top_contact(131.482)))
    texts = [f.text for f in got.findings if f.slug == "tool-unlike-kit"]
    assert len(texts) == 2
    assert "the diameter was noted for the radius" in texts[0]
    assert texts[1] == "tool 2 measures 140.000 mm long, but its stick-out and holder make 118.250 mm"


@pytest.mark.parametrize(("face", "is_", "height"), [("parallels", -31.0, -31.0), ("jaw top", -13.0, -13.0)])
def test_z_from_the_parallels_or_the_jaw(tmp_path, face, is_, height):
    """The face that gives Z lies where the datum says: here 31 or 13 mm below the program's zero."""
    kit = kit_of(tmp_path, z=face, preset1="length = 131.482")
    job = kit.folder.job
    setup = kit.setup.model_copy(update={"datum": kit.setup.datum.model_copy(update={"z": kit.setup.datum.z.model_copy(
        update={"is_": is_})})})  # fmt: skip
    folder = type(kit.folder)(**{f: getattr(kit.folder, f) for f in kit.folder.__dataclass_fields__}
                              | {"job": job.model_copy(update={"setup": (setup,)})})  # fmt: skip
    kit = type(kit)(**{f: getattr(kit, f) for f in kit.__dataclass_fields__} | {"folder": folder, "setup": setup})
    shown = -477.0 + height + 131.482 + 50.0
    down = {"on": face, "with": "setter", "toward": "-Z", "tool": 1, "display": {"x": -300.0, "y": -215.0, "z": shown}}
    got = touch(kit, readings(*bore_contacts(), down))
    assert got.solution.value("z") == pytest.approx(-477.0, abs=1e-3)
    assert got.determined["z"].by == "readings"
