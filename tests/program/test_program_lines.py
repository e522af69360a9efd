"""The lines of a program, taken one by one or all in one go, and those that hold certain signs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.program.source import Lines, Source, SourceText
from setwright.read.station import read_alone


@pytest.mark.parametrize(
    "data",
    [b"", b"\n", b"G0\nG1", b"G0\r\nG1\r\n", b"G0\n\nG1\n\n", "(grün)\nG0\n".encode(), b"(gr\xfcn)\nG0\r\n", b"A\rB\n", b"\r\n\r\n",
     b"A\r\r\nB\r", b"G0\n" * 10_000],
)  # fmt: skip
def test_all_in_one_go_are_those_one_by_one_and_those_of_the_scanner(data):
    lines = Lines.of(data)
    assert list(lines) == [lines[at] for at in range(len(lines))]
    if data:
        text = SourceText(Source("p.nc", data))
        assert list(lines) == [text.line(number) for number in range(1, len(text) + 1)]


def test_the_lines_are_those_of_the_text():
    assert list(Lines.of("(ü)\r\nG0\n\nM30".encode())) == ["(ü)", "G0", "", "M30"]
    assert list(Lines.of(b"(\xfc)\nM30\n")) == ["(ü)", "M30"]
    assert list(Lines.of(b"G0\rM30\r")) == ["G0", "M30"]


@given(st.text("GMXYTNO/;(:tmı1 .\n\r", max_size=60), st.sampled_from(["M", "T", "(;/", "NO:", "GM", "Xt"]))
def test_lines_with_a_sign_are_those_whose_capitals_hold_it(text, signs):
    lines = Lines.of(text.encode())
    held = [at for at, line in enumerate(lines) if any(sign in line.upper() for sign in signs.upper())]
    beyond = [at for at, line in enumerate(lines) if not line.isascii()]
    assert lines.with_any(signs).tolist() == sorted({*held, *beyond})


def test_a_text_whose_lines_end_with_cr_alone_shows_the_lines_that_its_findings_name():
    text = b"O1\rG21 G17 G90 G54\rT1 M6\rS500 M3\rG0 X0 Y0\rG43 H1 Z5.\rG1 Z-1. F100\rG0 Z50.\rM30\rG1 X5.\r"
    found = next(one for one in read_alone({"p.nc": text}).findings if one.slug == "unreachable-code")
    assert (found.line, "G1 X5." in found.excerpt) == (10, True)
