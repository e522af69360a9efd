"""The table of what real programs read as; rows were checked by the naive second reader, see tests/golden/corpus/make.py."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.golden.corpus.make import HEAD, TABLE, row_of

TOLERANCE_MM = 1e-6


def rows() -> dict[str, dict[str, str]]:
    with TABLE.open(encoding="utf-8") as file:
        return {row["file"]: row for row in csv.DictReader(file, delimiter="\t")}


def test_the_table_is_whole() -> None:
    table = rows()
    assert len(table) == 79
    assert sum(row["end"].split()[0] in ("M30", "M2", "M99", "end") for row in table.values()) >= 72


def test_every_program_reads_as_its_row_says(corpus: Path) -> None:
    seen = 0
    for name, expected in rows().items():
        found = row_of(corpus / name)
        seen += 1
        for column in HEAD:
            if column == "extents":
                assert close(found[column], expected[column]), (name, found[column], expected[column])
            else:
                assert found[column] == expected[column], (name, column)
    assert seen == 79


def close(found: str, expected: str) -> bool:
    """The same offsets in the same order, the numbers within the tolerance."""
    one, two = found.replace(";", "").split(), expected.replace(";", "").split()
    if len(one) != len(two):
        return False
    for a, b in zip(one, two, strict=True):
        if a != b and (a.startswith("G") or abs(float(a) - float(b)) > TOLERANCE_MM):
            return False
    return True


@pytest.mark.parametrize(
    ("a", "b", "same"), [("G54 1.0 2.0", "G54 1.0000005 2.0", True), ("G54 1.0", "G54 1.1", False), ("G54 1", "G55 1", False)]
)
def test_the_comparison_itself(a: str, b: str, same: bool) -> None:
    assert close(a, b) is same
