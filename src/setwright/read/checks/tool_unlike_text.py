"""The comments list other tools than the program calls.

What silence proves
    Where comments list tools by number, the program calls no other, or it calls every one that is listed.

Why it matters
    The setter puts the tools where the list says; the program then calls an empty place, or the wrong tool with its length.

How it decides
    Comments that name a station of their own (T4 = face mill) against the T words that are changed to. Reported is a tool that is
    called and not listed while another is listed and never called; exact.

Blind spots
    Two tools exchanged in the list. Comments beside the very tool change are believed.

What to do
    Find out which number is right, and correct the comment or the T and H words.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("tool-unlike-text", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a program."""
    if case.interpreted.end in ("stopped", "until") or case.part is not None:
        return
    changes: dict[int, tuple[int, int]] = {}
    for event in case.path.events:
        if event.kind == "tool change" and int(event.value) > 0:
            changes.setdefault(int(event.value), (event.file, event.line))
    listed = {hint.station: hint for own in case.hints.values() for hint in own.tools if hint.named and hint.station is not None}
    described = {hint.station for own in case.hints.values() for hint in own.tools}
    strange = [station for station in changes if station not in described]
    unused = [station for station in listed if station not in changes]
    if not strange or not unused:
        return
    file, line = changes[strange[0]]
    called = ", ".join(f"T{station}" for station in strange)
    kept = ", ".join(f"T{station} ({listed[station].kind or listed[station].text})" for station in unused)
    text = f"the program calls {called}, which no comment lists; the comments list {kept}, never called"
    yield case.finding(META.slug, META.signal, case.span(case.path.files[file], line), text, tool=strange[0],
                       remedy="find out which number is right before you load the tools")  # fmt: skip
