"""Kit: does it go together? Bodies, tools as they hang, registers that fit."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, NoReturn

import typer
from rich.table import Table
from rich.text import Text

from setwright.base.errors import InputRefused
from setwright.cli.common import All, Answer, Asked, Color, Json, Quiet, SetupName, Units, answer, ask, guarded, say_findings
from setwright.cli.format import duration, length
from setwright.cli.progress import Bar

if TYPE_CHECKING:
    from setwright.jobfolder.load import JobFolder
    from setwright.kit.station import Kit
    from setwright.read.stopwatch import Calibration

__all__ = ["NAME", "command"]

NAME = "kit"


def command(
    job: Annotated[Path, typer.Argument(help="A job folder; with --calibrate a machine's file.")],
    *,
    mend: Annotated[
        str | None, typer.Option("--mend", help="Write a closed copy of this mesh file of the job beside it.", metavar="MESH")
    ] = None,
    advise: Annotated[
        bool, typer.Option("--advise", help="Say where the holding may stand, and how short and long each tool may stick out.")
    ] = False,
    tools: Annotated[
        Path | None, typer.Option("--tools", help="Take tools by ISO 13399 symbols from a list into the shop.", metavar="LIST")
    ] = None,
    calibrate: Annotated[
        Path | None, typer.Option("--calibrate", help="Fit the machine's time figures to programs timed with a stop-watch.",
                                  metavar="TIMES.CSV")
    ] = None,
    keep: Annotated[bool, typer.Option("--keep", help="With --calibrate: write the figures into the machine's file.")] = False,
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
    everything: All = False,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:
    """Put machine, holding, blank and tools together."""

    def work() -> None:
        from setwright.jobfolder.load import load_job, setup_numbered
        from setwright.kit.findings import kit_findings
        from setwright.kit.report import plain
        from setwright.kit.station import kit

        if tools is not None:
            _take_tools(ask(NAME, as_json=json, units=units, quiet=quiet, no_color=no_color), job, tools)
        if calibrate is not None:
            _calibrate(ask(NAME, as_json=json, units=units, quiet=quiet, no_color=no_color), job, calibrate, keep=keep)
        if keep:
            raise InputRefused.because("--keep keeps what --calibrate finds", remedy="add --calibrate TIMES.CSV")
        folder = load_job(job).shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        if mend is not None:
            _mend(asked, folder, mend)
        kits = [] if mend is not None else [kit(folder, one) for one in setup_numbered(folder.job, setup)]
        documents = [plain(one) for one in kits]
        if advise:
            from setwright.prove.chain import prove_job
            from setwright.prove.standing import standing_of
            from setwright.prove.stickouts import stick_outs

            with Bar(asked.progress, quiet=asked.quiet) as bar:
                proofs = prove_job(folder, [one.setup for one in kits], progress=bar)
                for proof, document in zip(proofs, documents, strict=True):
                    document["may_stand"] = standing_of(proof.kit).as_plain()
                    document["stick_outs"] = [one.as_plain() for one in stick_outs(proof, progress=bar)]
        findings = tuple(finding for one in kits for finding in kit_findings(one))
        for one, document in zip(kits, documents, strict=True):
            _say(asked, one, document)
        if findings and not asked.quiet:
            asked.people.print()
            say_findings(asked, findings)
        answer(asked, Answer(folder.name, {"setups": documents}, findings))

    guarded(NAME, work, as_json=json)


def _take_tools(asked: Asked, job: Path, table: Path) -> NoReturn:
    """Write the tools of a list into the job's shop (or a shop folder), and say what was taken from it and what was not."""
    from setwright.jobfolder.load import shop_folder_of
    from setwright.kit.toolfile import read_tools, write_tools

    shop = shop_folder_of(job)
    found = read_tools(table)
    files = write_tools(found, shop)
    for one, file in zip(found, files, strict=True):
        asked.people.print(Text(f"{file}: {one.tool.kind} “{one.tool.name}”", "bold"))
        if asked.quiet:
            continue
        asked.people.print("  taken: " + ", ".join(f"{symbol} as {key}" for symbol, key in one.taken.items()))
        if one.unused:
            asked.people.print(f"  known, and nothing here is computed with it: {', '.join(one.unused)}")
        for said in one.unread:
            asked.people.print(f"  not understood, not taken: {said}")
        if not one.tool.holder:
            asked.people.print("  its holder is not stated: write it into the file before a proof says anything of it")
    answer(asked, Answer(job.name, {"tools": [one.as_plain() for one in found]}))


