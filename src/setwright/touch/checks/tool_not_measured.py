"""A tool of the setup has no length: no reading and no preset gives one.

What silence proves
    Every tool that the setup lists has a number to type into its length register, or a reason why it has none is told.

Why it matters
    The register holds what was in it before, often the length of the tool that stood in that pocket last.

How it decides
    Tools of the setup without a length reading, a contact of their own tip and a preset length.

Blind spots
    Setups whose programs apply no lengths. A tool that the program calls and the setup does not list is told by the kit.

What to do
    Bring the tool to the setter or to the face that gives Z, or write its preset length.

Source
    The job's own readings.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("tool-not-measured", Signal.WARNING)


def run(case: TouchCase) -> Iterator[Finding]:
    """At most one finding, naming all of them."""
    setup = case.setting.kit.setup
    if setup.lengths != "registers":
        return
    there = {entry.station for entry in case.entries if entry.register.startswith("length")}
    missing = [str(tool.station) for tool in setup.tool if tool.station not in there]
    if missing:
        tools = f"tool {missing[0]} has" if len(missing) == 1 else f"tools {', '.join(missing[:-1])} and {missing[-1]} have"
        registers = "its register holds" if len(missing) == 1 else "their registers hold"
        text = f"{tools} no length: nobody measured it, and {registers} what was there before"
        remedy = ("bring it to the tool setter or to the face that gives Z, or write its preset length under its [[setup.tool]] in "
                  "job.toml")  # fmt: skip
        yield case.finding(META.slug, META.signal, text, remedy=remedy)
