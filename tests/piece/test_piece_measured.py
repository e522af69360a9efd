"""measured.csv: what is read, and every problem with its place and what to write instead."""

import datetime
from pathlib import Path

import pytest

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import JobFolder, load_job
from setwright.jobfolder.measured import read_measured
from tests.piece.conftest import demo

HEAD = "piece, feature, value, gauge, time\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> JobFolder:
    return demo("bearing-cap", tmp_path_factory.mktemp("measured"))


def written(folder: JobFolder, text: str) -> Path:
    path = folder.root / "other.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_values_units_times_and_changes_are_read(folder: JobFolder) -> None:
    text = ("# a remark\n" + HEAD + "1, depth of seat, 12.529, depth-micrometer, 2026-03-03T09:05\n"
            "1, seat diameter, 2.048 in, bore-micrometer,\n\n2, length 2, 0.011, typed\n"
            "2, depth of seat, 12.516, depth-micrometer")  # fmt: skip
    read = read_measured(folder, written(folder, text), registers={"first side": ["length 2"], "second side": []})
    first, second, third = read.measurements
    assert (first.setup, first.value, first.when) == ("first side", 12.529, datetime.datetime(2026, 3, 3, 9, 5))
    assert second.value == pytest.approx(52.0192)
    assert (third.piece, third.span.line) == ("2", 7)
    assert [(one.register, one.by, one.piece) for one in read.typings] == [("length 2", 0.011, "2")]
    assert read.pieces("first side") == ("1", "2")


def test_semicolons_with_decimal_commas_are_read(folder: JobFolder) -> None:
    read = read_measured(folder, written(folder, "piece;feature;value;gauge\n1;depth of seat;12,529;depth-micrometer\n"))
    assert read.measurements[0].value == 12.529


def test_the_head_may_name_the_unit(folder: JobFolder) -> None:
    read = read_measured(folder, written(folder, "piece, feature, value_in, gauge\n1, depth of seat, 0.4931, depth-micrometer\n"))
    assert read.measurements[0].value == pytest.approx(0.4931 * 25.4)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("", "the file is empty"),
        ("piece, feature, value\n", 'the column "gauge" is missing'),
        ("piece, feature, valeu, gauge\n", 'did you mean "value"'),
        ("piece, feature, value, gauge, gauge\n", "a column is there twice"),
        (HEAD + "1, depth of seet, 12.5, depth-micrometer\n", 'did you mean "depth of seat"'),
        (HEAD + "1, depth of seat, 12.5, depth-mikrometer\n", 'did you mean "depth-micrometer"'),
        (HEAD + "1, depth of seat, 12.5, laser\n", "shop/gauges/laser.toml"),
        (HEAD + "1, depth of seat, , depth-micrometer\n", "value is missing in this line"),
        (HEAD + ", depth of seat, 12.5, depth-micrometer\n", "piece is missing in this line"),
        (HEAD + "1, depth of seat, 12,5, depth-micrometer, 2026-03-03, 1\n", "put a decimal point"),
        (HEAD + "1, depth of seat, twelve, depth-micrometer\n", "is not a number"),
        (HEAD + "1, depth of seat, nan, depth-micrometer\n", "is not a number"),
        (HEAD + "1, depth of seat, 12.5 rpm, depth-micrometer\n", "a length is wanted here"),
        (HEAD + "1, depth of seat, 0.4921, depth-micrometer\n", "looks like inches"),
        (HEAD + "1, depth of seat, 12.5, depth-micrometer, noon\n", '"noon" is no time'),
        (HEAD + "1, depth of seat, 12.5, depth-micrometer\n" * 2, "line 2 says the same"),
        (HEAD + "2, length 9, 0.01, typed\n", 'no register is called "length 9"'),
        ("piece, setup, feature, value, gauge\n1, third side, depth of seat, 12.5, depth-micrometer\n", "no setup is called"),
        ("\x00", "binary"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_line(folder: JobFolder, text: str, wanted: str) -> None:
    with pytest.raises(InputRefused) as refusal:
        read_measured(folder, written(folder, text), registers={"first side": ["length 2"], "second side": []})
    assert wanted in str(refusal.value)
    assert "other.csv" in str(refusal.value)


def test_every_problem_is_told_at_once(folder: JobFolder) -> None:
    with pytest.raises(InputRefused) as refusal:
        read_measured(folder, written(folder, HEAD + "1, nonsense, 1, calliper\n1, width of slot, x, calliper\n"))
    assert len(refusal.value.problems) == 2
    assert [problem.span.line for problem in refusal.value.problems if problem.span] == [2, 3]


def test_a_feature_of_two_setups_needs_the_setup(tmp_path: Path) -> None:
    root = demo("bearing-cap", tmp_path).root
    text = (root / "job.toml").read_text().replace('name = "thickness"', 'name = "depth of seat"')
    (root / "job.toml").write_text(text)
    (root / "measured.csv").write_text(HEAD + "1, depth of seat, 12.5, depth-micrometer\n")
    with pytest.raises(InputRefused, match="add a column setup"):
        read_measured(load_job(root))


def test_a_job_without_the_file_says_how_to_write_it(tmp_path: Path) -> None:
    folder = demo("spacers", tmp_path)
    (folder.root / "measured.csv").unlink()
    with pytest.raises(InputRefused, match="one value a line"):
        read_measured(folder)


@pytest.mark.parametrize("leads_to", ["/etc/hostname", "nowhere"])
def test_no_link_leads_out_of_the_job(tmp_path: Path, leads_to: str) -> None:
    folder = demo("bearing-cap", tmp_path)
    (folder.root / "measured.csv").unlink()
    (folder.root / "measured.csv").symlink_to(leads_to)
    with pytest.raises(InputRefused, match="a link"):
        read_measured(folder)