_FIGURES: Final = {
    "acceleration_xy": ("acceleration of X and Y", "m/s²", 0.001), "acceleration_z": ("acceleration of Z", "m/s²", 0.001),
    "corner_rounding": ("rounding of corners", "mm", 1.0), "block_time": ("time for a block", "ms", 1000.0),
    "tool_change": ("tool change", "s", 1.0), "spindle_start": ("spindle start or stop", "s", 1.0),
}  # fmt: skip


def _calibrate(asked: Asked, path: Path, table: Path, *, keep: bool) -> NoReturn:
    """Fit the figures of one machine file, say them, and write them into the file if that was asked for."""
    from setwright.prove.timed import keep_figures, machine_of, watched_runs
    from setwright.read.stopwatch import calibrate

    machine = machine_of(path)
    runs = watched_runs(table, machine)
    with Bar(asked.progress, quiet=asked.quiet) as bar:
        found = calibrate(machine, runs, progress=lambda done, total: bar("fitting times", done, total))
    _say_calibration(asked, found)
    if keep:
        keep_figures(path, found.machine)
        asked.people.print(f"Written into {path}. Cycle times computed with it carry their ± from now on.")
    elif not asked.quiet:
        asked.people.print("Nothing is written; --keep writes these figures into the machine's file.")
    answer(asked, Answer(path.stem, {"calibration": {**found.as_plain(), "kept": keep}}))


def _say_calibration(asked: Asked, found: Calibration) -> None:
    console = asked.people
    console.print(Text(f"{found.machine.name} · {len(found.timings)} programs by the stop-watch", "bold"))
    if not asked.quiet:
        table = Table(box=None, pad_edge=False, header_style="bold")
        for column in ("", "before", "now", "in 95 of 100 cases", ""):
            table.add_column(column, justify="left" if not column else "right")
        for one in found.figures:
            name, unit, per = _FIGURES[one.key]
            before, value, low, high = (f"{number * per:.3g}" for number in (one.before, one.value, one.low, one.high))
            table.add_row(name, f"{before} {unit}", f"{value} {unit}", f"{low} to {high} {unit}",
                          "" if one.shown else "these programs do not show it")  # fmt: skip
        console.print(table)
        table = Table(box=None, pad_edge=False, header_style="bold")
        for column in ("program", "stop-watch", "computed before", "computed now"):
            table.add_column(column, justify="left" if column == "program" else "right")
        for timing in found.timings:
            table.add_row(timing.name, duration(timing.measured), duration(timing.before),
                          duration(timing.fitted, timing.within))  # fmt: skip
        console.print(table)
    console.print(f"A computed time then holds to ± {math.ceil(1000.0 * found.share) / 10.0:g} % in 95 of 100 cases, and to what "
                  "the figures above leave open for that program.")  # fmt: skip
    unseen = [_FIGURES[one.key][0] for one in found.figures if not one.shown]
    if unseen:
        console.print(f"Not shown by these programs: {', '.join(unseen)}. Time one that hangs on it: long rapids and many "
                      "corners for accelerations, short blocks at a high feed for the block, many tools for changes.")  # fmt: skip


def _mend(asked: Asked, folder: JobFolder, name: str) -> None:
    """Write the mended copy of one mesh; the file itself and the job stay as they are."""
    from setwright.geometry.meshes import mended_mesh

    if name not in folder.meshes:
        known = ", ".join(folder.meshes) or "none"
        raise InputRefused.because(f'the job uses no mesh "{name}"', why=f"it uses {known}", remedy="name it as the job does")
    data, done = mended_mesh(folder.meshes[name], name=name)
    copy = folder.root / f"{name.rsplit('.', 1)[0]}-mended.stl"
    if copy.exists():
        raise InputRefused.because(f"{copy.name} is there already", remedy="move it away first; nothing is overwritten")
    copy.write_bytes(data)
    console = asked.people
    console.print(f"{copy} written: {', '.join(done) if done else 'nothing had to be changed'}.")
    console.print("Look at it before you use it: a lid over a hole is a guess of the shape. Then name it in the job instead.")


def _say(asked: Asked, kit: Kit, document: dict[str, Any]) -> None:
    console = asked.people
    console.print()
    console.print(Text(f"{kit.folder.job.job.title} · setup “{kit.setup.name}” · {kit.machine.name}", "bold"))
    if asked.quiet:
        return
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in ("tool", "", "diameter", "stick-out", "length", "registers"):
        table.add_column(column, justify="left" if column in ("tool", "", "registers") else "right")
    for tool in document["tools"]:
        table.add_row(
            f"T{tool['station']}", tool["name"], length(tool["diameter_mm"], asked.units), length(tool["stickout_mm"], asked.units),
            length(tool["length_mm"], asked.units), f"H{tool['length_register']} D{tool['radius_register']}",
        )  # fmt: skip
    console.print(table)
    for body in document["bodies"]:
        sides = "   ".join(f"{axis} {length(a, asked.units, bare=True)} … {length(b, asked.units)}"
                           for axis, a, b in zip("XYZ", body["min"], body["max"], strict=True))  # fmt: skip
        console.print(f"  {body['name']:<24} {sides}")
    for name, offset in document["expected_offsets"].items():
        console.print(f"  {name} is expected at X {length(offset[0], asked.units)}  Y {length(offset[1], asked.units)}  "
                      f"Z {length(offset[2], asked.units)}")  # fmt: skip
    if "may_stand" in document:
        _say_standing(asked, document["may_stand"])
        _say_stick_outs(asked, document["stick_outs"])


