"""One cause is one finding: what is folded together, what stays apart, what is counted."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from setwright.model.finding import Finding, Signal, State, brief, fold

LOW = Finding(slug="low", signal=Signal.WARNING, text="T1 crosses low.", file="a.nc", line=9, tool=1, setup="first")


def at(*lines: int, **other: object) -> list[Finding]:
    return [replace(LOW, line=line, **other) for line in lines]


@pytest.mark.parametrize(
    ("lines", "behind"),
    [
        ((9,), "."),
        ((9, 9, 9), "."),
        ((9, 30), "; also in line 30"),
        ((9, 30, 52), "; also in lines 30 and 52"),
        ((9, 30, 52, 61), "; also in lines 30, 52 and 61"),
        ((9, 30, 52, 61, 70), "; also in lines 30, 52 and 2 more"),
        ((9, *range(20, 220)), "; also in lines 20, 21 and 198 more"),
    ],
)
def test_the_other_lines_stand_behind_the_first(lines: tuple[int, ...], behind: str) -> None:
    found = at(*lines)
    random.Random(4).shuffle(found)
    assert [(one.line, one.text) for one in fold(found)] == [(9, f"T1 crosses low{behind}")]


def test_every_line_is_listed_when_asked_for() -> None:
    assert fold(at(9, 30, 52, 61, 70), lines=None)[0].text.endswith("; also in lines 30, 52, 61 and 70")


def test_the_worst_place_stands_for_the_cause() -> None:
    folded = fold([*at(9, 30), *at(52, signal=Signal.DANGER)])
    assert [(one.signal, one.line) for one in folded] == [(Signal.DANGER, 52)]
    assert folded[0].text.endswith("; also in lines 9 and 30")


@pytest.mark.parametrize("other", [{"tool": 2}, {"body": "fixed jaw"}, {"setup": "second"}, {"slug": "high"}, {"file": "b.nc"},
                                   {"state": State.UNDECIDED}, {"cause": "no length"}])  # fmt: skip
def test_other_causes_stay_apart(other: dict[str, object]) -> None:
    assert len(fold([*at(9), *at(30, **other)])) == 2


def test_a_named_cause_holds_over_tools_bodies_and_files() -> None:
    folded = fold([*at(9, cause="no G43"), *at(30, cause="no G43", tool=2), *at(4, cause="no G43", file="b.nc", body="blank")])
    assert [one.text for one in folded] == ["T1 crosses low; also in lines 30 and b.nc:4"]
    assert len(fold([*at(9, cause="no G43"), *at(30, cause="no G43", setup="second")])) == 2


def test_notices_are_counted_by_cause_and_the_undecided_kept() -> None:
    small = [replace(LOW, slug="small", signal=Signal.NOTICE, line=line) for line in (3, 4, 5)]
    other = replace(LOW, slug="smaller", signal=Signal.NOTICE)
    open_one = replace(LOW, slug="open", state=State.UNDECIDED, signal=Signal.CAUTION)
    short = brief([*small, other, open_one, *at(9, 30)])
    assert [one.slug for one in short.told] == ["low"]
    assert [one.slug for one in short.undecided] == ["open"]
    assert short.notices == 2
    assert brief([]) == brief(iter(()))
