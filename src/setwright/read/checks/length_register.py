"""A tool runs with the length register of another tool.

What silence proves
    Every tool of the program applies the length register that has its own number (or the one its tool word names).

Why it matters
    A tool that is 40 mm longer than its register says goes 40 mm too deep.

How it decides
    The register in force against the tool's number; exact. Where that number belongs to another tool of the program, which works
    with it as its own, one of the two has a wrong length: DANGER. Where every other tool works with its own number it is a
    WARNING, elsewhere (a scheme of the shop's own) a CAUTION.

Blind spots
    Shops that number registers by their own scheme are reported as well.

What to do
    Compare H with T in this line; if another register is meant, state it at the tool in job.toml.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import OF_A_WRONG_LENGTH, ReadCase, said

META = Meta("length-register-of-another-tool", Signal.DANGER, brings=OF_A_WRONG_LENGTH)


def run(case: ReadCase) -> Iterator[Finding]:
    """What was noticed, place by place, with what the other tools do."""
    works = {use.number: use.length_registers for use in case.interpreted.tools if use.length_registers}
    for found in said(case, META.slug, "length register of another tool"):
        register = int(found.value or 0)
        station = next((use.number for use in case.interpreted.tools if f"Tool {use.number} works" in found.text), 0)
        others = {number: own for number, own in works.items() if number != station}
        if register in others.get(register, ()):
            text = f"T{station} works with H{register}, which is the length of T{register}"
            yield replace(found, signal=META.signal, text=text, tool=station, remedy=f"write H{station}, if it is T{station}")
        elif others and all(own == (number,) for number, own in others.items()):
            text = f"T{station} works with H{register}; every other tool works with the length of its own number"
            remedy = f"write H{station}, if nothing else is meant"
            yield replace(found, signal=Signal.WARNING, text=text, tool=station, remedy=remedy)
        else:
            yield replace(found, tool=station)
