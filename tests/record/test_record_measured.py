"""Lines of a measured.csv added and taken out, every other byte as it was."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import load_job
from setwright.jobfolder.measured import measured_in
from setwright.record.measured import add_measured, remove_measured
from setwright.record.refusals import NotThere

DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo" / "bearing-cap"
ROW = {"piece": "2", "setup": "first side", "feature": "depth of seat", "value": "12.516", "unit": "mm",
       "gauge": "depth-micrometer", "time": "2026-03-03T10:00:00"}  # fmt: skip


def test_a_line_goes_to_the_end_under_the_columns_that_are_there() -> None:
    text = (DEMO / "measured.csv").read_text(encoding="utf-8")
    after = add_measured(text, [ROW], units="mm", setups=2)
    assert after == text + "2, first side, depth of seat, 12.516, depth-micrometer, 2026-03-03T10:00:00\n"
    assert remove_measured(after, len(after.splitlines())) == text


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("", "piece, setup, feature, value, gauge, time\n"
         "2, first side, depth of seat, 12.516, depth-micrometer, 2026-03-03T10:00:00\n"),
        ("Gauge; Feature; Piece; Value\r\n", "Gauge; Feature; Piece; Value\r\ndepth-micrometer; depth of seat; 2; 12.516\r\n"),
        ("piece,feature,value_in,gauge", "piece,feature,value_in,gauge\n2, depth of seat, 12.516 mm, depth-micrometer\n"),
        ("# by hand\n\npiece, feature, value, gauge\n", "# by hand\n\npiece, feature, value, gauge\n"
         "2, depth of seat, 12.516, depth-micrometer\n"),
    ],
)  # fmt: skip
def test_the_columns_decide_what_is_written_and_how(text: str, wanted: str) -> None:
    assert add_measured(text, [ROW], units="mm", setups=2) == wanted


def test_a_value_in_another_unit_than_the_columns_names_it() -> None:
    head = "piece, feature, value, gauge\n"
    inch = ROW | {"unit": "in", "value": "0,4931"}
    assert add_measured(head, [inch], units="mm", setups=1) == head + "2, depth of seat, 0.4931 in, depth-micrometer\n"
    assert add_measured(head, [inch], units="in", setups=1) == head + "2, depth of seat, 0.4931, depth-micrometer\n"


NAMES = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=20)


@given(st.lists(NAMES, min_size=1, max_size=3))
def test_whatever_a_piece_is_called_comes_back_or_is_refused(names: list[str]) -> None:
    folder = load_job(DEMO)
    rows = [ROW | {"piece": name, "time": f"2026-03-03T10:00:{at:02d}"} for at, name in enumerate(names)]
    try:
        text = add_measured("", rows, units="mm", setups=2)
        read = measured_in(folder, text.encode())
    except InputRefused:
        assert any(not name.strip() or name.strip().startswith("#") for name in names)
        return
    assert [one.piece for one in read.measurements] == [name.strip() for name in names]


@pytest.mark.parametrize("cell", ["#4", "a\nb", "x" * 301])
def test_a_cell_that_would_be_read_as_something_else_is_refused(cell: str) -> None:
    with pytest.raises(InputRefused, match="cannot stand in a line"):
        add_measured("", [ROW | {"piece": cell}], units="mm", setups=2)


@pytest.mark.parametrize("number", [1, 2, 3, 99])
def test_only_a_line_with_a_value_is_taken_out(number: int) -> None:
    with pytest.raises(NotThere):
        remove_measured("# remark\npiece, feature, value, gauge\n\n2, bore, 12, plug\n", number)
    assert remove_measured("# remark\npiece, feature, value, gauge\n\n2, bore, 12, plug\n", 4) == \
        "# remark\npiece, feature, value, gauge\n\n"  # fmt: skip
