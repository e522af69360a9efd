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

        folder = load_job(job)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        if mend is not None:
            _mend(asked, folder, mend)
        kits = [] if mend is not None else [kit(folder, one) for one in setup_numbered(folder.job, setup)]
        documents = [plain(one) for one in kits]
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
