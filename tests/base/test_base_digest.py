"""Hashes of several parts: their borders count."""

import hashlib

from setwright.base.digest import digest_bytes


def test_parts_are_told_apart_by_their_borders() -> None:
    assert len({digest_bytes(b"ab", b"c"), digest_bytes(b"a", b"bc"), digest_bytes(b"abc"), digest_bytes(b"abc", b"")}) == 4


def test_each_part_stands_behind_its_length_in_eight_bytes() -> None:
    written = (2).to_bytes(8, "little") + b"ab" + (1).to_bytes(8, "little") + b"c"
    assert digest_bytes(b"ab", b"c") == hashlib.sha256(written).hexdigest()
