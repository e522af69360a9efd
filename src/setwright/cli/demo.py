"""Run the whole route on a bundled job and leave its folder and sheets behind."""

from __future__ import annotations

import difflib
import shutil
from importlib import resources
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from setwright.cli.common import Answer, Color, Json, Quiet, Units, answer, ask, guarded
from setwright.cli.prove import say_proof
from setwright.cli.proving import Proving
from setwright.cli.sheet import write_sheets
from setwright.cli.touch_screen import say_touch

__all__ = ["NAME", "command"]

NAME = "demo"


def command(
    name: Annotated[str, typer.Argument(help="bearing-cap, pintle or spacers.")] = "bearing-cap",
    *,
    out: Annotated[Path | None, typer.Option("-o", "--out", help="Where to put it; ./NAME otherwise.", metavar="DIR")] = None,
    json: Json = False,
    units: Units = None,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:
    """Read, kit, prove at the desk, touch, prove on measured offsets, sheet."""

    def work() -> None:
        from setwright.jobfolder.load import load_job
        from setwright.prove.report import plain_job

        root = _unpacked(name, out or Path(name))
        folder = load_job(root).shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color)
        console = asked.people
        console.print(Text("1. At the desk: proved on expected offsets.", "bold underline"))
        desk = Proving(folder, asked, nominal=True).run(None)
        for proof in desk:
            say_proof(asked, proof)
        console.print()
        console.print(Text("2. At the machine: the readings become offsets.", "bold underline"))
        proving = Proving(folder, asked)
        proofs = proving.run(None)
        for result in proving.touched.values():
            say_touch(asked, result)
        console.print()
        console.print(Text("3. Proved again on the measured offsets.", "bold underline"))
        for proof in proofs:
            say_proof(asked, proof)
        sheets = write_sheets(proving, proofs, root, paper="A4", units=asked.units)
        listed = ", ".join(str(path) for path in sheets)
        console.print()
        console.print(Text(f"Done. The job is in {root}; print and sign {listed}.", "bold"))
        console.print(f"Then see which mistakes would hurt, and the checks that catch them: setwright hover {root}")
        findings = tuple(finding for proof in proofs for finding in proof.findings)
        document = {"folder": str(root), "sheets": [str(path) for path in sheets], **plain_job(proofs, asked.units)}
        answer(asked, Answer(name, document, findings))

    guarded(NAME, work, as_json=json)


def _unpacked(name: str, out: Path) -> Path:
    """The bundled job as a folder of its own; an earlier copy that nobody changed is used again."""
    from setwright.base.errors import InputRefused

    home = resources.files("setwright.demo")
    known = sorted(entry.name for entry in home.iterdir() if entry.is_dir() and (entry / "job.toml").is_file())
    if name not in known:
        near = difflib.get_close_matches(name, known, n=1)
        hint = f'did you mean "{near[0]}"?' if near else f"known: {', '.join(known)}"
        raise InputRefused.because(f'no bundled job is called "{name}"', remedy=hint)
    if out.exists() and not (out / "job.toml").exists():
        raise InputRefused.because(f"{out} exists and is not a job folder", remedy="name another place with -o DIR")
    if not out.exists():
        with resources.as_file(home / name) as source:
            shutil.copytree(source, out)
    return out
