"""Read a program (or a job's programs): tools, offsets, extents, time, and what cannot be understood."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table
from rich.text import Text

from setwright.base.errors import InputRefused
from setwright.cli.common import (
    All,
    Answer,
    Asked,
    Color,
    Json,
    Quiet,
    SetupName,
    Units,
    answer,
    ask,
    guarded,
    refuse_after,
    say_findings,
)
from setwright.cli.format import duration, length, span_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from setwright.program.unread import Unread
    from setwright.read.station import Reading

__all__ = ["NAME", "command"]

NAME = "read"


def command(
    job: Annotated[Path | None, typer.Argument(help="A job folder, or a part program file by itself.")] = None,
    *,
    control: Annotated[str | None, typer.Option("--control", help="Read a bare program as this profile.", metavar="NAME")] = None,
    plot: Annotated[Path | None, typer.Option("--plot", help="Draw the path from above and in front.", metavar="FILE.svg")] = None,
    profile: Annotated[bool, typer.Option("--profile", help="List the control profiles and explain every behaviour.")] = False,
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
    everything: All = False,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:
    """Say what the paperwork asks for."""

    def work() -> None:
        if profile:
            _say_profiles()
            return
        if job is None:
            raise InputRefused.because("nothing is named to be read", remedy="name a job folder or a program file")
        named, own = _readings(job, setup, control, units)
        asked = ask(NAME, as_json=json, units=units, own=own, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        for title, reading in named:
            _say(asked, title, reading)
        if plot is not None:
            _draw(asked, named, plot)
        findings = [finding for _, reading in named for finding in reading.findings]
        documents = [{"setup": title, **reading.as_plain(asked.units)} for title, reading in named]
        problems = [problem for _, reading in named for problem in reading.problems]
        given = Answer(job.name, {**documents[0], "setups": documents}, tuple(findings))
        if problems:
            refuse_after(asked, given, problems)
        answer(asked, given)

    guarded(NAME, work, as_json=json)


def _draw(asked: Asked, named: list[tuple[str, Reading]], plot: Path) -> None:
    """One picture a setup; the second and later ones get a number in their name."""
    from setwright.jobfolder.append import replace_text
    from setwright.read.picture import draw_path

    for number, (title, reading) in enumerate(named, 1):
        path = plot if number == 1 else plot.with_stem(f"{plot.stem}-{number}")
        if not path.parent.is_dir():
            raise InputRefused.because(f"there is no folder {path.parent}", remedy="name one that exists with --plot")
        name = f"{', '.join(reading.digests)} {title}".strip()
        replace_text(path, draw_path(reading.interpreted.path, title=name, units=asked.units))
        asked.people.print(Text(f"Picture: {path}"))


def _say_profiles() -> None:
    """Every profile by what it changes, and every behaviour with its values."""
    from setwright.program.profile import Profile, behaviours, bundled_profile, bundled_profiles

    plain = Profile()
    for name in bundled_profiles():
        own = bundled_profile(name)
        differs = [f"{b.name} = {getattr(own, b.name)!r}" for b in behaviours() if getattr(own, b.name) != getattr(plain, b.name)]
        print(f"{name}: {'; '.join(differs[1:]) or 'every behaviour at its default'}")
    print()
    for behaviour in behaviours()[1:]:
        values = behaviour.allowed
        if isinstance(values, tuple):
            shown = f"{values[0]} … {values[1]} {behaviour.unit}" if behaviour.unit else " | ".join(str(value) for value in values)
        else:
            shown = "a list of numbers" if values is int else "text"
        print(f"{behaviour.name} = {behaviour.default!r}   ({shown})\n    {behaviour.changes}")


def _readings(job: Path, setup: str | None, control: str | None, units: str | None) -> tuple[list[tuple[str, Reading]], str]:
    """What is to be read, and its own units: a bare program with the behaviours it shows itself, or every setup of a job with
    those of its machine."""
    if job.is_file() and job.name != "job.toml":
        from setwright.jobfolder.document import read_bytes
        from setwright.program.profile import bundled_profile
        from setwright.read.station import read, read_alone

        data = read_bytes(job, shown=str(job), largest=500_000_000)
        shown = "in" if units == "inch" else units or ""
        reading = read_alone({job.name: data}, shown=shown) if control is None else \
            read({job.name: data}, profile=bundled_profile(control), shown=shown)
        return [("", reading)], "inch" if reading.inch else "mm"
    from setwright.jobfolder.load import load_job, setup_numbered
    from setwright.kit.registers import nominal_truth
    from setwright.kit.station import kit
    from setwright.prove.reading import read_setup

    folder = load_job(job).shown_in(units)
    found = []
    for one in setup_numbered(folder.job, setup):
        together = kit(folder, one)
        found.append((one.name, read_setup(together, nominal_truth(together))))
    return found, folder.job.units


def _say(asked: Asked, title: str, reading: Reading) -> None:
    console, plain = asked.people, reading.as_plain()
    files = ", ".join(program["file"] for program in plain["programs"])
    head = f"{files}" + (f" · setup “{title}”" if title else "")
    console.print(Text(head, "bold"))
    read = reading.interpreted
    whole = "read to its end" if read.complete else f"read up to {read.stopped_at}" if read.stopped_at else "not wholly understood"
    console.print(f"{read.blocks:,} blocks, {len(read.path):,} motions, {whole}. Control profile: {reading.profile.name}. "
                  f"Time about {duration(reading.timing.total_s, reading.timing.within_s)}.")  # fmt: skip
    if asked.quiet:
        return
    table = Table(box=None, pad_edge=False, header_style="bold")
    inch = asked.units in ("in", "inch")
    for column in ("tool", "length", "radius", "speed rev/min", f"feed {'in' if inch else 'mm'}/min", "motions", "from line"):
        table.add_column(column, justify="right")
    for tool in plain["tools"]:
        table.add_row(
            f"T{tool['number']}", _register("H", tool["length_registers"]), _register("D", tool["radius_registers"]),
            span_of(tool["speed_range_rpm"], 0), _feeds(tool["feed_range_mm_min"], inch=inch), f"{tool['motions']:,}",
            str(tool["line"]),
        )  # fmt: skip
    console.print(table)
    for name, box in plain["extents"].items():
        low, high = ([length(value, asked.units) for value in box[end]] for end in ("min", "max"))
        sides = "   ".join(f"{axis} {low[i]} … {high[i]}" for i, axis in enumerate("XYZ"))
        console.print(f"cutting in {name}: {sides}")
    if reading.unread is not None:
        _say_unread(asked, reading.unread, reading.descriptions)
    for evidence in plain["evidence"]:
        console.print(Text(f"from the text: {evidence['text']} ({evidence['place']})", "dim"))
    for assumption in plain["assumptions"]:
        console.print(Text(f"assumed: {assumption['text']} ({assumption['place']})", "dim"))
    say_findings(asked, reading.findings)


def _say_unread(asked: Asked, unread: Unread, descriptions: Mapping[int, str]) -> None:
    """What stands behind the stop: counted, and what it calls with its lines."""
    console = asked.people
    blocks = f"{unread.blocks:,} block{'s are' if unread.blocks != 1 else ' is'} not read"
    console.print(Text(f"Behind line {unread.line} of {unread.file} {blocks}; nothing there is computed.", "bold"))
    for number, span in unread.tools.items():
        said = f": {descriptions[number]}" if number in descriptions else ""
        console.print(Text(f"  calls T{number} in line {span.line}{said}"))
    others = [*unread.offsets, *(f"H{n}" for n in unread.lengths), *(f"D{n}" for n in unread.radii)]
    if others:
        console.print(f"  uses {', '.join(others)}")


def _feeds(limits: tuple[float, float] | None, *, inch: bool) -> str:
    """Least and greatest feed from mm/min, to a whole millimetre or a tenth of an inch."""
    return span_of((limits[0] / 25.4, limits[1] / 25.4) if inch and limits else limits, 1 if inch else 0)


def _register(letter: str, numbers: list[int]) -> str:
    return " ".join(f"{letter}{number}" for number in numbers) or "–"
