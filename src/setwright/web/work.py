"""What a worker does: a station's long work on a job's files, with everything it made as documents.

Runs in a process of its own, knows nothing of the record, and can be ended at any moment.
"""

from __future__ import annotations

import datetime
import itertools
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.jobfolder.load import JobFolder, load_held, setup_numbered
from setwright.model.answer import document, refusal_findings
from setwright.record.entries import finding_name
from setwright.web.answers import JSON_TYPE, encoded
from setwright.web.bench import keep_for_bench
from setwright.web.made import Made
from setwright.web.measuring import influences
from setwright.web.study import study, supposed

if TYPE_CHECKING:
    from setwright.kit.registers import Truth
    from setwright.kit.station import Kit
    from setwright.prove.station import Proof
    from setwright.touch.station import TouchResult

__all__ = ["PICTURES", "STATIONS", "Task", "do"]

Progress = Callable[[str, int, int], None]
PICTURES: Final = "pictures.json"
"""The pictures of a proof's findings: an SVG document by the finding's name."""

_MOST_PICTURES: Final = 60
STATIONS: Final = ("prove", "sheet", "hover", "suppose", "piece")
"""What takes long enough to be a calculation: the proof, the sheets with it, the study of what could be other than it should, what
one such supposition would do, and what each register moves, from which Piece and Run answer."""


@dataclass(frozen=True, slots=True)
class Task:
    """One piece of work. `options`: what the station is asked, as plain data (`pitch_mm`, `until`, `nominal`; for the
    sheets `paper`, `units`; for the study `catch_percent`, `within_min` and what was `seen`; and what to `suppose`).
    `inputs`: the digest of everything it is made from; `bench`: the folder for what the bench shows of
    it, "" for nothing; `seal`: that of the revision, for the sheets."""

    station: str
    files: Mapping[str, bytes] = field(repr=False)
    home: str
    name: str
    setup: str
    options: Mapping[str, Any]
    inputs: str = ""
    bench: str = ""
    seal: str = ""


def do(task: Task, progress: Progress) -> list[Made]:
    """Do the work. Raises InputRefused, or whatever `progress` raises."""
    folder = load_held(task.files, home=task.home, name=task.name)
    work = _Work(folder, progress, nominal=bool(task.options.get("nominal")),
                 bench=bool(task.bench) and task.station in ("prove", "sheet"))  # fmt: skip
    proofs = work.proofs(task.setup or None, pitch_mm=task.options.get("pitch_mm"), until=task.options.get("until"),
                         guesses=task.station in ("prove", "sheet"))  # fmt: skip
    units = str(task.options.get("units") or ("inch" if folder.job.units == "in" else "mm"))
    if task.station == "hover":
        return [study(folder, proofs, work.touched, task.options, units=units, progress=progress)]
    if task.station == "suppose":
        return [supposed(folder, proofs, task.options, units=units, progress=progress)]
    if task.station == "piece":
        return [influences(folder, proofs, pitch_mm=task.options.get("pitch_mm"), progress=progress)]
    if task.bench:
        progress("keeping it for the bench", 0, 1)
        keep_for_bench(Path(task.bench), task.inputs, proofs)
    paper = str(task.options.get("paper") or "A4")
    sheets = work.sheets(proofs, units, paper=paper, seal=task.seal) if task.station == "sheet" else []
    return [*work.pictures(proofs), *sheets, work.answer(proofs)]


@dataclass(slots=True)
class _Work:
    """A proof on measured offsets where readings fix them, else on expected ones; and what follows from it."""

    folder: JobFolder
    progress: Progress
    nominal: bool
    bench: bool
    touched: dict[str, TouchResult] = field(default_factory=dict)

    def proofs(self, setup: str | None, *, pitch_mm: float | None, until: str | None, guesses: bool) -> list[Proof]:
        from setwright.base.jit import compiled_before, remember_compiled
        from setwright.prove.chain import prove_job

        rooms = ("program", "removal", "clearance", "motion")
        if not compiled_before(*rooms):
            self.progress("compiling the computing kernels, this once", 0, 1)
        setups = setup_numbered(self.folder.job, setup)
        place = _place(until, self.folder)
        proofs = prove_job(self.folder, setups, truth_of=self._truth, pitch_mm=pitch_mm, until=place, bench=self.bench,
                           guesses=guesses, progress=self.progress)  # fmt: skip
        remember_compiled(*rooms)
        return proofs

    def answer(self, proofs: list[Proof]) -> Made:
        from setwright.prove.report import plain_job

        stopped = [problem for proof in proofs for problem in proof.stopped]
        findings = [*(finding for proof in proofs for finding in proof.findings), *refusal_findings(stopped)]
        body = {**({"refused": True} if stopped else {}), **plain_job(proofs, "mm")}
        return Made("proof.json", JSON_TYPE, encoded(document("prove", body, job=self.folder.name, findings=findings)))

    def pictures(self, proofs: list[Proof]) -> list[Made]:
        """The place of every finding in section, by the finding's name; of the worst ones where there are very many."""
        from setwright.prove.pictures import pictures_of

        drawn: dict[str, str] = {}
        for proof in proofs:
            for finding, picture in itertools.islice(pictures_of(proof), _MOST_PICTURES):
                drawn.setdefault(finding_name(finding.as_plain()), picture)
        return [Made(PICTURES, JSON_TYPE, encoded(drawn))] if drawn else []

    def sheets(self, proofs: list[Proof], units: str, *, paper: str, seal: str) -> list[Made]:
        from setwright.sheet.fill import content_of
        from setwright.sheet.render import preview, render

        made = []
        with tempfile.TemporaryDirectory(prefix="setwright-sheet-") as scratch:
            for proof in proofs:
                setup = proof.kit.setup.name
                out = Path(scratch) / "sheet.pdf"
                content = content_of(proof, self.touched.get(setup), units=units, made=datetime.date.today(), seal=seal)
                render(content, paper=paper, out=out)
                name = f"sheet-{'-'.join(setup.split())}"
                made.append(Made(f"{name}.pdf", "application/pdf", out.read_bytes()))
                pages = preview(content, paper=paper)
                made += [Made(f"{name}-{number}.svg", "image/svg+xml", page) for number, page in enumerate(pages, start=1)]
        return made

    def _truth(self, kit: Kit) -> Truth:
        from setwright.touch.measured import truth_of

        measured = truth_of(kit, nominal=self.nominal)
        if measured.result is not None:
            self.touched[kit.setup.name] = measured.result
        return measured.truth


def _place(text: str | None, folder: JobFolder) -> tuple[str, int] | None:
    """ "cap-1.nc:42" as a program of the job and a line."""
    if not text:
        return None
    file, _, line = text.rpartition(":")
    if file not in folder.sources or not line.isdigit():
        known = ", ".join(folder.sources)
        raise InputRefused.because(f'"{text}" is no place in a program', remedy=f"write FILE:LINE with one of {known}",
                                   span=Span("until"))  # fmt: skip
    return file, int(line)
