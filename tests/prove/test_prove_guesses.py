"""Which guesses decide: a plate whose sizes are guessed, and programs that stay clear of it by a known gap."""

from __future__ import annotations

import re

import pytest

from setwright.prove import guesses
from setwright.prove.case import Rest
from setwright.prove.guesses import with_tried_guesses
from setwright.prove.verdict import verdict
from tests.prove.conftest import JOB, JOB_IN_INCHES, Proving

SLOT = "G0 X-10. Y25.\nZ-4.\nG1 X110. F300."
OVER = f"G0 X-10. Y25.\nZ3.\nX110.\nX-10.\n{SLOT}"
"""A rapid across the plate 3 mm over its top, and back, then a slot 4 deep."""
THROUGH = "G0 X-10. Y25.\nZ-1.\nX110."
"""A rapid 1 mm below the top."""
TOP = 'key = "job.toml: setup.blank.box"\nfaces = ["top"]\nlow = [{}]\nhigh = [{}]'
BACK = TOP.replace("top", "back")
FLUTES = 'key = "shop/tools/em10.toml: flute_length"\nlow = [{}]\nhigh = [{}]'
STICKOUT = 'key = "job.toml: setup.tool.1.stickout"\nlow = [{}]\nhigh = [{}]'


def job(answer: str, *, of: str = JOB) -> str:
    """The plate with one guess."""
    return f'{of}\n[[guess]]\nsetup = "first side"\nwhat = "the guess"\nevidence = "nothing tells it"\n{answer}\n'


def tried(proving: Proving, moves: str, answer: str) -> Rest:
    (rest,) = with_tried_guesses(proving(moves, job=job(answer))).rests_on
    return rest


@pytest.mark.parametrize(
    ("moves", "answer", "way", "at", "step"),
    [
        (OVER, TOP.format(-1, 5), "with its top above Z", 3.0, 5.0 / 32),
        (THROUGH, TOP.format(-3, 0), "with its top below Z", -1.0, 3.0 / 32),
        (SLOT, FLUTES.format(3, 22), "below", 4.0, 19.0 / 32),
    ],
)  # fmt: skip
def test_the_number_from_which_on_it_hurts_is_named(
    proving: Proving, moves: str, answer: str, way: str, at: float, step: float
) -> None:
    """The last number at which nothing changes lies before the gap's own, by no more than a thirty-second of the way."""
    rest = tried(proving, moves, answer)
    assert rest.decides
    told = re.match(rf"{way} (-?[\d.]+) mm: ", rest.how)
    assert told, rest.how
    before = at - float(told[1]) if way.endswith("above Z") else float(told[1]) - at
    assert -1e-4 <= before <= step + 1e-4


def test_a_guessed_underside_is_told_as_a_thickness(proving: Proving) -> None:
    bottom = TOP.replace("top", "bottom").format(-20, -3)
    rest = tried(proving, "G0 X-10. Y25.\nZ2.\nG1 X20. F300.\nZ-5.\nX60.\nG0 Z-8.", bottom)
    assert re.match(r"thinner than \d[\d.]* mm: ", rest.how), rest.how


def test_what_comes_and_what_goes_is_said(proving: Proving) -> None:
    came = tried(proving, OVER, TOP.format(-1, 5)).how
    assert came.endswith(": T1 end mill 10 runs into the blank at rapid if it reaches above Z3.000 (plate.nc:9)")
    gone = tried(proving, THROUGH, TOP.format(-3, 0)).how
    assert gone.endswith(": no longer “T1 end mill 10 runs into the blank at rapid if it reaches above Z-1.000 (plate.nc:9)”")


def test_a_guess_never_makes_a_finding_go_away(proving: Proving) -> None:
    told = verdict(with_tried_guesses(proving(THROUGH, job=job(TOP.format(-3, 0))))).text
    rapid = "T1 end mill 10 runs into the blank at rapid if it reaches above Z-1.000"
    assert told.startswith(f"Nothing hits for certain; WARNING: {rapid}")
    assert "; it rests on a guess: the guess (with its top below Z -" in told
    told = verdict(with_tried_guesses(proving(THROUGH, job=job(TOP.format(-0.5, 0))))).text
    assert told.startswith("DANGER: T1 end mill 10 runs into the blank at rapid, 1.000 mm deep")


@pytest.mark.parametrize("answer", [TOP.format(-0.5, 2), FLUTES.format(5, 40), STICKOUT.format(30, 60)])
def test_a_range_within_which_nothing_changes_decides_nothing(proving: Proving, answer: str) -> None:
    rest = tried(proving, OVER, answer)
    assert (rest.decides, rest.how) == (False, "")
    assert "guess" not in verdict(with_tried_guesses(proving(OVER, job=job(answer)))).text


def not_asked(*_: object, **__: object) -> None:
    raise AssertionError("a proof was run")


@pytest.mark.parametrize(("moves", "answer", "needed"), [
    (SLOT, FLUTES.format(12, 40), False),  # all that changes stays 12 above a tip that goes down by less
    (SLOT, FLUTES.format(3, 22), True),
    (SLOT, STICKOUT.format(30, 60), False),
    (SLOT, STICKOUT.format(30, 600), True),  # the spindle would have to go up beyond its travel
    (SLOT.replace("G0 X-10.", "G0 Z-31.\nX-10."), STICKOUT.format(30, 60), True),
])  # fmt: skip
def test_what_changes_only_above_everything_needs_no_proof(
    proving: Proving, monkeypatch: pytest.MonkeyPatch, moves: str, answer: str, needed: bool
) -> None:
    proof = proving(moves, job=job(answer))
    monkeypatch.setattr(guesses, "prove", not_asked)
    if needed:
        with pytest.raises(AssertionError, match="a proof was run"):
            with_tried_guesses(proof)
    else:
        assert [rest.decides for rest in with_tried_guesses(proof).rests_on] == [False]


@pytest.mark.parametrize("answer", ["", BACK.format(50, 400)])
def test_what_was_not_tried_is_not_passed(proving: Proving, answer: str) -> None:
    """Without a range, and where the other end does not go together: the vise does not open 400 mm."""
    proof = with_tried_guesses(proving(OVER, job=job(answer)))
    assert [rest.decides for rest in proof.rests_on] == [None]
    assert verdict(proof).text.endswith("; 1 guess was not tried.")


def test_what_would_be_too_much_work_is_not_passed(proving: Proving, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guesses, "_MOST_MOTIONS", 20)
    assert tried(proving, OVER, TOP.format(-1, 2)).decides is None


def test_the_number_is_told_in_the_unit_of_the_job(proving: Proving) -> None:
    answer = TOP.format('"-1 mm"', '"5 mm"')
    (rest,) = with_tried_guesses(proving(OVER, job=job(answer, of=JOB_IN_INCHES))).rests_on
    told = re.match(r"with its top above Z ([\d.]+) in: ", rest.how)
    assert told, rest.how
    assert 3.0 - 5.0 / 32 - 1e-3 <= 25.4 * float(told[1]) <= 3.0 + 1e-3


def test_where_halving_would_be_too_much_work_the_end_is_named(proving: Proving, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guesses, "_MOST_HALVED", 20)
    assert tried(proving, OVER, TOP.format(-1, 5)).how.startswith("with its top at Z 5 mm: T1 end mill 10 runs into the blank")
    assert tried(proving, SLOT, FLUTES.format(3, 22)).how.startswith("with 3 mm: ")
