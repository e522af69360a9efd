"""Differences between two states of a job, in words."""

from __future__ import annotations

import pytest

from setwright.record.changes import changes


@pytest.mark.parametrize(
    ("before", "after", "wanted"),
    [
        ('[a]\nb = "12.7 mm"', '[a]\nb = "0.5 in"', [("a › b", '"12.7 mm"', '"0.5 in"')]),
        ("[[tool]]\nstation = 1\nd = 6\n[[tool]]\nstation = 2\nd = 8", "[[tool]]\nstation = 2\nd = 9", [
            ("tool “2” › d", "8", "9"), ("tool “1” › station", "1", None), ("tool “1” › d", "6", None)]),
        ("[[contact]]\non = 'top'\n[[contact]]\non = 'left'", "[[contact]]\non = 'top'\n[[contact]]\non = 'right'",
         [("contact 2 › on", '"left"', '"right"')]),
        ("box = [1, 2]", "box = [1, 3]", [("box", "[1, 2]", "[1, 3]")]),
        ("a = 1", "a = 1 # said", [("comments or order", "5 bytes", "12 bytes")]),
        ("a = 1", "a = ", [("line 1", "a = 1", "a = ")]),
    ],
)  # fmt: skip
def test_documents(before: str, after: str, wanted: list[tuple[str, str | None, str | None]]) -> None:
    found = changes({"job.toml": before.encode()}, {"job.toml": after.encode()})
    assert [(one.what, one.before, one.after) for one in found] == wanted


def test_programs_by_line() -> None:
    found = changes({"a.nc": b"G0 X1\nG1 X2\nG1 X3\nM30\n"}, {"a.nc": b"G0 X1\nG1 X2.5\nM30\nM99\n"})
    assert [(one.what, one.before, one.after) for one in found] == [
        ("line 2", "G1 X2", "G1 X2.5"), ("line 3", "G1 X3", None), ("line 4", None, "M99"),
    ]  # fmt: skip


def test_files_that_come_go_or_are_no_text() -> None:
    found = changes({"a": b"1", "c": b"\xff\x00"}, {"b": b"22", "c": b"\xff"})
    assert [str(one) for one in found] == ["a: taken out, was 1 byte", "b: new, 2 bytes", "c: was 2 bytes, is 1 byte"]
    assert changes({"a": b"1\r\n"}, {"a": b"1\n"})[0].what == "line ends"


def test_a_rewritten_program_is_cut_short_and_says_so() -> None:
    old = "".join(f"N{n}\n" for n in range(1000)).encode()
    found = changes({"a.nc": old}, {"a.nc": old.replace(b"N", b"X")})
    assert len(found) == 201
    assert found[-1].what == "and 800 more lines"
