"""Kit: does it go together? Bodies, tools as they hang, registers that fit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.table import Table
from rich.text import Text

from setwright.cli.common import Answer, Asked, Color, Json, Quiet, SetupName, Units, answer, ask, guarded, say_findings
from setwright.cli.format import length

if TYPE_CHECKING:
    from setwright.kit.station import Kit

__all__ = ["NAME", "command"]

NAME = "kit"


def command(
    job: Annotated[Path, typer.Argument(help="A job folder.")],
    *,
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
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
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color)
        kits = [kit(folder, one) for one in setup_numbered(folder.job, setup)]
        documents = [plain(one) for one in kits]
        findings = tuple(finding for one in kits for finding in kit_findings(one))
        for one, document in zip(kits, documents, strict=True):
            _say(asked, one, document)
        if findings and not asked.quiet:
            asked.people.print()
            say_findings(asked, findings)
        answer(asked, Answer(folder.name, {"setups": documents}, findings))

    guarded(NAME, work, as_json=json)


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
