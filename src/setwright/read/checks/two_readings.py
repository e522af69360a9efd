"""The text can be read in two ways that move the tool differently, and nothing in it decides.

What silence proves
    Where the control is not known, everything in the text that controls read differently is settled by the text itself.

Why it matters
    The same program cuts another part on another control, or a thousandth of one.

How it decides
    The text is interpreted anew with every other reading of a behaviour that neither the text nor the machine's file settles. The
    first motion that differs is shown under both; a reading that moves nothing otherwise is not spoken of. The proof runs all.

Blind spots
    Behaviours that no known control shows. Functions of the machine (M numbers) cannot be computed: they are named, and taken to
    move nothing.

What to do
    State the machine's control profile, or try the block on the machine far from anything.

Source
    The behaviours of the control profile; see `setwright read --profile`.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.program.readings import choices
from setwright.read.case import ReadCase

META = Meta("two-readings", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding for every behaviour that stays open and every reading that moves otherwise."""
    for doubt in case.doubts:
        where = f"control.behaviours.{doubt.behaviour}"
        if len(choices(doubt.behaviour)) < 2:
            others = ", ".join(f"“{reading}”" for reading in doubt.readings if reading != doubt.taken)
            text = f"{doubt.text}; read as “{doubt.taken}”, could also be {others}"
            yield case.finding(META.slug, META.signal, doubt.span, text, remedy=f"state it in the machine's file: {where}")
            continue
        for other in case.others:
            motion = other.difference
            if other.behaviour != doubt.behaviour or motion is None:
                continue
            text = f"{doubt.text}; read as “{other.taken}”, {motion.taken}; read as “{other.reading}”, {motion.other}"
            remedy = f"look up what the control does and state it in the machine's file: {where}"
            span = doubt.span if doubt.span.line else case.span(motion.file, motion.line)
            yield case.finding(META.slug, META.signal, span, text, remedy=remedy)
