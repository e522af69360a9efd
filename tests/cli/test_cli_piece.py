"""The verb of station Piece: what it types, what it leaves, its document and its exit status."""

import json
import shutil
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import ask, fingerprint

GAUGE = "outside micrometer 0-25"


@pytest.fixture(scope="module")
def spacers(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("piece") / "spacers"
    shutil.copytree(Path(str(resources.files("setwright.demo") / "spacers")), where)
    return where


def answered(folder: Path, rows: str, *words: str) -> dict[str, Any]:
    """The document after these lines of measured values."""
    (folder / "some.csv").write_text("piece, feature, value, gauge\n" + rows)
    result = ask("piece", folder, "--measured", folder / "some.csv", "--json", "--pitch", "1", *words)
    assert result.exit_code == 0, result.stderr
    found: dict[str, Any] = json.loads(result.stdout)
    return found


def test_the_bundled_pallet_is_corrected_by_the_one_length_that_all_six_share(spacers: Path) -> None:
    before = fingerprint(spacers)
    result = ask("piece", spacers, "--json", "--pitch", "1")
    assert result.exit_code == 0
    document = json.loads(result.stdout)
    assert document["advice"] == "correct"
    (register,) = document["registers"]
    # six lengths, 20.0215 on the average against 20.000: the length grows less, so the register shrinks by it
    assert register["name"] == "length 1"
    assert register["change"] == pytest.approx(-0.021, abs=0.0021)
    assert 0.0 < register["uncertainty"] < 0.01
    lengths = [one for one in document["predicted"] if one["name"].startswith("length")]
    assert [one["after"][0] for one in lengths] == pytest.approx([20.0] * 6, abs=0.003)
    assert all(one["probability_after"] >= one["probability_before"] for one in lengths)
    assert {one["decision"] for one in document["judged"]} == {"accept"}
    assert document["not_measured"] == ["bore to outside"]
    habits = document["habits"]
    # full correction on a steady process doubles the variance of a measured piece (gauge 0.005 / 2, machine 0.003)
    assert habits["sigma"] == pytest.approx((0.0025**2 + 0.003**2) ** 0.5)
    assert habits["spread"]["full correction"] == pytest.approx(2**0.5 * habits["sigma"], rel=1e-9)
    assert habits["spread"]["harmonic with a prior"] < habits["spread"]["fixed share"] < habits["spread"]["never"]
    assert fingerprint(spacers) == before


def test_values_in_the_middle_are_left_alone(spacers: Path) -> None:
    document = answered(spacers, "1, length, 20.001, micrometer-25\n")
    assert (document["advice"], document["registers"]) == ("leave", [])


def test_what_was_typed_before_a_piece_is_reckoned_with(spacers: Path) -> None:
    first = "1, length, 20.022, micrometer-25\n1, length (G55), 20.022, micrometer-25\n1, length (G56), 20.022, micrometer-25\n"
    second = "2, length 1, -0.022, typed\n2, length, 20.000, micrometer-25\n2, length (G56), 20.000, micrometer-25\n"
    document = answered(spacers, first + second)
    assert document["advice"] == "leave"
    assert document["pieces"] == ["1", "2"]


def test_a_wild_value_types_nothing_and_is_measured_again(spacers: Path) -> None:
    document = answered(spacers, "1, length, 20.400, micrometer-25\n")
    assert document["advice"] == "leave"
    odd = [one for one in document["findings"] if one["slug"] == "measurement-suspect"]
    assert [one["line"] for one in odd] == [2]
    assert "piece-out-of-limits" in {one["slug"] for one in document["findings"]}


def test_a_bore_that_no_register_makes_is_told_with_its_tool(tmp_path: Path) -> None:
    where = tmp_path / "bearing-cap"
    shutil.copytree(Path(str(resources.files("setwright.demo") / "bearing-cap")), where)
    rows = "1, shaft bore diameter, 32.062, bore-micrometer\n"
    (where / "some.csv").write_text("piece, feature, value, gauge\n" + rows)
    result = ask("piece", where, "--measured", where / "some.csv", "--json", "--pitch", "1")
    document = json.loads(result.stdout)
    assert document["registers"] == []
    (open_,) = document["unexplained"]
    assert open_["feature"] == "shaft bore diameter"
    assert "T3 cuts" in open_["text"]
    assert "too large" in open_["text"]


def test_the_terminal_says_what_to_type_and_inches_where_asked(spacers: Path) -> None:
    result = ask("piece", spacers, "--units", "inch", "--pitch", "1")
    assert "Type length 1 = 3.40" in result.stdout
    assert "Why: " in result.stdout
    assert " mm" not in result.stdout.replace("boring", "")


def test_run_says_when_to_measure_next(spacers: Path) -> None:
    rows = [f"{piece}, length, {20.002 + 0.004 * piece:.3f}, micrometer-25\n" for piece in range(1, 9)]
    (spacers / "week.csv").write_text("piece, feature, value, gauge\n" + "".join(rows))
    result = ask("run", spacers, "--measured", spacers / "week.csv", "--pitch", "1", "--json")
    assert result.exit_code == 0, result.stderr
    document = json.loads(result.stdout)
    # 20.034 at piece 8 and 0.004 a piece: the limit of 20.050 is four pieces away
    assert 1 <= document["next_due"]["pieces"] <= 4
    (tool,) = document["tools"]
    assert tool["number"] == 1
    assert tool["wear"] == pytest.approx(0.028, abs=0.004)
    assert tool["left"] <= 4
    assert 0.05 < tool["probability"] < 1.0
    assert "Measure " in ask("run", spacers, "--measured", spacers / "week.csv", "--pitch", "1", "-q").stdout


def test_before_a_piece_is_measured_it_says_what_to_measure_and_writes_nothing(tmp_path: Path) -> None:
    where = tmp_path / "bearing-cap"
    shutil.copytree(Path(str(resources.files("setwright.demo") / "bearing-cap")), where)
    (where / "measured.csv").unlink()
    before = fingerprint(where)
    result = ask("piece", where)
    assert result.exit_code == 0, result.stderr
    assert "With depth micrometer 0-50 (depth-micrometer)" in result.stdout
    assert "depth of seat: 12.500 to 12.530 mm; ± 0.008 mm, proves good from 12.508 to 12.522 mm; takes 53 %" in result.stdout
    document = json.loads(ask("piece", where, "--json").stdout)
    assert (document["advice"], [one["setup"] for one in document["setups"]]) == ("measure", ["first side", "second side"])
    assert document["headline"].startswith("first side: Measure first: width of slot.")
    (where / "measured.csv").write_text("piece, feature, value, gauge\n")
    assert json.loads(ask("piece", where, "--json", "--setup", "first side").stdout)["advice"] == "measure"
    (where / "measured.csv").unlink()
    assert fingerprint(where) == before


def test_a_setup_of_which_nothing_was_measured_is_named_beside_the_advice(tmp_path: Path) -> None:
    where = tmp_path / "bearing-cap"
    shutil.copytree(Path(str(resources.files("setwright.demo") / "bearing-cap")), where)
    result = ask("piece", where, "--json", "--pitch", "1")
    assert json.loads(result.stdout)["setups_not_measured"] == ["second side"]
    assert "Of setup “second side” nothing was measured" in result.stderr


@pytest.mark.parametrize(
    ("words", "wanted"),
    [(["--guard", "9"], "no guard band"), (["--measured", "none.csv"], "no such file"),
     (["--setup", "palet"], 'did you mean "pallet"')],
)  # fmt: skip
def test_bad_questions_are_refused(spacers: Path, words: list[str], wanted: str) -> None:
    result = ask("piece", spacers, *words)
    assert result.exit_code == 2
    assert wanted in result.stderr


def test_a_refusal_after_values_were_added_does_not_say_that_nothing_was_written(tmp_path: Path) -> None:
    where = tmp_path / "spacers"
    shutil.copytree(Path(str(resources.files("setwright.demo") / "spacers")), where)
    (tmp_path / "more.csv").write_text("piece, feature, value, gauge\n2, length, 20.001, micrometer-25\n")
    result = ask("piece", where, "--add", tmp_path / "more.csv", "--measured", "none.csv")
    assert result.exit_code == 2
    assert "Kept from before: 1 value of more.csv in measured.csv." in result.stderr
    assert (where / "measured.csv").read_text().splitlines()[-1].startswith("2, length, 20.001")
    before = fingerprint(where)
    for words, wanted in ((["--piece", "3"], "--enter"), (["--add", tmp_path / "more.csv"], "says the same"),
                          (["--out", tmp_path / "out.txt"], ".csv, .qif or .xml")):  # fmt: skip
        result = ask("piece", where, *words)
        assert (result.exit_code, wanted in result.stderr, "Nothing was written" in result.stderr) == (2, True, True)
    assert fingerprint(where) == before
