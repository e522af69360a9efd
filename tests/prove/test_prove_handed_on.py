"""A blank that an earlier setup leaves varies as that setup's blank does, less the faces that were cut there.

First setup: a plate 100 x 50 x 21 from Z-20 to Z1 whose top is faced to Z0. Second setup: the same turned over about X, so that the
cut face lies at Z-20 and what was its underside at Z0. Nothing but lengths is measured, each setup's to 2 x 0.01 = 0.02.
"""

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from setwright.jobfolder.load import load_job
from setwright.prove.chain import prove_job
from setwright.prove.station import Proof
from setwright.prove.verdict import verdict
from tests.jobfolder.test_jobfolder_load import MACHINE, TOOL, VISE
from tests.prove.conftest import JOB, said

LENGTH = 0.02
FACED = "G0 X-10. Y0.\nZ5.\n" + "\n".join(f"G0 X-10. Y{y}.\nG1 Z0. F300.\nX110.\nG0 Z5." for y in range(0, 57, 8))
HALF = "G0 X-10. Y0.\nZ5.\n" + "\n".join(f"G0 X-10. Y{y}.\nG1 Z0. F300.\nX110.\nG0 Z5." for y in range(0, 25, 8))
FIRST = JOB.replace("blank = { box = [100, 50, 20], corner = [0, 0, -20] }",
                    "blank = { box = [100, 50, 21], corner = [0, 0, -20]VARIES }")  # fmt: skip
SECOND = """
[[setup]]
name = "second side"
machine = "mill"
programs = ["second.nc"]
blank = { from = "first side", turned = [{ about = "x", by = 180 }], corner = [0, 0, -20]AGAIN }
holding = { use = "vise", parallels = 30, place = { x = -400, y = -250 }, fixed_jaw = { against = "back" } }
datum = { x = "left", y = "front", z = { face = "bottom", is = -20 } }
tool = [{ station = 1, use = "em10", stickout = 40 }]
"""
Both = Callable[..., tuple[Proof, Proof]]


@pytest.fixture
def both(tmp_path: Path) -> Both:
    """Proves both setups. `varies`: the first blank's, in words; `again`: the second one's; `z`: the face that gives Z in the
    first."""

    def prove_both(second: str, *, first: str = FACED, varies: str = "", again: str = "", z: str = "top", job: str = SECOND,
                   pitch_mm: float = 1.0) -> tuple[Proof, Proof]:  # fmt: skip
        for kind, name, text in (("machines", "mill", MACHINE), ("holding", "vise", VISE), ("tools", "em10", TOOL)):
            (tmp_path / "shop" / kind).mkdir(parents=True, exist_ok=True)
            (tmp_path / "shop" / kind / f"{name}.toml").write_text(text)
        for name, moves in (("plate", first), ("second", second)):
            text = f"%\nO1\nG21 G17 G90 G54\nT1 M6\nS5000 M3\nG0 G43 H1 Z50.\n{moves}\nG0 Z50.\nM30\n%\n"
            (tmp_path / f"{name}.nc").write_text(text)
        at = 'z = { face = "top", is = 1 }' if z == "top" else 'z = { face = "bottom", is = -20 }'
        words = [f", varies = {text}" if text else "" for text in (varies, again)]
        whole = FIRST.replace("VARIES", words[0]).replace('z = { face = "top" }', at) + job.replace("AGAIN", words[1])
        (tmp_path / "job.toml").write_text(whole)
        folder = load_job(tmp_path)
        one, two = prove_job(folder, list(folder.job.setup), pitch_mm=pitch_mm)
        return one, two

    return prove_both


def across(gap: float) -> str:
    """A rapid over the raw side by a gap."""
    return f"G0 X-10. Y25.\nZ{gap:.3f}\nX110.\nZ50."


def doubted(proof: Proof) -> bool:
    return bool(said(proof, "contact-within-uncertainty"))


@pytest.mark.parametrize("pitch", [0.5, 1.0])
def test_a_rapid_over_a_side_that_was_not_cut_is_doubted_as_far_as_that_varies(both: Both, pitch: float) -> None:
    """Zero of the first setup is on the sawn top, so that its underside lies 0.5 to either side of where it is stated."""
    _, near = both(across(0.3), varies="[0.1, 0.1, 0.5]", pitch_mm=pitch)
    assert near.kit.setup.blank.varies[2] == pytest.approx(0.5 + 2 * LENGTH, abs=1e-9)
    assert doubted(near)
    _, far = both(across(0.7), varies="[0.1, 0.1, 0.5]", pitch_mm=pitch)
    assert not doubted(far)


