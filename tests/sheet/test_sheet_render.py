"""The finished PDF: its words, its paper, its true size, and that it is written whole or not at all."""

from __future__ import annotations

import os
import stat
from dataclasses import replace
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest

from setwright.base.errors import InputRefused
from setwright.model.finding import Finding, Signal, State
from setwright.sheet import render as room
from setwright.sheet.content import OffsetBlock, Register, SheetContent
from setwright.sheet.layout import MOST_FINDINGS, laid_out
from setwright.sheet.render import SheetFault, preview, render
from tests.sheet.sample import SAMPLE


def words_of(path: Path) -> str:
    with pypdfium2.PdfDocument(path) as document:
        return " ".join(" ".join(page.get_textpage().get_text_bounded() for page in document).split())


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sheet") / "sheet.pdf"
    render(SAMPLE, out=path)
    return path


@pytest.mark.parametrize(
    "words",
    [
        "Bearing cap, irrigation pump", "HL-2041, revision C", "EN AW-6082-T6", "Mill 2", "cap-1.nc", "9f2c41d07be3",
        "G54", "−297.442", "± 0.007", "−382.000", "+0.0113°", "T2", "end mill, 3 flutes, carbide", "+131.482", "6000–7500",
        "Holder of T2 passes the fixed jaw with 0.8 mm to spare.", "Stick the tool out 3 mm more", "cap-1.nc line 142, T2",
        "UNDECIDED: not a pass", "Check before you press start", "T2 first plunge", "left out: 0.026 mm off",
        "The moving jaw is as high as the fixed jaw", "never a permission to start", "Set up by", "computed 2026-11-24",
        "page 1 of 2", "seal 1042 9f3a6c1e20b7", "moving jaw", "scale 1:2, printed at 100 %", "finder-10", "X -287.442",
    ],
)  # fmt: skip
def test_the_sheet_says(printed: Path, words: str) -> None:
    assert words in words_of(printed)


def test_findings_stand_worst_first(printed: Path) -> None:
    text = words_of(printed)
    places = [text.index(words) for words in ("Holder of T2", "T4 has no length", "The rotation rests")]
    assert places == sorted(places)
    assert "The program ends" not in text  # a notice is counted
    assert "1 more of less weight" in text


def test_cautions_stand_on_the_first_page(printed: Path) -> None:
    with pypdfium2.PdfDocument(printed) as document:
        first = " ".join(document[0].get_textpage().get_text_bounded().split())
    for word in ("DANGER", "Guards and interlocks stay in service", "local law"):
        assert word in first


@pytest.mark.parametrize(("paper", "points"), [("A4", (595.28, 841.89)), ("letter", (612.0, 792.0))])
def test_paper_size(tmp_path: Path, paper: str, points: tuple[float, float]) -> None:
    render(SAMPLE, paper=paper, out=tmp_path / "sheet.pdf")
    with pypdfium2.PdfDocument(tmp_path / "sheet.pdf") as document:
        assert document[0].get_size() == pytest.approx(points, abs=0.01)


def test_printed_size_is_true_to_scale(printed: Path) -> None:
    """At 20 dots a millimetre the black half of the 50 mm bar at 1:2 must be a solid run of 250 dots ± 6 (its 0.25 mm frame)."""
    with pypdfium2.PdfDocument(printed) as document:
        dots = np.asarray(document[0].render(scale=20 * 25.4 / 72).to_pil().convert("L")) < 64
    longest = []
    for row in dots[3000:4400, :1200].astype(np.int8):
        edges = np.flatnonzero(np.diff(row, prepend=0, append=0))
        longest.append(max((b - a for a, b in zip(edges[::2], edges[1::2], strict=True)), default=0))
    solid = [run for run in longest if 235 <= run <= 265]
    assert len(solid) >= 25, "the bar is 1.6 mm high"
    assert abs(float(np.median(solid)) - 250.0) <= 6.0


