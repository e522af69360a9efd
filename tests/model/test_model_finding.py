"""One cause is one finding: what is folded together, what stays apart, what is counted."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from setwright.model.answer import document
from setwright.model.check import checks_in
from setwright.model.finding import Finding, Signal, State, brief, fold, together

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


CAUSE = replace(LOW, slug="no-length", signal=Signal.CAUTION, text="T1 works without its length.", line=5, brings=("low", "deep"))
DEEP = replace(LOW, slug="deep", signal=Signal.DANGER, text="T1 runs into the blank", line=30)


def test_what_follows_is_told_with_its_cause_under_the_worst_word() -> None:
    other = replace(DEEP, tool=2, text="T2 runs into the blank", signal=Signal.WARNING)
    folded = fold([*at(9, 52), DEEP, other, CAUSE])
    assert [(one.slug, one.line, one.signal) for one in folded] == [("no-length", 5, Signal.DANGER), ("deep", 30, Signal.WARNING)]
    assert folded[0].text == "T1 works without its length; so T1 runs into the blank (line 30), and 1 more that follow"
    assert [one.slug for one in fold([*at(9), DEEP, CAUSE], lines=None)] == ["no-length", "deep", "low"]


@pytest.mark.parametrize("apart", [{"tool": 2}, {"setup": "second"}, {"file": "b.nc"}, {"line": 4}, {"state": State.UNDECIDED},
                                   {"slug": "high"}, {"tool": None}])  # fmt: skip
def test_what_cannot_follow_stands_by_itself(apart: dict[str, object]) -> None:
    assert len(fold([CAUSE, replace(DEEP, **apart)])) == 2


def test_a_cause_in_no_line_or_of_a_name_holds_everywhere() -> None:
    named = replace(CAUSE, tool=None, cause="units")
    assert len(fold([replace(CAUSE, file="", line=0), DEEP])) == 1
    assert len(fold([named, replace(DEEP, cause="units")])) == 1
    assert len(fold([named, replace(DEEP, cause="rapid")])) == 2
    assert len(fold([replace(CAUSE, cause="units"), replace(DEEP, cause="rapid")])) == 2


def test_the_nearest_cause_before_it_is_meant() -> None:
    later = replace(CAUSE, line=20)
    told = together([replace(CAUSE, cause="first"), replace(later, cause="second"), DEEP])
    assert [[same[0].line for same in one] for one in told] == [[20, 30], [5]]


def test_a_document_names_what_each_finding_is_told_with() -> None:
    body = document("prove", {}, findings=[*at(9, 52), DEEP, CAUSE, replace(LOW, tool=2)])
    said = [(one["slug"], one["tool"], one["line"], one["told_with"]) for one in body["findings"]]
    assert said == [("no-length", 1, 5, None), ("deep", 1, 30, 0), ("low", 1, 9, 0), ("low", 2, 9, None), ("low", 1, 52, 0)]
    assert all("brings" not in one for one in body["findings"])


def test_what_checks_bring_about_are_checks_and_never_themselves() -> None:
    checks = [check.META for room in ("read", "kit", "prove", "touch") for check in checks_in(f"setwright.{room}.checks")]
    slugs = {meta.slug for meta in checks} | {"under-another-reading"}
    brings = {meta.slug: meta.brings for meta in checks}
    assert any(brings.values())
    assert {slug for brought in brings.values() for slug in brought} <= slugs
    for slug in brings:
        seen, todo = set(), list(brings[slug])
        while todo:
            seen.add(one := todo.pop())
            todo += [further for further in brings.get(one, ()) if further not in seen]
        assert slug not in seen, f"{slug} would follow from itself"


def test_questions_stand_behind_what_is_wrong() -> None:
    asked = replace(LOW, slug="asked", question=True, line=1)
    assert [one.slug for one in fold([asked, *at(30)])] == ["low", "asked"]
    assert [one.slug for one in fold([replace(asked, signal=Signal.DANGER), *at(30)])] == ["asked", "low"]


def test_the_document_has_the_signal_words_of_the_headline() -> None:
    """What nothing brings about stands in the document under the word under which it is told."""
    given = [*at(9, 52), DEEP, CAUSE, replace(LOW, tool=2), replace(CAUSE, tool=3, line=70)]
    alone = [one for one in document("prove", {}, findings=given)["findings"] if one["told_with"] is None]
    told = fold(given)
    assert [(one["slug"], one["tool"], one["signal"]) for one in alone] == [(one.slug, one.tool, one.signal.value) for one in told]
    assert {one.signal for one in told if one.slug == "no-length"} == {Signal.DANGER, CAUSE.signal}


def test_what_has_no_line_is_told_by_name_and_listed_whole_when_asked_for() -> None:
    names = ("depth", "width", "bore", "step")
    missed = [Finding(slug="missed", signal=Signal.WARNING, text=f"“{name}” is 1 mm short") for name in names]
    assert [one.text for one in fold(missed)] == ["“depth” is 1 mm short; likewise “width”, “bore” and “step”"]
    assert [one.text for one in fold(missed, lines=None)] == [one.text for one in missed]


def test_a_line_that_concerns_every_tool_is_told_with_what_follows_with_any_of_them() -> None:
    cause = Finding(slug="bare", signal=Signal.WARNING, text="no length is applied", line=4, brings=("hit",))
    hits = [Finding(slug="hit", signal=Signal.DANGER, text=f"T{tool} hits", line=4 + tool, tool=tool) for tool in (1, 2)]
    assert [one.text for one in fold([*hits, cause])] == ["no length is applied; so T1 hits (line 5), and 1 more that follow"]
