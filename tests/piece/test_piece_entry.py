"""Values typed one a line, added from a file, written for other programs: all or none of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest
from rich.console import Console

from setwright.base.errors import InputRefused
from setwright.cli.common import Asked
from setwright.cli.piece_entry import add_file, enter_values, write_results
from setwright.jobfolder.load import JobFolder, load_job
from setwright.jobfolder.measured import read_measured
from setwright.piece.influence import Influence
from setwright.piece.station import advise_piece
from tests.jobfolder.test_jobfolder_qif import BY_HAND
from tests.piece.conftest import demo, measured

SETUP = "first side"


@pytest.fixture
def folder(tmp_path: Path) -> JobFolder:
    """The bearing cap, nothing of it measured."""
    found = demo("bearing-cap", tmp_path)
    (found.root / "measured.csv").unlink()
    return found


def asked(said: io.StringIO | None = None) -> Asked:
    to = Console(file=said or io.StringIO(), width=200)
    return Asked("piece", json=False, units="mm", quiet=False, people=to, progress=to)


def typing(*lines: str) -> Callable[[], str]:
    rest = iter([f"{line}\n" for line in lines])
    return lambda: next(rest, "")


def entered(folder: JobFolder, *lines: str, live: bool = False, piece: str | None = None, said: io.StringIO | None = None) -> int:
    return enter_values(asked(said), folder, setup=SETUP, guard=2.0, piece=piece, line=typing(*lines), live=live)


def written(folder: JobFolder) -> list[tuple[str, str, float, str]]:
    return [(one.piece, one.feature, round(one.value, 6), one.gauge) for one in read_measured(load_job(folder.root)).measurements]


def test_what_a_gauge_sends_goes_to_the_features_in_their_order(folder: JobFolder) -> None:
    assert entered(folder, "+020.030", "", "117,98 mm", "seat diameter 2.0479528 in", "78.00") == 4
    assert written(folder) == [("1", "width of slot", 20.03, "calliper"), ("1", "length of step", 117.98, "calliper"),
                               ("1", "seat diameter", 52.018001, "bore-micrometer"), ("1", "width of step", 78.0, "calliper")]
    assert entered(folder, "20.02", "piece 5", "20.01", "end", "99") == 2
    assert [(piece, value) for piece, name, value, _ in written(folder) if name == "width of slot"] == [
        ("1", 20.03), ("2", 20.02), ("5", 20.01)]
    assert entered(folder, "12.529", piece="1") == 1  # of piece 1 the depth of the seat comes next
    assert written(folder)[-1] == ("1", "depth of seat", 12.529, "depth-micrometer")


@pytest.mark.parametrize(("lines", "number", "wanted"), [
    (("20.03", "117.9 8"), 2, "no value of “length of step”"), (("20.03", "1179.8 mm", "3.07", "x"), 3, "looks like inches"),
    (("20.03", "with ruler"), 2, "there are bore-micrometer, calliper"), (("piece", "20.03"), 1, "no value of"),
    (("end",), 0, "no value came in"),
])  # fmt: skip
def test_one_wrong_line_of_many_and_nothing_is_written(folder: JobFolder, lines: tuple[str, ...], number: int, wanted: str) -> None:
    with pytest.raises(InputRefused, match=wanted) as refusal:
        entered(folder, *lines)
    (problem,) = refusal.value.problems
    assert (problem.span.line if problem.span else 0) == number
    assert problem.remedy
    assert not (folder.root / "measured.csv").exists()


def test_at_the_terminal_a_wrong_line_is_asked_for_again_and_the_last_can_be_taken_back(folder: JobFolder) -> None:
    said = io.StringIO()
    lines = ("20.09", "undo", "undo", "twenty", "20.025", "", "with depth-micrometer", "78", "end")
    count = entered(folder, *lines, live=True, said=said)
    assert count == 2
    assert written(folder) == [("1", "width of slot", 20.025, "calliper"), ("1", "width of step", 78.0, "depth-micrometer")]
    told = said.getvalue()
    assert "written; proved bad" in told  # 20.09 is above 20.05 + 0.03
    assert "written; undecided" in told  # no value of a calliper proves 0.05
    for words in ("is taken back", "nothing was written yet", "not written: “twenty”"):
        assert words in told


def test_undo_takes_nothing_from_values_that_somebody_else_wrote_since(folder: JobFolder) -> None:
    path, said, texts = folder.root / "measured.csv", io.StringIO(), iter(("20.025", "undo", "end"))

    def line() -> str:
        text = next(texts)
        if text == "undo":
            path.write_text(path.read_text() + "\n")
        return f"{text}\n"

    enter_values(asked(said), folder, setup=SETUP, guard=2.0, piece=None, line=line, live=True)
    assert [value for _, _, value, _ in written(folder)] == [20.025]
    assert "not taken back: somebody else wrote into measured.csv since" in said.getvalue()


def test_a_value_belongs_to_one_setup_and_needs_a_gauge(folder: JobFolder) -> None:
    with pytest.raises(InputRefused, match="2 setups"):
        enter_values(asked(), folder, setup=None, guard=2.0, piece=None, line=typing("20.03"), live=False)
    for gauge in (folder.root / "shop/gauges").glob("*.toml"):
        gauge.write_text("".join(line for line in gauge.read_text().splitlines(True) if not line.startswith("measures")))
    with pytest.raises(InputRefused, match=r"no gauge is named for .*write with and one of"):
        enter_values(asked(), load_job(folder.root), setup=SETUP, guard=2.0, piece=None, line=typing("20.03"), live=False)


RESULTS = BY_HAND.replace("inch", "mm").replace("depth", "depth of seat").replace("bore", "seat diameter").replace(
    "0.5004", "52.018").replace("1.58", "12.529").replace("A7", "1")  # fmt: skip


def test_results_of_another_program_are_read_and_added_once(folder: JobFolder) -> None:
    file = folder.root.parent / "results.qif"
    file.write_text(RESULTS)
    read = read_measured(folder, file, gauge="height-gauge")
    assert [(one.piece, one.feature, one.value, one.span.line) for one in read.measurements] == [
        ("1", "seat diameter", 52.018, 11), ("2", "depth of seat", 12.529, 17)]
    assert add_file(folder, file, gauge="height-gauge", setup=None) == 2
    assert written(folder) == [("1", "seat diameter", 52.018, "height-gauge"), ("2", "depth of seat", 12.529, "height-gauge")]
    before = (folder.root / "measured.csv").read_bytes()
    with pytest.raises(InputRefused, match="says the same"):
        add_file(folder, file, gauge="height-gauge", setup=None)
    assert (folder.root / "measured.csv").read_bytes() == before
    typed = folder.root.parent / "more.csv"
    typed.write_text("piece, feature, value, gauge\n2, length 2, -0.012, typed\n2, depth of seat, 0.49307 in, depth-micrometer\n"
                     "3, T2, new, changed\n")  # fmt: skip
    assert add_file(folder, typed, gauge="", setup=SETUP) >= 3
    both = read_measured(folder)
    assert [(one.register, one.by) for one in both.typings] == [("length 2", -0.012)]
    assert both.changes_of(SETUP)[0].station == 2
    assert both.measurements[-1].value == pytest.approx(0.49307 * 25.4, abs=1e-6)


@pytest.mark.parametrize(("text", "gauge", "wanted", "line"), [
    (RESULTS, "", "--gauge bore-micrometer or calliper", 0), (RESULTS, "ruler", 'no gauge is called "ruler"', 0),
    (RESULTS, "typed", 'no gauge is called "typed"', 0),
    (RESULTS.replace("depth of seat", "depth of sea"), "calliper", 'did you mean "depth of seat"', 17),
    (RESULTS.replace("12.529", "much"), "calliper", "not a number", 17), (RESULTS[:-20], "calliper", "no XML", 0),
])  # fmt: skip
def test_results_that_do_not_fit_are_refused_with_their_place(
    folder: JobFolder, text: str, gauge: str, wanted: str, line: int
) -> None:
    file = folder.root.parent / "results.qif"
    file.write_text(text)
    with pytest.raises(InputRefused, match=wanted) as refusal:
        add_file(folder, file, gauge=gauge, setup=None)
    span = refusal.value.problems[0].span
    assert (span.line if span else 0) == line
    assert not (folder.root / "measured.csv").exists()


def test_judged_values_are_written_whole_or_not_at_all(cap: Influence, tmp_path: Path) -> None:
    rows = [("1", "depth of seat", 12.516, "depth-micrometer"), ("1", "seat diameter", 52.040, "bore-micrometer"),
            ("1", "seat to datum A x", 0.003, "height-gauge"), ("1", "seat to datum A y", -0.004, "height-gauge")]  # fmt: skip
    values = measured(cap, rows)
    results = [advise_piece(cap, values)]
    write_results(asked(), tmp_path / "out.csv", results, values, "mm")
    table = list(csv.DictReader((tmp_path / "out.csv").read_text().splitlines()))
    assert [(one["feature"], one["value"], one["U (k = 2)"], one["lower"], one["upper"], one["decision"]) for one in table] == [
        ("depth of seat", "12.516", "0.008", "12.500", "12.530", "accept"),
        ("seat diameter", "52.040", "0.006", "52.000", "52.030", "reject"),
        ("seat to datum A", "0.010", "0.032", "", "0.050", "accept"),  # twice 0.005 from the centre
    ]
    write_results(asked(), tmp_path / "out.qif", results, values, "mm")
    root = ElementTree.fromstring((tmp_path / "out.qif").read_text())
    assert [one.text for one in root.iter("{http://qifstandards.org/xsd/qif3}Value")] == ["12.516", "52.04", "0.003", "-0.004"]
    for name in ("out.txt", "no/out.csv"):
        with pytest.raises(InputRefused):
            write_results(asked(), tmp_path / name, results, values, "mm")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["out.csv", "out.qif"]
