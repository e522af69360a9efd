"""Run: does it stay good? When to measure next, how the tools wear, whether the process is stable."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table
from rich.text import Text

from setwright.cli.common import All, Answer, Asked, Color, Json, Quiet, SetupName, Units, answer, ask, guarded, say_findings

if TYPE_CHECKING:
    from setwright.jobfolder.load import JobFolder
    from setwright.model.finding import Finding
    from setwright.run.station import RunResult

__all__ = ["NAME", "command", "say_run"]

NAME = "run"


def command(
    job: Annotated[Path, typer.Argument(help="A job folder with measured.csv in it.")],
    *,
    measured: Annotated[Path | None, typer.Option("--measured", help="Take the values from another file, a table or QIF results.",
                                                  metavar="FILE")] = None,
    gauge: Annotated[str, typer.Option("--gauge", help="The gauge of the shop that QIF results were taken with.",
                                       metavar="NAME")] = "",
    gauge_study: Annotated[Path | None, typer.Option("--gauge-study", help="Only say how far a gauge repeats and people agree: a "
                                                     "table of part, person, feature, value, gauge.", metavar="FILE")] = None,
    pitch: Annotated[float | None, typer.Option("--pitch", help="Ray spacing.", metavar="MM")] = None,
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
    everything: All = False,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:
    """Say when to measure next and why, how many pieces are left, and whether the process is stable."""

    def work() -> None:
        from setwright.cli.piece import influences
        from setwright.jobfolder.load import load_job
        from setwright.run.station import run
        from setwright.run.words import job_plain

        folder = load_job(job).shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        if gauge_study is not None:
            _study(asked, folder, gauge_study)
            return
        doubts: list[Finding] = []
        read, found = influences(asked, folder, measured, setup, pitch, doubts, gauge=gauge)
        # sentences are in the unit of the job
        said = replace(asked, units=asked.units if units or folder.job.units == "mm" else "inch")
        results = [run(one, read, units=said.units) for one in found]
        for result in results:
            say_run(said, result)
        findings = (*doubts, *(finding for result in results for finding in result.findings))
        answer(asked, Answer(folder.name, {**job_plain(results, asked.units, typed=said.units),
                                           "measured": {"file": read.file, "sha256": read.digest}}, findings))  # fmt: skip

    guarded(NAME, work, as_json=json)


def _study(asked: Asked, folder: JobFolder, path: Path) -> None:
    """The gauge studies of a file; nothing is written."""
    from setwright.run.gauge import gauge_studies, studied_plain, studied_said

    units = "inch" if folder.job.units == "in" else asked.units
    found = gauge_studies(folder, path)
    for one in found:
        title, *rest = studied_said(one, units)
        asked.people.print()
        asked.people.print(Text(title, "bold"))
        for line in rest[:1] if asked.quiet else rest:
            asked.people.print(Text(f"  {line}"), soft_wrap=True)
    answer(asked, Answer(folder.name, {"studies": [studied_plain(one, asked.units, said=units) for one in found]}))


def say_run(asked: Asked, result: RunResult) -> None:
    """One setup for people: next due as the headline, tools, what the charts say."""
    from setwright.run.words import headline, state_said, tool_said

    console = asked.people
    console.print()
    console.print(Text(f"{result.kit.folder.job.job.title} · setup “{result.kit.setup.name}” · {result.kit.machine.name}", "bold"))
    console.print(Text(headline(result.next_due), "bold"))
    if asked.quiet:
        return
    if result.tools:
        table = Table(box=None, pad_edge=False, header_style="bold")
        for column in ("tool", "shown by", "moved since the first", "a piece", "pieces left", "chance then"):
            table.add_column(column, justify="left" if column in ("tool", "shown by") else "right")
        for tool in result.tools:
            said = tool_said(tool, asked.units)
            table.add_row(f"T{tool.station}", tool.feature, said["worn"], said["per_piece"], said["left"], said["chance"])
        console.print(table)
    for shown in result.charts:
        console.print(f"  {shown.feature}: {state_said(shown)}")
    say_findings(asked, result.findings)
