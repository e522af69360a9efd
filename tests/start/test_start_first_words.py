"""What is said first of the collected programs, beside what a setter says first.

Each program is drafted and proved once, at the pitch a proof takes by itself and its guesses untried: a minute of processor time in
all.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.golden.corpus.first_words import MOST_TOLD, Heard, agrees, changed, entries, false_dangers, hear

_SHARE_THAT_AGREES = 0.9
_SHARE_SHORT = 0.9


@pytest.fixture(scope="module")
def heard(corpus: Path) -> dict[str, Heard]:
    """What is told of every program of the corpus."""
    return {path.name: hear(path) for path in sorted(corpus.iterdir()) if path.suffix != ".tsv"}


def test_the_table_is_of_these_programs(corpus: Path) -> None:
    assert changed(entries().values(), corpus) == []


def test_the_first_finding_is_what_a_setter_says_first(heard: dict[str, Heard]) -> None:
    table = entries()
    others = {name: entry.says for name, entry in table.items() if not agrees(entry, heard[name])}
    assert len(others) <= (1 - _SHARE_THAT_AGREES) * len(table), others


def test_no_danger_where_nothing_is_wrong(heard: dict[str, Heard]) -> None:
    false = {name: [one.text for one in false_dangers(entry, heard[name])] for name, entry in entries().items()}
    assert {name: texts for name, texts in false.items() if texts} == {}


def test_few_findings_are_told_by_default(heard: dict[str, Heard]) -> None:
    long = {name: len(one.told) for name, one in heard.items() if len(one.told) > MOST_TOLD}
    assert len(long) <= (1 - _SHARE_SHORT) * len(heard), long
