"""The demos with one thing spoiled in a program or in the kit, as happens between desk and machine: what must be said of each.

What is right to say was worked out on the drawing and the program, line by line; a case names the finding and its line, or the
requirement that can no longer come out.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

import setwright
from setwright.jobfolder.load import load_job
from setwright.model.finding import Signal, State
from setwright.prove.chain import prove_job
from setwright.prove.station import Proof
from setwright.touch.measured import truth_of

DEMOS = Path(setwright.__file__).parent / "demo"
CAP, PLATE, SPACERS = "bearing-cap/cap-1.nc", "pintle/pintle.nc", "spacers/spacers.nc"


@dataclass(frozen=True)
class Spoiled:
    """A line of a file of a demo (0: the only place that says `old`) in which `old` becomes `new`; `new` None: the line is lost."""

    file: str
    line: int
    old: str
    new: str | None

    def __str__(self) -> str:
        return f"{self.file}:{self.line} {self.old}"


FOUND = [
    (Spoiled(CAP, 25, "G1 ", "G0 "), "rapid-into-material", 25),
    (Spoiled(CAP, 38, "X17.7", "G0 X17.7"), "rapid-into-material", 38),
    (Spoiled(CAP, 103, "R2.", "R-2."), "rapid-into-material", 103),
    (Spoiled(CAP, 92, "R-11.5", "R-13."), "rapid-into-material", 92),
    (Spoiled(CAP, 89, "M3", "M4"), "cut-without-spindle", 92),
    (Spoiled(CAP, 89, "M3", ""), "cut-without-spindle", 92),
    (Spoiled(CAP, 91, "H3", "H2"), "length-register-of-another-tool", 91),
    (Spoiled(CAP, 56, "G40 ", ""), "radius-larger-than-corner", 56),
    (Spoiled("bearing-cap/job.toml", 0, "parallels = 22", "parallels = 12"), "tool-into-holding", 64),
    (Spoiled(PLATE, 22, "G98", "G99"), "tool-into-holding", 24),
    (Spoiled(PLATE, 40, "Z1.", "Z.1"), "tool-into-holding", 43),
    (Spoiled("pintle/job.toml", 0, "parallels = 0.5", "parallels = 0.05"), "tool-into-holding", 41),
    (Spoiled(PLATE, 117, "G43 H5 ", ""), "missing-length", 117),
    (Spoiled(PLATE, 56, "S400", "S0"), "cut-without-spindle", 59),
    (Spoiled(SPACERS, 84, "Z-5.", "Z-15."), "tool-into-holding", 84),
    (Spoiled(SPACERS, 91, "H3", "H2"), "length-register-of-another-tool", 91),
    (Spoiled(SPACERS, 107, "-2.]", "-12.]"), "body-into-material", 108),
]

MISSED = [
    (Spoiled(CAP, 92, "Z-32.", "Z-14."), "shaft bore diameter"),
    (Spoiled(CAP, 42, "X17.7", "X7.7"), "seat diameter"),
    (Spoiled(CAP, 77, "Z-12.515", "Z-12.015"), "depth of seat"),
    (Spoiled(CAP, 80, "G3 I-26.0075", None), "seat diameter"),
    (Spoiled(CAP, 33, "G0 X0. Y0.", None), "seat diameter"),
    (Spoiled(CAP, 57, "G0 Z5.", None), "depth of seat"),
    (Spoiled(CAP, 25, "G1 X-90.", None), "depth of slot"),
    (Spoiled(CAP, 124, "Z-32.5", "Z-22.5"), "hole 1 diameter"),
    (Spoiled(CAP, 125, "X46.", "X45.5"), "hole 2 position"),
    (Spoiled(CAP, 125, "X46.", None), "hole 2 position"),
    (Spoiled(CAP, 103, "Z-4.", "Z-40."), "hole 1 diameter"),
    (Spoiled(CAP, 52, "Y10.0125", "Y-10.0125"), "width of slot"),
    (Spoiled(CAP, 61, "G41", "G42"), "width of step"),
    (Spoiled(PLATE, 42, "Y0.5", None), "hole 2 position"),
    (Spoiled(PLATE, 93, "G3 X1.", None), "arc of the waist, back"),
    (Spoiled(SPACERS, 12, "16.013", "15.013"), "bore"),
    (Spoiled(SPACERS, 96, "G3 I-#106", None), "bore"),
    (Spoiled(SPACERS, 14, "59", "58"), "length (G59)"),
]

HARMLESS = [Spoiled(CAP, 31, "G54", None), Spoiled(CAP, 30, "SLOT", "GROOVE"), Spoiled(PLATE, 8, "KEEP", "MIND"),
            Spoiled(SPACERS, 29, "M9", None)]  # fmt: skip


def prove(case: Spoiled, folder: Path) -> Proof:
    """The demo's first setup with the case in it, on expected offsets."""
    demo, _, name = case.file.partition("/")
    shutil.copytree(DEMOS / demo, folder / demo)
    file = folder / demo / name
    lines = file.read_text(encoding="utf-8").split("\n")
    at = case.line - 1 if case.line else next(row for row, text in enumerate(lines) if case.old in text)
    assert case.old in lines[at]
    lines[at : at + 1] = [] if case.new is None else [lines[at].replace(case.old, case.new, 1)]
    file.write_text("\n".join(lines), encoding="utf-8")
    job = load_job(folder / demo)
    return prove_job(job, job.job.setup[:1], truth_of=lambda kit: truth_of(kit, nominal=True).truth)[0]


@pytest.mark.parametrize(
    ("case", "slug", "line"), FOUND, ids=lambda one: f"{one.file}:{one.line}" if isinstance(one, Spoiled) else ""
)
def test_what_would_hurt_is_said_at_its_line(case: Spoiled, slug: str, line: int, tmp_path: Path) -> None:
    dangers = {(one.slug, one.line) for one in prove(case, tmp_path).findings if one.signal is Signal.DANGER}
    assert (slug, line) in dangers


@pytest.mark.parametrize(("case", "line"), [(Spoiled(PLATE, 56, "S400", "S0"), 59), (Spoiled(PLATE, 67, "M3", ""), 72)], ids=str)
def test_what_follows_from_a_stopped_spindle_is_told_with_it(case: Spoiled, line: int, tmp_path: Path) -> None:
    """The drill of N3 leaves its hole full for the reamer, the mill of N4 the recess it comes back to at rapid."""
    assert {(one.slug, one.line) for one in prove(case, tmp_path).findings if one.signal is Signal.DANGER} - {
        ("fed-without-spindle", line)} == {("cut-without-spindle", line)}  # fmt: skip


@pytest.mark.parametrize(("case", "name"), MISSED, ids=str)
def test_a_face_that_is_not_as_drawn_does_not_come_out(case: Spoiled, name: str, tmp_path: Path) -> None:
    assert {one.name: one.state for one in prove(case, tmp_path).features}[name] == "out"


@pytest.mark.parametrize("case", HARMLESS, ids=str)
def test_what_changes_nothing_alarms_nobody(case: Spoiled, tmp_path: Path) -> None:
    proof = prove(case, tmp_path)
    assert [one for one in proof.findings if one.signal in (Signal.DANGER, Signal.WARNING) and one.state is State.FOUND] == []
    assert {one.state for one in proof.features} == {"in"}