def test_same_content_same_bytes(tmp_path: Path, printed: Path) -> None:
    render(SAMPLE, out=tmp_path / "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == printed.read_bytes()


def test_texts_are_data_and_never_markup(tmp_path: Path) -> None:
    odd = '#panic("x") *b* $x^2$ \\ <a> & "q" `r` @c [d] // e'
    render(replace(SAMPLE, title=odd, verdict=odd, guesses=(odd,), material=odd), out=tmp_path / "sheet.pdf")
    assert words_of(tmp_path / "sheet.pdf").count('#panic("x") *b* $x^2$') >= 3


def test_an_empty_job_still_prints(tmp_path: Path) -> None:
    render(SheetContent(title="New job", setup="only setup"), out=tmp_path / "sheet.pdf")
    text = words_of(tmp_path / "sheet.pdf")
    assert "No work offset is used." in text
    assert "Nothing is known yet that could be drawn." in text


def test_an_undetermined_register_is_a_box_and_not_a_number(tmp_path: Path) -> None:
    offsets = (OffsetBlock("G55", (Register("X", None), Register("Y", 0.0))),)
    render(replace(SAMPLE, offsets=offsets), out=tmp_path / "sheet.pdf")
    text = words_of(tmp_path / "sheet.pdf")
    assert "not determined: measure, then write here" in text
    assert "+0.000 uncertainty not known" in text


def test_six_offsets_and_too_many_findings(tmp_path: Path) -> None:
    offsets = tuple(OffsetBlock(f"G{54 + n}", (Register("X", n + 0.5, 0.01), Register("Y", -n - 0.5, 0.01))) for n in range(6))
    gaps = range(MOST_FINDINGS + 7)
    findings = tuple(Finding(slug="s", signal=Signal.CAUTION, text=f"Gap number {n} is small.", tool=n) for n in gaps)
    worst = Finding(slug="w", signal=Signal.DANGER, text="The holder meets the jaw.")
    render(replace(SAMPLE, offsets=offsets, findings=(*findings, worst)), out=tmp_path / "sheet.pdf")
    text = words_of(tmp_path / "sheet.pdf")
    assert all(f"G{54 + n}" in text for n in range(6))
    assert "The holder meets the jaw." in text
    assert "8 more of less weight" in text
    assert "1 DANGER, 31 CAUTION" in text


def test_inches_are_printed_as_inches() -> None:
    laid = laid_out(replace(SAMPLE, units="inch"))
    assert laid["offsets"][0]["registers"][0]["value"] == "−11.7103"
    assert laid["tools"][1]["diameter"] == "0.6299"
    assert (laid["unit"], laid["feed_unit"], laid["tools"][4]["feed"]) == ("in", "in/min", "29.5")


def test_undecided_is_counted_by_itself() -> None:
    finding = Finding(slug="s", signal=Signal.DANGER, text="t", state=State.UNDECIDED)
    laid = laid_out(replace(SAMPLE, findings=(finding,)))
    assert (laid["worst"], laid["counts"]) == ("DANGER", "1 undecided")


def test_the_day_is_the_jobs_and_not_the_clocks(printed: Path) -> None:
    with pypdfium2.PdfDocument(printed) as document:
        assert document.get_metadata_value("CreationDate").startswith("D:20261124")
    assert laid_out(replace(SAMPLE, made=date(2027, 1, 2)))["year_month_day"] == [2027, 1, 2]


def test_unknown_paper_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="A4, Letter"):
        render(SAMPLE, paper="napkin", out=tmp_path / "sheet.pdf")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="cannot be written"):
        render(SAMPLE, out=tmp_path / "none" / "sheet.pdf")


def test_an_interrupted_write_leaves_the_old_sheet_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "sheet.pdf"
    out.write_bytes(b"old")

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        render(SAMPLE, out=out)
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.pdf"]
    assert out.read_bytes() == b"old"


def test_the_sheet_can_be_read_by_others(printed: Path) -> None:
    assert stat.S_IMODE(printed.stat().st_mode) == 0o644


def test_a_missing_font_is_a_fault_and_not_another_font(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "_FONTS", tmp_path)
    with pytest.raises(SheetFault, match="font"):
        render(SAMPLE, out=tmp_path / "sheet.pdf")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("paper", "size"), [("A4", (595.28, 841.89)), ("Letter", (612.0, 792.0))])
def test_the_preview_has_the_pages_of_the_pdf(tmp_path: Path, paper: str, size: tuple[float, float]) -> None:
    render(SAMPLE, paper=paper, out=tmp_path / "sheet.pdf")
    pages = preview(SAMPLE, paper=paper)
    with pypdfium2.PdfDocument(tmp_path / "sheet.pdf") as document:
        assert len(pages) == len(document)
    for page in pages:
        box = ElementTree.fromstring(page).attrib["viewBox"].split()
        assert [float(value) for value in box[2:]] == pytest.approx(size, abs=0.01)
