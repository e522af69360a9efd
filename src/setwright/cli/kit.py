"""Kit: does it go together? Bodies, tools as they hang, registers that fit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.table import Table
from rich.text import Text

from setwright.base.errors import InputRefused
from setwright.cli.common import All, Answer, Asked, Color, Json, Quiet, SetupName, Units, answer, ask, guarded, say_findings
from setwright.cli.format import length

if TYPE_CHECKING:
    from setwright.jobfolder.load import JobFolder
    from setwright.kit.station import Kit

__all__ = ["NAME", "command"]

NAME = "kit"


def command(
    job: Annotated[Path, typer.Argument(help="A job folder.")],
    *,
    mend: Annotated[
        str | None, typer.Option("--mend", help="Write a closed copy of this mesh file of the job beside it.", metavar="MESH")
    ] = None,
    advise: Annotated[bool, typer.Option("--advise", help="Say where on the table the holding may stand.")] = False,
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

        folder = load_job(job).shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        if mend is not None:
            _mend(asked, folder, mend)
        kits = [] if mend is not None else [kit(folder, one) for one in setup_numbered(folder.job, setup)]
        documents = [plain(one) for one in kits]
        if advise:
            from setwright.prove.standing import standing_of

            for one, document in zip(kits, documents, strict=True):
                document["may_stand"] = standing_of(one).as_plain()
        findings = tuple(finding for one in kits for finding in kit_findings(one))
        for one, document in zip(kits, documents, strict=True):
            _say(asked, one, document)
        if findings and not asked.quiet:
            asked.people.print()
            say_findings(asked, findings)
        answer(asked, Answer(folder.name, {"setups": documents}, findings))

    guarded(NAME, work, as_json=json)


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
