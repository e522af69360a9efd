"""Explain a check: what its silence proves, how it decides, what to do."""

from __future__ import annotations

import difflib
from typing import Annotated

import typer

from setwright.base.errors import InputRefused
from setwright.cli.common import Color, guarded
from setwright.model.check import Check, checks_in

__all__ = ["CATALOGUES", "NAME", "command"]

NAME = "explain"
CATALOGUES = ("setwright.read.checks", "setwright.kit.checks", "setwright.prove.checks", "setwright.touch.checks")


def command(
    slug: Annotated[str | None, typer.Argument(help="The check's name, as it stands in [brackets] behind a finding.")] = None,
    *,
    no_color: Color = False,
) -> None:
    """Explain one check, or list them all."""
    del no_color

    def work() -> None:
        known = {check.META.slug: check for check in _all()}
        if slug is None:
            for name, check in sorted(known.items()):
                print(f"{name:<32} {check.META.signal.value:<8} {check.__doc__.splitlines()[0]}")
        elif slug in known:
            print(f"{slug} ({known[slug].META.signal.value})\n\n{known[slug].__doc__.strip()}")
        else:
            near = difflib.get_close_matches(slug, known, n=1)
            hint = f'did you mean "{near[0]}"?' if near else "see the list with: setwright explain"
            raise InputRefused.because(f'no check is called "{slug}"', remedy=hint)

    guarded(NAME, work, as_json=False)


def _all() -> list[Check]:
    import importlib.util

    return [check for package in CATALOGUES if importlib.util.find_spec(package) for check in checks_in(package)]
