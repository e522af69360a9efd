"""Touch: readings become the numbers to type, how sure they are, and what is doubtful."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from setwright.cli.common import All, Answer, Color, Json, Quiet, SetupName, Units, answer, ask, guarded

__all__ = ["NAME", "command"]

NAME = "touch"


def command(
    job: Annotated[Path, typer.Argument(help="A job folder with readings.toml in it.")],
    *,
    enter: Annotated[bool, typer.Option("--enter", help="Ask for readings, one line each: “left -16.852”.")] = False,
    hover: Annotated[list[str] | None, typer.Option("--hover", help="What was seen over the datum.", metavar='"X -5 mm"')] = None,
    qualify: Annotated[str | None, typer.Option("--qualify", help="Repeat test of an instrument.", metavar="NAME")] = None,
    repeats: Annotated[str, typer.Option("--repeats", help="Its readings on one place.", metavar='"1.002 1.004 …"')] = "",
    source: Annotated[str | None, typer.Option("--from", help="Take contacts from the machine (MTConnect).", metavar="URL")] = None,
    on: Annotated[str, typer.Option("--on", help="With --from: the face touched.")] = "",
    instrument: Annotated[str, typer.Option("--with", help="With --from: the instrument.")] = "",
    toward: Annotated[str, typer.Option("--toward", help="With --from: +X, -X, +Y, -Y, -Z or sweep.")] = "",
    purpose: Annotated[str, typer.Option("--for", help="With --from: place, or check (does it still hold?).")] = "place",
    shows: Annotated[list[str] | None, typer.Option("--shows", help="What the control shows now; every digit is compared.",
                                                    metavar='"G54 X -312.447"')] = None,
    lengths: Annotated[str | None, typer.Option("--lengths", help="Lengths as another machine would hold them.",
                                                metavar='"from gauge line"|"tip on datum"|"reference tool"')] = None,
    draw: Annotated[bool, typer.Option("--draw", help="Check the uncertainty by drawing every error anew.")] = False,
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
    everything: All = False,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:
    """Say where the part really is."""

    def work() -> None:
        from setwright.cli.touch_entry import enter_readings, further, hovered, qualify_answer, take_contacts
        from setwright.cli.touch_screen import say_touch
        from setwright.jobfolder.load import load_job, setup_numbered
        from setwright.kit.station import kit
        from setwright.touch.station import Wanted, touch
        from setwright.touch.untouched import setups_touched

        folder = load_job(job).shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        if qualify is not None:
            answer(asked, qualify_answer(asked, folder, qualify, repeats))
        nothing = sys.stdin.isatty() and not folder.job.readings.contact and source is None and not (json or quiet)
        if enter or nothing:
            setups_touched(folder.job, setup)  # readings that would be refused in the end are, before anybody types more
            enter_readings(asked, folder, setup=setup)
            folder = load_job(job).shown_in(units)
        if source is not None:
            here = setup_numbered(folder.job, setup)[0].name
            take_contacts(asked, folder, source, setup=here, on=on, instrument=instrument, toward=toward, purpose=purpose)
            folder = load_job(job).shown_in(units)
        typed = replace(asked, units=asked.units if units or folder.job.units == "mm" else "inch")  # as at the control
        observed = hovered(hover or [], folder.job.units)
        results = [touch(kit(folder, one), hovered=observed, wanted=Wanted.AS_FAR, units=typed.units)
                   for one in setups_touched(folder.job, setup)]  # fmt: skip
        documents, findings = [], []
        for result in results:
            say_touch(typed, result)
            document, found = further(typed, result, shows=shows or [], lengths=lengths, draw=draw,
                                      units=asked.units)  # fmt: skip
            documents.append({"setup": result.kit.setup.name, **result.as_plain(asked.units, typed=typed.units), **document})
            findings += [*result.findings, *found]
        answer(asked, Answer(folder.name, {**documents[0], "setups": documents}, tuple(findings)))

    guarded(NAME, work, as_json=json)