_WAYS = {"x": ("left", "right"), "y": ("front", "back"), "z": ("lower", "higher")}


def _say_standing(asked: Asked, stands: dict[str, Any]) -> None:
    """Where the holding may stand, and what is in the way at each border."""
    console = asked.people
    console.print()
    console.print(Text("How far the holding may stand from there, tools and program as they are:", "bold"))
    table = Table(box=None, pad_edge=False, show_header=False)
    for justify in ("left", "right", "left"):
        table.add_column(justify=justify)
    for axis, ways in _WAYS.items():
        for end, way in zip(("low", "high"), ways, strict=True):
            border = stands[axis][end]
            room = border["shift_mm"] if end == "high" else -border["shift_mm"]
            at = f"{axis.upper()} {length(border['limit_mm'], asked.units)}"
            then = f"then T{border['tool']} is sent beyond {at} ({border['file']} line {border['line']})" \
                if border["why"] == "travel" else f"then the blank hangs over the table's edge, {at}"  # fmt: skip
            table.add_row(f"  {way}", length(room, asked.units), then if room >= 0.0 else f"short of it: {then[5:]}")
    console.print(table)
    if not stands["room"]:
        console.print("There is no place for it: change what is in the way, or take another machine.")
        return
    x, y = (place + shift for place, shift in zip(stands["offset_mm"], stands["best_shift_mm"], strict=False))
    console.print(f"Most room on all sides: {stands['offset']} at X {length(x, asked.units)}  Y {length(y, asked.units)}.")
    if stands["guessed"]:
        console.print("The travel or the place is a guess: read them off the machine first.")


def _say_stick_outs(asked: Asked, tools: list[dict[str, Any]]) -> None:
    """How short and how long each tool may stick out, and what is in the way beyond."""
    if not tools:
        return
    console = asked.people
    console.print()
    console.print(Text("How far each tool may stick out, program, part and holding as they are:", "bold"))
    table = Table(box=None, pad_edge=False, show_header=False)
    for justify in ("left", "left", "right", "left"):
        table.add_column(justify=justify)
    for tool in tools:
        name, now = f"  T{tool['tool']}", f"now {length(tool['stickout_mm'], asked.units)}"
        if tool["not_looked_at"]:
            table.add_row(name, now, "–", f"not looked at: {tool['not_looked_at']}")
            continue
        for word, end in (("at least", tool["shortest"]), ("at most", tool["longest"])):
            at = "–" if end["why"] == "nowhere" else length(end["stickout_mm"], asked.units)
            table.add_row(name, f"{now}, {word}", at, _end_of_stick_out(asked, end, shorter=word == "at least"))
            name, now = "", " " * len(now)
    console.print(table)
    console.print("A stick-out is a figure of a model: clamp at least as deep as the maker asks, and turn no faster than tool and "
                  "holder are rated for at that length.")  # fmt: skip


def _end_of_stick_out(asked: Asked, end: dict[str, Any], *, shorter: bool) -> str:
    """What is in the way beyond one end."""
    place = f" ({end['file']} line {end['line']})"
    more = f"; leave {length(end['plus_minus_mm'], asked.units)} more for what the setup may be off" if end["plus_minus_mm"] else ""
    if end["why"] == "nowhere":
        return f"none is right: its {end['part']} meets the {end['body']}{place} at every one tried" if end["part"] else \
            f"none is right: the spindle is sent beyond the top of its travel{place} at every one tried"  # fmt: skip
    words = {
        "contact": f"{'shorter' if shorter else 'longer'}, its {end['part']} meets the {end['body']}{place}{more}",
        "travel": f"longer, the spindle is sent beyond the top of its travel{place}",
        "bends": f"longer, it bends by more than its share of “{end['body']}”{place}; a model's figure",
        "flutes": "shorter, its flutes would be in the holder",
        "length": "its own length; nothing is in the way up to there",
        "tried": "nothing is in the way up to there, and no more was tried: its length is not stated",
    }
    return words[end["why"]]
