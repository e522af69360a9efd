"""Neck, shank, holder or spindle nose meets the blank.

What silence proves
    Nothing of the tool assembly that cannot cut comes into metal that is there at that moment, at rapid or feed.

Why it matters
    A shank rubbing in a pocket burns and breaks the tool; a holder in the part wrecks both and the spindle's bearings.

How it decides
    The swept volume of every neck, shank, holder and nose is intersected with the metal left so far (its own cutter removes first
    within the same motion), exactly along every ray; overlap deeper than a nanometre counts. A tool without a described holder
    is undecided.

Blind spots
    Chips; a tool that hangs out less than stated.

What to do
    Let the tool stick out further, take a tool with a longer or relieved neck, or cut in smaller depths.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal, State
from setwright.prove.case import BLANK, Contact, ProveCase
from setwright.prove.wording import MEASURE_IT, how_deep, how_it_runs, how_to_settle, if_it_reaches

META = Meta("body-into-material", Signal.DANGER)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a tool and part, and one for each tool whose holder nobody has described."""
    for station in case.removed_by_tool:
        hung = case.kit.tools.get(station)
        if hung is not None and not hung.has_holder:
            text = f"undecided: the holder of T{station} {hung.tool.name} is not described, so nothing is known of what it meets"
            remedy = "write its steps as holder = [...] in the tool's file"
            yield Finding(slug=META.slug, signal=Signal.CAUTION, state=State.UNDECIDED, text=text, remedy=remedy, tool=station,
                          setup=case.kit.setup.name)  # fmt: skip
    for contact in _together([one for one in case.contacts if one.body == BLANK and one.part != "cutter"], case):
        asked = contact.beyond is not None
        text = f"the {contact.part} of {case.tool_name(contact.row)} meets the blank{if_it_reaches(case, contact)}, "
        text += how_deep(case, contact)
        text += how_it_runs(contact)
        if contact.part in ("neck", "shank") and not contact.doubt:
            text += "; the cut is deeper than the flutes reach"
        remedy = MEASURE_IT * asked + "let the tool stick out further or take a longer one; compare flutes and depth of cut"
        remedy += how_to_settle(contact)
        signal = Signal.WARNING if asked or contact.doubt else META.signal
        yield case.finding(META.slug, signal, contact.row, text, body=BLANK, value=contact.depth_mm, remedy=remedy, question=asked)


def _together(contacts: Sequence[Contact], case: ProveCase) -> Iterator[Contact]:
    """One for each tool and part: what it does at rapid and at feed is one thing to put right; what only a guessed blank meets
    is asked by itself."""
    groups: dict[tuple[str, str, bool], list[Contact]] = {}
    for contact in contacts:
        groups.setdefault((case.tool_name(contact.row), contact.part, contact.beyond is None), []).append(contact)
    for group in groups.values():
        first, deepest = min(group, key=lambda one: one.row), max(group, key=lambda one: one.depth_mm)
        count = sum(one.count for one in group)
        way = "" if any(not one.way for one in group) else group[0].way
        doubt = "" if any(not one.doubt for one in group) else group[0].doubt
        yield replace(deepest, row=first.row, count=count, way=way, doubt=doubt, beyond=first.beyond)
