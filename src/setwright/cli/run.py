"""Run: does it stay good? When to measure next, how the tools wear, whether the process is stable."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table
from rich.text import Text

from setwright.cli.common import All, Answer, Asked, Color, Json, Quiet, SetupName, Units, answer, ask, guarded, say_findings
from setwright.cli.format import length

if TYPE_CHECKING:
    from setwright.model.finding import Finding
    from setwright.run.station import RunResult

__all__ = ["NAME", "command", "say_run"]

NAME = "run"


def command(
    job: Annotated[Path, typer.Argument(help="A job folder with measured.csv in it.")],
    *,
    measured: Annotated[Path | None, typer.Option("--measured", help="Take the values from another file.", metavar="FILE")] = None,
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

        folder = load_job(job).shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        doubts: list[Finding] = []
        read, found = influences(asked, folder, measured, setup, pitch, doubts)
        results = [run(one, read, units=asked.units) for one in found]
        for result in results:
            say_run(asked, result)
        documents = [result.as_plain(asked.units) for result in results]
        findings = (*doubts, *(finding for result in results for finding in result.findings))
        answer(asked, Answer(folder.name, {**documents[0], "measured": {"file": read.file, "sha256": read.digest},
                                           "setups": documents}, findings))  # fmt: skip

    guarded(NAME, work, as_json=json)


def say_run(asked: Asked, result: RunResult) -> None:
    """One setup for people: next due as the headline, tools, what the charts say."""
    console, due, units = asked.people, result.next_due, asked.units
    pieces = "the next piece" if due.pieces == 1 else f"the {due.pieces}th piece from now" if due.pieces > 3 else \
        f"the {('second', 'third')[due.pieces - 2]} piece from now"  # fmt: skip
    console.print()
    console.print(Text(f"{result.kit.folder.job.job.title} · setup “{result.kit.setup.name}” · {result.kit.machine.name}", "bold"))
    console.print(Text(f"Measure {pieces}: {due.why}.", "bold"))
    if asked.quiet:
        return
    if result.tools:
        table = Table(box=None, pad_edge=False, header_style="bold")
        for column in ("tool", "shown by", "moved since the first", "a piece", "pieces left", "chance then"):
            table.add_column(column, justify="left" if column in ("tool", "shown by") else "right")
        for tool in result.tools:
            left = "none in sight" if tool.left is None else str(tool.left)
            chance = "–" if tool.chance is None else f"{100.0 * tool.chance:.0f} %"
            table.add_row(f"T{tool.station}", tool.feature, length(tool.wear, units, signed=True),
                          length(tool.per_piece, units, signed=True), left, chance)  # fmt: skip
        console.print(table)
    for shown in result.charts:
        said = [chart.stable for chart in shown.charts]
        state = "not stable" if False in said else "too few points to say" if None in said else "stable"
        one = shown.capable
        capable = f", Cpk {one.cpk:.2f} ({one.cpk_low:.2f} to {one.cpk_high:.2f})" if one is not None else ""
        console.print(f"  {shown.feature}: {state}{capable}")
    say_findings(asked, result.findings)