def test_where_zero_was_taken_from_the_underside_the_thickness_is_what_was_cut(both: Both) -> None:
    """Both faces are then as exact as the lengths."""
    _, two = both(across(0.3), varies="[0.1, 0.1, 0.5]", z="bottom")
    assert two.kit.setup.blank.varies[2] == pytest.approx(2 * LENGTH, abs=1e-9)
    assert not doubted(two)


def test_a_side_that_was_cut_in_part_varies_as_before(both: Both) -> None:
    """The part is still 21 thick, so that its other side now lies at Z1."""
    _, two = both(across(1.3), first=HALF, varies="[0.1, 0.1, 0.5]", z="bottom")
    assert two.kit.setup.blank.varies[2] == pytest.approx(0.5 + 2 * LENGTH, abs=1e-9)
    assert doubted(two)


def test_a_cut_that_may_pass_over_the_blank_leaves_the_side_as_much_lower(both: Both) -> None:
    """1.0 is cut off a top that may lie 1.4 + 0.02 lower."""
    _, two = both(across(0.3), varies="[0.1, 0.1, 1.4]", z="bottom")
    assert two.kit.setup.blank.varies[2] == pytest.approx(1.4 + LENGTH - 1.0 + LENGTH, abs=1e-9)
    assert doubted(two)


def test_random_gaps_against_random_variations(both: Both) -> None:
    chance = random.Random(27)
    for _ in range(10):
        gap, varies = round(chance.uniform(0.1, 2.0), 3), round(chance.uniform(0.0, 2.0), 3)
        _, two = both(across(gap), varies=f"[0, 0, {varies}]", pitch_mm=2.0)
        assert doubted(two) is (gap < varies + 3 * LENGTH)


def test_less_cut_off_in_the_second_setup_than_the_first_leaves_varying(both: Both) -> None:
    face = '[[setup.face]]\nname = "other side"\nflat = { facing = "+Z", at = [50, 25, -0.3], size = [100, 50] }\n'
    _, two = both(FACED.replace("Z0.", "Z-0.3"), varies="[0, 0, 0.5]", job=SECOND + face)
    finding, = said(two, "may-stay-raw")
    assert finding.value == pytest.approx(0.5 + 3 * LENGTH - 0.3, abs=1e-9)
    _, two = both(FACED.replace("Z0.", "Z-0.6"), varies="[0, 0, 0.5]", job=SECOND + face.replace("-0.3", "-0.6"))
    assert said(two, "may-stay-raw") == []


def test_what_varies_turns_with_the_part(both: Both) -> None:
    """By a quarter about Z: what was along X lies along Y. Zero was and is at two sides that nothing cut."""
    turned = SECOND.replace('about = "x", by = 180', 'about = "z", by = 90').replace("[0, 0, -20]", "[0, 0, -20]")
    wide = turned.replace('use = "vise"', 'use = "vise"')
    _, two = both("G0 X0. Y0.", varies="[1.0, 0.2, 0]", job=wide)
    assert two.kit.setup.blank.varies[:2] == pytest.approx((0.2, 1.0), abs=1e-9)


def test_what_the_second_setup_states_itself_goes_before(both: Both) -> None:
    _, two = both(across(0.3), varies="[0, 0, 0.5]", again="[0, 0, 0.1]")
    assert two.kit.setup.blank.varies == (0.0, 0.0, 0.1)
    assert not doubted(two)


def test_what_nobody_states_or_measures_is_open(both: Both) -> None:
    unstated = "how much the blank from “first side” varies (not stated)"
    unmeasured = "how far the cuts of “first side” lie off (not measured)"
    _, two = both(across(0.3))
    assert unstated in [one.text for one in verdict(two).open]
    assert unstated in verdict(two).text
    _, two = both(across(3.0), varies="[0, 0, 0.5]")
    said_open = [one.text for one in verdict(two).open]
    assert unstated not in said_open
    assert unmeasured in said_open
    _, two = both(across(3.0), varies="[0, 0, 0.5]", first="G0 X0. Y0.")
    assert unmeasured not in [one.text for one in verdict(two).open]  # nothing was cut
