"""The text can be read in two ways that move the tool differently, and nothing in it decides.

What silence proves
    Where the control is not known, everything in the text that controls read differently is settled by the text itself.

Why it matters
    The same program cuts another part on another control, or a thousandth of one.

How it decides
    The text is interpreted anew with every other reading of a behaviour that neither the text nor the machine's file settles. The
    first motion that differs is shown under both; a reading that moves nothing otherwise is not spoken of. The proof runs all.
    All functions of the machine are one CAUTION; so is a reading that would make a part smaller than 1 mm.

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
from setwright.program.readings import Ambiguity, choices
from setwright.read.case import ReadCase

META = Meta("two-readings", Signal.WARNING, brings=("machine-function-not-known", "under-another-reading"),
            question=True)  # fmt: skip
_LEAST_PART_MM = 1.0


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding for every behaviour that stays open and every reading that moves otherwise; functions of the machine in one."""
    functions = [doubt for doubt in case.doubts if doubt.behaviour == "machine_functions"]
    if functions:
        yield _functions(case, functions)
    for doubt in case.doubts:
        where = f"control.behaviours.{doubt.behaviour}"
        if doubt in functions:
            continue
        if len(choices(doubt.behaviour)) < 2:
            others = ", ".join(f"“{reading}”" for reading in doubt.readings if reading != doubt.taken)
            text = f"{doubt.text}; read as “{doubt.taken}”, could also be {others}"
            yield case.finding(META.slug, META.signal, doubt.span, text, remedy=f"state it in the machine's file: {where}",
                               cause=doubt.behaviour)  # fmt: skip
            continue
        for other in case.others:
            motion = other.difference
            if other.behaviour != doubt.behaviour or motion is None:
                continue
            text = f"{doubt.text}; read as “{other.taken}”, {motion.taken}; read as “{other.reading}”, {motion.other}"
            remedy = f"look up what the control does and state it in the machine's file: {where}"
            span = doubt.span if doubt.span.line else case.span(motion.file, motion.line)
            yield case.finding(META.slug, _signal(case, doubt, other.reading), span, text, remedy=remedy, cause=doubt.behaviour)


def _functions(case: ReadCase, functions: list[Ambiguity]) -> Finding:
    """All functions of the machine that nothing in the text explains, with their lines."""
    first = functions[0]
    names = [f"{doubt.text.split()[0]} (line {doubt.span.line})" for doubt in functions]
    shown = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    many = len(names) > 1
    text = (f"{shown} {'are functions' if many else 'is a function'} of this machine; nothing in the text says what "
            f"{'they do' if many else 'it does'}; read as “{first.taken}”, could also be "
            f"{', '.join(f'“{reading}”' for reading in first.readings if reading != first.taken)}")  # fmt: skip
    remedy = "state it in the machine's file: control.behaviours.machine_functions"
    return case.finding(META.slug, Signal.CAUTION, first.span, text, remedy=remedy, cause=first.behaviour)


def _signal(case: ReadCase, doubt: Ambiguity, reading: str) -> Signal:
    """A doubt of which the other reading makes no part, or that only concerns the way to the tool change, is a CAUTION."""
    if doubt.behaviour == "change_motion":
        return Signal.CAUTION
    if doubt.behaviour == "decimal" and reading == "least increment" and case.feeding.any():
        ends = case.path.end[case.feeding]
        step = 10.0 ** -(4 if case.inch else 3)
        if float((ends.max(axis=0) - ends.min(axis=0)).max()) * step < _LEAST_PART_MM:
            return Signal.CAUTION
    return META.signal
