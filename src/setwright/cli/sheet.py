"""Print the setup sheet of a job as PDF."""

from __future__ import annotations

import datetime
import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from setwright.cli.common import Answer, Color, Json, Quiet, SetupName, Units, answer, ask, guarded
from setwright.cli.hover import study_all
from setwright.cli.proving import Proving

if TYPE_CHECKING:
    from collections.abc import Sequence

    from setwright.hover.station import HoverResult
    from setwright.jobfolder.load import JobFolder
    from setwright.prove.station import Proof

__all__ = ["NAME", "command", "write_sheets"]

NAME = "sheet"


def command(
    job: Annotated[Path, typer.Argument(help="A job folder; with --record, a job's name in the record.")],
    *,
    paper: Annotated[str, typer.Option("--paper", help="A4 or Letter.")] = "A4",
    out: Annotated[Path | None, typer.Option("-o", "--out", help="Folder for the sheets, else the job.", metavar="DIR")] = None,
    hover: Annotated[bool, typer.Option("--hover", help="With the checks of station Hover for this setup, and why.")] = False,
    record: Annotated[Path | None, typer.Option("--record", help="Print from this record, with its seal.", metavar="DIR")] = None,
    database: Annotated[str, typer.Option("--database", help="The record's PostgreSQL database.", metavar="ADDRESS")] = "",
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:
    """Prove the job and print one sheet a setup."""

    def work() -> None:
        from setwright.jobfolder.load import load_job

        folder, seal = (load_job(job), "") if record is None else _recorded(record, database, str(job))
        folder = folder.shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color)
        proving = Proving(folder, asked)
        proofs = proving.run(setup, guesses=True)
        studies = study_all(asked, proving, proofs) if hover else []
        written = write_sheets(proving, proofs, out or (folder.root if record is None else Path()), paper=paper, units=asked.units,
                               studies=studies, seal=seal)  # fmt: skip
        for path in written:
            asked.people.print(Text(f"Sheet: {path}"))
        findings = tuple(finding for proof in proofs for finding in proof.findings)
        answer(asked, Answer(folder.name, {"sheets": [str(path) for path in written]}, findings))

    guarded(NAME, work, as_json=json)


def _recorded(place: Path, database: str, name: str) -> tuple[JobFolder, str]:
    """The newest revision of a job in a record, and its seal."""
    from setwright.record.jobs import find_revision, job_folder, seal_shown
    from setwright.record.store import open_record

    with open_record(place, database=database or os.environ.get("SETWRIGHT_DATABASE", "")) as held:
        found = find_revision(held, name)
        return job_folder(held, found), seal_shown(held, found)


def write_sheets(
    proving: Proving, proofs: list[Proof], out: Path, *, paper: str, units: str, studies: Sequence[HoverResult] = (), seal: str = ""
) -> list[Path]:
    """One PDF a setup, named after it; with the checks of its study where there is one, and the seal of its revision."""
    from setwright.sheet.fill import content_of
    from setwright.sheet.render import render

    written = []
    for proof in proofs:
        name = "-".join(proof.kit.setup.name.split())
        path = out / f"sheet-{name}.pdf"
        hovered = next((study for study in studies if study.kit.setup.name == proof.kit.setup.name), None)
        touched = proving.touched.get(proof.kit.setup.name)
        content = content_of(proof, touched, units=units, hover=hovered, made=datetime.date.today(), seal=seal)
        render(content, paper=paper, out=path)
        written.append(path)
    return written
