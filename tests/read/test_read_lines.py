"""The lines of a program, taken one by one or all in one go."""

import pytest

from setwright.read.lines import Lines


@pytest.mark.parametrize(
    "data",
    [b"", b"\n", b"G0\nG1", b"G0\r\nG1\r\n", b"\xef\xbb\xbfG0\n\nG1\n\n", "(grün)\nG0\n".encode(), b"(gr\xfcn)\nG0\r\n",
     b"A\rB\n", b"\r\n\r\n"],
)  # fmt: skip
def test_all_in_one_go_are_those_one_by_one(data):
    lines = Lines(data)
    assert list(lines) == [lines[at] for at in range(len(lines))]


def test_the_lines_are_those_of_the_text():
    assert list(Lines("\ufeff(ü)\r\nG0\n\nM30".encode())) == ["(ü)", "G0", "", "M30"]
    assert list(Lines(b"(\xfc)\nM30\n")) == ["(ü)", "M30"]
