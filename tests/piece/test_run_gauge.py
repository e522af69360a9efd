"""A gauge study out of a file of the shop: the worked table of a crossed study, and what cannot be studied."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import JobFolder
from setwright.run.gauge import gauge_studies, studied_plain
from tests.cli.conftest import ask, fingerprint
from tests.piece.conftest import demo

ROWS = ["4 5 -1 3 3 0", "6 6 9 7 -1 -1", "7 6 5 6 3 0", "-6 -6 -4 -6 -11 -9", "-4 1 -4 -5 -7 -7"]
"""µm from nominal; five parts, people A A B B C C: the table of test_estimate_gauge_study, whose figures are reckoned there."""

HEAD = "part, person, feature, value, gauge\n"


def table() -> str:
    lines = [f"{part}, {'ABC'[place // 2]}, bore, {16.0 + float(cell) / 1000.0:.6f}, bore-micrometer\n"
             for part, row in enumerate(ROWS, 1) for place, cell in enumerate(row.split())]  # fmt: skip
    return HEAD + "".join(lines)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> JobFolder:
    return demo("spacers", tmp_path_factory.mktemp("study"))


def test_the_worked_study_out_of_a_file(folder: JobFolder, tmp_path: Path) -> None:
    file = tmp_path / "study.csv"
    file.write_text(table())
    before = fingerprint(folder.root)
    result = ask("run", folder.root, "--gauge-study", file, "--json")
    assert result.exit_code == 0, result.stderr
    (one,) = json.loads(result.stdout)["studies"]
    assert (one["parts"], one["people"], one["repeats"], one["pooled"], one["distinct"]) == (5, 3, 2, False, 2)
    wanted = {"repeatability": 1.5811, "reproducibility": 2.8723, "together": 3.2787, "of_parts": 5.1901, "uncertainty": 6.5574}
    assert {name: 1000.0 * one[name] for name in wanted} == pytest.approx(wanted, abs=1e-3)
    assert [1000.0 * end for end in one["together_95"]] == pytest.approx([2.03, 8.28], abs=0.01)
    assert one["share"] == pytest.approx(0.5341, abs=1e-4)
    assert one["six_of_limits"] == pytest.approx(6 * 3.2787 / 27.0, abs=1e-4)  # the bore has +0.027
    assert "53.4 % of all scatter; the gauge tells 2 sizes" in result.stderr
    # U 0.00656 rounds up to 0.007, at both limits 2 x 6.5574 of 27
    assert "with U (k = 2) ± 0.007 mm at both limits it takes 49 % of them" in result.stderr
    assert "Its file states ± 0.006 mm: the study shows more" in result.stderr
    assert fingerprint(folder.root) == before


def test_a_study_in_inches_is_the_same(folder: JobFolder, tmp_path: Path) -> None:
    file = tmp_path / "study.csv"
    file.write_text(table())
    (mm,) = gauge_studies(folder, file)
    lines = [line.rsplit(", ", 2) for line in file.read_text().splitlines()[1:]]
    file.write_text(HEAD + "".join(f"{head}, {float(value) / 25.4:.9f} in, {gauge}\n" for head, value, gauge in lines))
    (inch,) = gauge_studies(folder, file)
    assert inch.found.gauge.value == pytest.approx(mm.found.gauge.value, rel=1e-5)
    assert studied_plain(mm, "inch")["together"] == pytest.approx(mm.found.gauge.value / 25.4)


@pytest.mark.parametrize(("text", "wanted", "line"), [
    (HEAD, "holds no value", 0), ("part, value\n1, 2\n", "other columns", 1),
    (table().replace("5, C, bore, 15.993000, bore-micrometer\n", "", 1), "part 5 by C has 1 of 2 values", 2),
    ("".join(line for line in table().splitlines(True) if ", B," not in line and ", C," not in line), "1 people", 2),
    (table().replace("1, A, bore,", "1, A, bor,", 1), 'did you mean "bore"', 2),
    (table().replace("bore-micrometer", "bore-mikrometer", 1), 'did you mean "bore-micrometer"', 2),
    (table().replace("16.004000", "sixteen", 1), "not a number", 2), (table().replace("16.004000", "16,004", 1), "6 of 5 cells", 2),
])  # fmt: skip
def test_a_table_that_cannot_be_studied_is_refused(folder: JobFolder, tmp_path: Path, text: str, wanted: str, line: int) -> None:
    file = tmp_path / "study.csv"
    file.write_text(text)
    with pytest.raises(InputRefused, match=wanted) as refusal:
        gauge_studies(folder, file)
    span = refusal.value.problems[0].span
    assert span is not None
    assert span.line == line
