"""The `setwright` command: verbs named after the stations, each in a file of its own, imported when called."""

from __future__ import annotations

import sys
import traceback

import typer

from setwright import __version__
from setwright.cli import demo, explain, hover, kit, prove, read, record, serve, sheet, start, touch

__all__ = ["app", "main"]

app = typer.Typer(
    name="setwright",
    help="Sets up a CNC vertical machining centre with you: offsets and how sure they are, what the program will do to the metal, "
    "the sheet. A proof is a calculation about a model, never a permission to start.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _version(wanted: bool) -> None:  # noqa: FBT001  (typer calls it so)
    if wanted:
        print(f"setwright {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Show the version and stop."),  # noqa: FBT001
) -> None:
    """Answers to options of the whole command."""


for module in (start, demo, read, kit, prove, touch, hover, sheet, explain, serve):
    app.command(module.NAME, help=module.__doc__)(module.command)
app.add_typer(record.app)


def main() -> None:
    """Entry point of the console script. A fault of this program itself is never taken for an answer: status 70."""
    try:
        app()
    except Exception:  # noqa: BLE001  (the last resort: whatever it is, it must not end with a status that says something else)
        traceback.print_exc()
        print("\nThis is a fault of Setwright itself, not of your input. What it printed before is no answer.", file=sys.stderr)
        sys.exit(70)
