"""Touch: readings become the numbers to type, how sure they are, and what is doubtful."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table
from rich.text import Text

from setwright.cli.common import Answer, Asked, Color, Json, Quiet, SetupName, Units, answer, ask, guarded, say_findings
from setwright.cli.format import length

if TYPE_CHECKING:
    from setwright.touch.station import TouchResult

__all__ = ["NAME", "command", "say_touch"]

NAME = "touch"


def command(
    job: Annotated[Path, typer.Argument(help="A job folder with readings.toml in it.")],
    *,
    hover: Annotated[list[str] | None, typer.Option("--hover", help="What was seen over the datum.", metavar='"X -5 mm"')] = None,
    qualify: Annotated[str | None, typer.Option("--qualify", help="Repeat test of an instrument.", metavar="NAME")] = None,
    repeats: Annotated[str, typer.Option("--repeats", help="Its readings on one place.", metavar='"1.002 1.004 …"')] = "",
    source: Annotated[str | None, typer.Option("--from", help="Take contacts from the machine (MTConnect).", metavar="URL")] = None,
    on: Annotated[str, typer.Option("--on", help="With --from: the face touched.")] = "",
    instrument: Annotated[str, typer.Option("--with", help="With --from: the instrument.")] = "",
    toward: Annotated[str, typer.Option("--toward", help="With --from: +X, -X, +Y, -Y, -Z or sweep.")] = "",
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:
    """Say where the part really is."""

    def work() -> None:
        from setwright.cli.touch_entry import hovered, qualify_answer, take_contacts
        from setwright.jobfolder.load import load_job, setup_numbered
        from setwright.kit.station import kit
        from setwright.touch.station import touch

        folder = load_job(job)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color)
        if qualify is not None:
            answer(asked, qualify_answer(asked, folder, qualify, repeats))
        if source is not None:
            here = setup_numbered(folder.job, setup)[0].name
            take_contacts(asked, folder, source, setup=here, on=on, instrument=instrument, toward=toward)
            folder = load_job(job)
        observed = hovered(hover or [], folder.job.units)
        read = {contact.setup for contact in folder.job.readings.contact}
        setups = [one for one in setup_numbered(folder.job, setup) if setup is not None or one.name in read or not read]
        results = [touch(kit(folder, one), hovered=observed, units=asked.units) for one in setups]
        for result in results:
            say_touch(asked, result)
        documents = [{"setup": result.kit.setup.name, **result.as_plain(asked.units)} for result in results]
        findings = tuple(finding for result in results for finding in result.findings)
        answer(asked, Answer(folder.name, {**documents[0], "setups": documents}, findings))

    guarded(NAME, work, as_json=json)


def say_touch(asked: Asked, result: TouchResult) -> None:
    """One setup on one screen: what to type, how sure, what it rests on, what is doubtful."""
    console, kit = asked.people, result.kit
    console.print()
    console.print(Text(f"{kit.folder.job.job.title} · setup “{kit.setup.name}” · {kit.machine.name}", "bold"))
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in ("type", "into", "± (95 %)", "most of it from"):
        table.add_column(column, justify="right" if column in ("type", "± (95 %)") else "left")
    for entry in result.entries:
        largest = max(entry.estimate.contributions, key=lambda part: part.share, default=None)
        why = f"{largest.source} ({largest.share:.0%})" if largest else ""
        table.add_row(Text(entry.text(asked.units), "bold"), entry.name, length(entry.estimate.expanded, asked.units), why)
    console.print(table)
    if asked.quiet:
        return
    for found in result.determined.values():
        console.print(f"  {found.text}")
    block = result.g10(asked.units)
    if block:
        console.print(Text(f"\n{block}"))
    for said in result.read_back:
        console.print(f"  {said}")
    console.print()
    say_findings(asked, result.findings)
    if result.next is not None:
        console.print(f"Next best contact: {result.next.text(asked.units)}")
