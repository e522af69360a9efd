"""The `setwright` command: verbs named after the stations, each in a file of its own, imported when called."""

from __future__ import annotations

import gc
import sys
from importlib import import_module
from typing import Any, Final

import typer
from typer.core import TyperGroup

from setwright import __version__

__all__ = ["VERBS", "app", "main"]

VERBS: Final = ("start", "demo", "read", "kit", "prove", "touch", "hover", "piece", "run", "sheet", "explain", "serve", "record")
"""In the order in which they are listed; each the name of a module beside this one."""
_OBJECTS: Final = 50_000
"""New ones after which what nobody holds any more is looked for. A start makes hundreds of thousands that all stay."""


class _Verbs(TyperGroup):
    """The verbs, made from their modules as they are asked for: one that is not called costs no start-up."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002  (typer calls it so)
        return list(VERBS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:  # noqa: ARG002
        if cmd_name not in VERBS:
            return None
        if cmd_name not in self.commands:
            module = import_module(f"setwright.cli.{cmd_name}")
            verb = getattr(module, "app", None) or typer.Typer(add_completion=False, rich_markup_mode=None)
            if not hasattr(module, "app"):
                verb.command(module.NAME, help=module.__doc__)(module.command)
            self.commands[cmd_name] = typer.main.get_command(verb)
        return self.commands[cmd_name]


app = typer.Typer(
    cls=_Verbs,
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


def main() -> None:
    """Entry point of the console script. A fault of this program itself is never taken for an answer: status 70."""
    gc.set_threshold(_OBJECTS, 50, 100)
    try:
        app()
    except Exception:  # noqa: BLE001  (the last resort: whatever it is, it must not end with a status that says something else)
        import traceback

        traceback.print_exc()
        print("\nThis is a fault of Setwright itself, not of your input. What it printed before is no answer.", file=sys.stderr)
        sys.exit(70)
