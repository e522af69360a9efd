"""Places and refusals as a person sees them."""

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span


def test_caret_stands_under_the_place() -> None:
    excerpt = Span("cap.nc", 12, 4, 2, "G1 G7 X10").excerpt().splitlines()
    assert excerpt[0].index("G7") == excerpt[1].index("^^")


def test_long_lines_are_cut_around_the_place() -> None:
    line = "X1. " * 100 + "G777" + " Y2." * 100
    shown, carets = Span("p", 1, 401, 4, line).excerpt().splitlines()
    assert len(shown) < 120
    assert shown[carets.index("^") : carets.rindex("^") + 1] == "G777"


def test_control_characters_do_not_reach_the_terminal() -> None:
    assert "\x1b" not in Span("p", 1, 1, 1, "\x1b[31mX").excerpt()


def test_a_file_as_a_whole_has_no_line() -> None:
    assert str(Span("job.toml")) == "job.toml"
    assert Span("job.toml").excerpt() == ""


def test_refusal_reads_place_what_why_remedy() -> None:
    refusal = InputRefused(Problem("unknown word", "no control reads it", "write G1", Span("p.nc", 3, 1, 1, "Q")))
    assert str(refusal).splitlines()[0] == "p.nc:3:1: unknown word, no control reads it, write G1"
