"""One reading changed, every other byte as it was."""

from __future__ import annotations

import datetime
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.base.errors import InputRefused
from setwright.record.guesses import all_settled, settle_guess
from setwright.record.readings import ReadingKind, add_reading, change_reading, readings_in, remove_reading
from setwright.record.refusals import NotThere

CONTACT, LENGTH = ReadingKind.CONTACT, ReadingKind.TOOL_LENGTH
TEXT = """\
# made on Monday
[[contact]]
setup = "a"   # the first
[contact.display]
x = 1

[[tool_length]]
tool = 3

# about b
[[contact]]
setup = "b"
display = { x = 2 } # said twice
"""
DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo" / "bearing-cap" / "readings.toml"


def test_a_change_touches_only_its_own_lines() -> None:
    assert change_reading(TEXT, CONTACT, 2, {"setup": "c"}) == TEXT.replace('setup = "b"\ndisplay = { x = 2 }', 'setup = "c"')
    first = change_reading(TEXT, CONTACT, 1, {"setup": "c"})
    assert first == '# made on Monday\n[[contact]]\nsetup = "c"\n' + TEXT[TEXT.index("\n[[tool_length]]") :]
    assert remove_reading(TEXT, LENGTH, 1) == TEXT.replace("[[tool_length]]\ntool = 3\n\n", "")
    assert remove_reading(TEXT, CONTACT, 2) == TEXT[: TEXT.index('[[contact]]\nsetup = "b"')]


@pytest.mark.parametrize("number", range(1, 6))
def test_the_others_stay(number: int) -> None:
    text = DEMO.read_text()
    held = readings_in(text, CONTACT)
    without = remove_reading(text, CONTACT, number)
    assert readings_in(without, CONTACT) == held[: number - 1] + held[number:]
    changed = change_reading(text, CONTACT, number, held[0])
    assert readings_in(changed, CONTACT) == [*held[: number - 1], held[0], *held[number:]]
    assert readings_in(changed, LENGTH) == readings_in(without, LENGTH) == readings_in(text, LENGTH)


NUMBERS = st.one_of(st.integers(-(2**53), 2**53), st.floats(allow_nan=False, allow_infinity=False), st.booleans())
PLAIN = st.one_of(st.text(), NUMBERS, st.dates())


@given(st.dictionaries(st.text(), st.one_of(PLAIN, st.dictionaries(st.text(), PLAIN), st.lists(st.integers(0, 9))), min_size=1))
def test_what_is_written_is_what_is_read(reading: dict[str, Any]) -> None:
    assert readings_in(add_reading(TEXT, CONTACT, reading), CONTACT)[2] == reading
    assert readings_in(change_reading(TEXT, CONTACT, 1, reading), CONTACT)[0] == reading


def test_the_first_reading_and_the_last() -> None:
    text = add_reading("", LENGTH, {"tool": 3, "when": datetime.date(2026, 3, 1), "none": None})
    assert tomllib.loads(text) == {"tool_length": [{"tool": 3, "when": datetime.date(2026, 3, 1)}]}
    assert remove_reading(text, LENGTH, 1) == ""
    assert tomllib.loads(add_reading("# no line end", LENGTH, {"tool": 1})) == {"tool_length": [{"tool": 1}]}


@pytest.mark.parametrize("number", [0, -1, 3])
def test_a_reading_that_is_not_there(number: int) -> None:
    with pytest.raises(NotThere, match=r"readings\.toml has 2"):
        remove_reading(TEXT, CONTACT, number)


def test_what_cannot_be_written_is_refused() -> None:
    for value in (float("nan"), object(), "\ud800", -(10**400), [10**400], {"a": 2**63}):
        with pytest.raises(InputRefused):
            add_reading(TEXT, CONTACT, {"x": value})
    with pytest.raises(InputRefused, match="not TOML"):
        change_reading("[[contact", CONTACT, 1, {})


def test_a_settled_guess_leaves_with_its_own_mark_only() -> None:
    text = (
        "[blank]\n"
        'box = [1, 2]   # guess: from "(A)"\n'
        "corner = [0]   # guess: default\n"
        "# guess: the long one\n"
        "stickout = 4\n\n"
        '[[guess]]\nsetup = "a"\nwhat = "box"\nevidence = "from \\"(A)\\""\n'
        'key = "job.toml: setup.blank.box"\nline = 3\nlow = [1]\nhigh = [2]\n\n'
        '[[guess]]\nsetup = "a"\nwhat = "corner"\nevidence = "default"\n\n'
        '[[guess]]\nsetup = "a"\nwhat = "lengths"\nevidence = "default"\n\n'
        '[[guess]]\nsetup = "a"\nwhat = "stick-out"\nevidence = "the long one"\n'
    )
    box = settle_guess(text, setup="a", what="box")
    assert "box = [1, 2]\ncorner" in box
    assert [one["what"] for one in tomllib.loads(box)["guess"]] == ["corner", "lengths", "stick-out"]
    corner = settle_guess(box, setup="a", what="corner")
    assert "# guess: default" in corner, "the lengths rest on the same"
    assert "guess: default" not in settle_guess(corner, setup="a", what="lengths")
    assert "# guess: the long one\n" not in settle_guess(text, setup="a", what="stick-out")
    with pytest.raises(NotThere, match="makes no guess"):
        settle_guess(box, setup="a", what="box")
    assert all_settled(text) == all_settled(box) == all_settled(corner), "whatever the order"
    assert all_settled(text) == "[blank]\nbox = [1, 2]\ncorner = [0]\nstickout = 4"
    assert all_settled(text.replace("[1, 2]", "[1, 3]")) != all_settled(text)
