"""Draft a job folder from nothing but program files, every guess marked as one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from setwright.cli.common import Answer, Color, Json, Quiet, Units, answer, ask, guarded

__all__ = ["NAME", "command"]

NAME = "start"


def command(
    programs: Annotated[list[Path], typer.Argument(help="Part programs as they are on the machine.")],
    *,
    out: Annotated[Path, typer.Option("-o", "--out", help="The folder to make.", metavar="DIR")],
    json: Json = False,
    units: Units = None,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:
    """Draft a job from programs."""

    def work() -> None:
        from setwright.start.write import start

        asked = ask(NAME, as_json=json, units=units, own="mm", quiet=quiet, no_color=no_color)
        draft = start(programs, out)
        guesses = [guess.model_dump(mode="json") for guess in draft.guesses]
        console = asked.people
        console.print(Text(f"Drafted {out}: {len(guesses)} guesses, each marked in its files.", "bold"))
        if not asked.quiet:
            for guess in guesses:
                console.print(f"  ? {guess['what']} ({guess['evidence']})")
        console.print(Text(f"Next: read {out / 'job.toml'}, correct what is wrong, then: setwright prove {out}"))
        answer(asked, Answer(out.name, {"folder": str(out), "guesses": guesses}))

    guarded(NAME, work, as_json=json)
