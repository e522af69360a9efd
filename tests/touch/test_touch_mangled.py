"""A reading that is grossly wrong is named first, and no other is accused, whatever was done to it."""

from __future__ import annotations

from tests.touch.mangled import count


def test_the_guilty_reading_is_named_and_no_innocent_one(tmp_path):
    table = count(tmp_path, range(6))
    assert len(table) == 32
    assert sum(tally["of"] for tally in table.values()) == 192
    assert sum(tally["named"] for tally in table.values()) >= 0.95 * 192
    assert sum(tally["innocent"] for tally in table.values()) <= 1
