"""Something that is not in the list is a rival of every slip: what leads, when it is settled, which touch tells leaders apart."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest

from setwright.jobfolder.load import load_job
from setwright.kit.station import kit as put_together
from setwright.slips.catalogue import UNLISTED
from setwright.touch.sentence import sentence
from setwright.touch.station import touch
from tests.cli.conftest import ask
from tests.oracle.touch_off import case
from tests.touch.simulated import solved
from tests.touch.slipped import DATUM, honest
from tests.touch.test_touch_guard import JAW, found_in, lefts
from tests.touch.test_touch_station import top_contact
from tests.touch.workshop import contact, kit_of, readings

NAN = float("nan")
LENGTHS = {1: 131.482, 2: 118.25, 3: 104.0}
THIRD = '\n[[setup.tool]]\nstation = 3\nuse = "end-mill-12"\nstickout = 44\npreset = { length = 104.0, varies = 0.01 }\n'
ZERO, SETTER, DEEPER = -477.0, 50.0, 20.0
JAW_TOP = -31.0 + 40.0 - 22.0
"""Of the jaw in the program: the part's underside, the height of the jaws, less the parallels."""


@pytest.fixture
def kit(tmp_path):
    kit_of(tmp_path, x="left", y="fixed jaw", preset2="length = 118.25, varies = 0.01")
    job = tmp_path / "job.toml"
    job.write_text(job.read_text() + THIRD)
    loaded = load_job(tmp_path)
    return put_together(loaded, loaded.job.setup[0])


def tops(off):
    return [top_contact(length + off, tool=tool) for tool, length in LENGTHS.items()]


def jaw_top(off):
    return contact("jaw top", "-Z", (NAN, NAN, ZERO + off + JAW_TOP + LENGTHS[1] + SETTER), instrument="setter", tool=1)


def test_three_tools_deeper_alike_are_not_settled_and_one_touch_is_named(kit):
    result = found_in(kit, *lefts(0.0, 0.0), *JAW, *tops(-DEEPER))
    found = result.diagnosis
    assert found.ranked[0].slug == "holding-moved"
    assert found.unlisted > 0.05
    assert not found.settled
    says = re.fullmatch(r"touch jaw top with tool 1, setter under it: the display at Z (-?[\d.]+) speaks for the first, "
                        r"(-?[\d.]+) for the second", found.apart)  # fmt: skip
    assert says is not None, found.apart
    elsewhere, normal = map(float, says.groups())
    assert normal == pytest.approx(ZERO + JAW_TOP + LENGTHS[1] + SETTER, abs=0.5)
    assert elsewhere == pytest.approx(normal - DEEPER, abs=0.5)
    (told,) = (one for one in result.findings if one.slug == "slip-suspected")
    assert f"; or {UNLISTED} (probability " in told.text
    assert told.remedy.startswith(found.apart)
    head = sentence(result)
    assert UNLISTED in head
    assert found.apart in head


def test_the_touch_that_is_named_decides(kit):
    moved = found_in(kit, *lefts(0.0, 0.0), *JAW, *tops(-DEEPER), jaw_top(-DEEPER)).diagnosis
    assert moved.settled
    assert moved.ranked[0].slug == "holding-moved"
    assert moved.apart == ""
    other = found_in(kit, *lefts(0.0, 0.0), *JAW, *tops(-DEEPER), jaw_top(0.0)).diagnosis
    assert not other.settled or other.unlisted >= 0.95
    assert all(one.slug != "holding-moved" or one.probability < 0.5 for one in other.ranked)


def test_a_good_touch_off_is_settled_and_nothing_is_to_be_told_apart(kit):
    found = found_in(kit, *lefts(0.0, 0.0), *JAW, *tops(0.0)).diagnosis
    assert found.none > 0.8  # the rest is registers nobody read off
    assert found.settled
    assert found.apart == ""
    assert found.unlisted < 0.01


def test_two_faces_odd_by_any_amount_are_settled_as_no_listed_slip(tmp_path):
    kit, leads = kit_of(tmp_path, **DATUM), 0
    for seed in range(30):
        made, rng = honest(seed), np.random.default_rng(1000 + seed)
        across, down = (float(np.exp(rng.uniform(np.log(12.0), np.log(40.0))) * rng.choice([-1.0, 1.0])) for _ in range(2))
        for axis, off, of_face in (("x", across, (0, 1, 2)), ("z", down, (6, 7, 8))):
            for i in of_face:
                shown = made.contacts[i]["display"]
                made.contacts[i] = made.contacts[i] | {"display": shown | {axis: shown[axis] + off}}
        found = touch(kit, readings(*made.contacts, lengths=made.lengths)).diagnosis
        assert found.none < 0.01
        assert not (found.settled and found.unlisted < 0.5), (seed, found.ranked[0])
        leads += found.unlisted > 0.5
    assert leads >= 27


def test_a_holding_that_stands_elsewhere_along_both_axes_is_told_as_that(tmp_path):
    kit, seen = kit_of(tmp_path, **DATUM), []
    for seed in range(20):
        made, rng = honest(seed), np.random.default_rng(2000 + seed)
        by = (rng.choice([-1.0, 1.0], 2) * rng.uniform(15.0, 60.0, 2)).tolist()
        for i in range(6):
            shown = made.contacts[i]["display"]
            made.contacts[i] = made.contacts[i] | {"display": shown | {"x": shown["x"] + by[0], "y": shown["y"] + by[1]}}
        first = touch(kit, readings(*made.contacts, lengths=made.lengths)).diagnosis.ranked[0]
        seen.append(first.words)
    assert seen == ["the holding does not stand where the job says along X and Y"] * 20


def test_normal_readings_leave_nothing_wrong(tmp_path):
    kits: dict = {}
    made = [one for one in map(case, range(48)) if one.scheme != "pallet of two"]  # it stands elsewhere than the workshop states
    assert len(made) == 45
    assert all(solved(tmp_path, one, kits).diagnosis.none > 0.5 for one in made)


def test_the_rival_stands_in_the_document(tmp_path, kit):
    text = "format = 1\n"
    for one in (*lefts(0.0, 0.0), *JAW, *tops(-DEEPER)):
        shown = ", ".join(f"{axis} = {value}" for axis, value in one["display"].items())
        tool = f"tool = {one['tool']}\n" if "tool" in one else ""
        text += f'[[contact]]\nsetup = "first"\non = "{one["on"]}"\nwith = "{one["with"]}"\ntoward = "{one["toward"]}"\n{tool}'
        text += f"display = {{ {shown} }}\n"
    (tmp_path / "readings.toml").write_text(text)
    document = json.loads(ask("touch", tmp_path, "--json").stdout)
    assert document["unlisted"] > 0.05
    assert document["settled"] is False
    assert document["tells_apart"].startswith("touch jaw top with tool 1")
    assert document["unlisted"] + document["no_slip"] + sum(one["probability"] for one in document["slips"]) <= 1.0 + 1e-9
    assert UNLISTED in ask("touch", tmp_path).stdout.replace("\n", " ")
