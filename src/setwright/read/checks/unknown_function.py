"""An M number is taken to move nothing.

What silence proves
    Every M number is standard or listed by the control profile.

Why it matters
    A machine function that clamps, indexes or moves something is not in the proof.

How it decides
    The interpreter notices it while it carries out the block, exactly as a control of this profile would; no estimate is
    involved.

Blind spots
    Functions listed in the profile are believed.

What to do
    Look it up in the machine maker's manual; list it in the machine's profile.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("machine-function-not-known", Signal.CAUTION, question=True)
_LINES_SHOWN = 3


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding for all such functions, with their lines."""
    lines: dict[str, list[int]] = {}
    seen = [remark for remark in case.interpreted.remarks if remark.slug == "machine function not known"]
    for remark in seen:
        lines.setdefault(remark.text.split()[0], []).append(remark.span.line)
    if not seen:
        return
    shown = [f"{name} ({_places(own)})" for name, own in lines.items()]
    listed = shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
    what = "a word" if "E" in lines else "a function"
    are = "are functions of this machine that are" if len(shown) > 1 else f"is {what} of this machine that is"
    text = f"{listed} {are} not known here, and taken to move nothing"
    yield case.finding(META.slug, META.signal, seen[0].span, text, remedy=seen[0].remedy, cause="machine_functions")


def _places(lines: list[int]) -> str:
    """The first lines in words, the rest counted."""
    shown = ", ".join(str(line) for line in lines[:_LINES_SHOWN])
    more = f" and {len(lines) - _LINES_SHOWN} more" if len(lines) > _LINES_SHOWN else ""
    return f"line{'s' * (len(lines) > 1)} {shown}{more}"
