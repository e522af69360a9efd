"""Readings contradict each other grossly, and no other reading tells which of them is wrong.

What silence proves
    No two readings differ by more than five standard uncertainties without a third one that decides between them.

Why it matters
    Half way between two readings half an inch apart is nowhere: least squares would give it as a number with a small ±.

How it decides
    Every reading is left out in turn and the rest solved anew. Where leaving out one or another helps alike (odds below 20 to 1),
    none is accused; every number that depends on which of them is believed is withheld, and there is no G10 block. Readings that
    agree with each other count as contradicted where one mistake in all of them (inches taken for mm, X and Y exchanged) has a
    probability of 99 % and they agree without it as well: then there is no number at all. Readings that agree with each other and
    not with the stated place of the holding or the stick-out of a tool take away the numbers that, at odds of 20 to 1, a mistake in
    them (another tool, a setter left out, a wrong number) puts more than 0.3 mm wrong.

Blind spots
    Readings that are wrong in the same way by little, or in a way that is not known here.

What to do
    Touch the named face once more: the reading it agrees with stands. Then strike out the wrong one.

Source
    Baarda, A testing procedure for use in geodetic networks (1968).
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("readings-contradict", Signal.DANGER)


def run(case: TouchCase) -> Iterator[Finding]:
    """At most one finding: the contradiction, and the touch that decides it."""
    if case.undecided and not any(outlier.rivals for outlier in case.outliers):
        lost = [axis.upper() for axis in "xyz" if case.determined[axis].by == "contradiction"]
        lost += [entry.name for entry in case.entries if not entry.axis and entry.name in case.withheld]
        remedy = "look at the axes, units and faces of all readings, and touch again what is not sure"
        for one in case.diagnosis.ranked:
            if one.words == case.because:
                again = "read the display again"
                remedy = one.remedy if again in one.remedy else f"{one.remedy}, or {again}"
        none = "no number to type" if {"X", "Y", "Z"} <= set(lost) else f"no {', '.join(lost)}"
        text = f"there is {none}: {case.because}" if lost else "the readings contradict each other"
        yield case.finding(META.slug, META.signal, text, remedy=remedy)
    for outlier in case.outliers if case.undecided else ():
        if not outlier.rivals:
            continue
        contacts = case.setting.contacts
        faces = dict.fromkeys(contacts[n].on for n in sorted({outlier.reading, *outlier.rivals}) if n < len(contacts))
        where = " or ".join(faces) or "there"
        own = contacts[outlier.reading].on if outlier.reading < len(contacts) else ""
        if len({contacts[n].on for n in outlier.rivals if n < len(contacts)} - {own}) == 1 and len(outlier.rivals) > 1 and own:
            where = own  # touched once more, the face of many agrees with itself
        lost = [axis.upper() for axis in "xyz" if case.determined[axis].by == "contradiction"]
        none = f": there is no number for {', '.join(lost)}" if lost else ""
        remedy = f"touch {where} once more: the reading it agrees with stands, the other is struck out"
        text = f"{outlier.text(case.units)}{none}"
        yield case.finding(META.slug, META.signal, text, remedy=remedy, value=abs(outlier.early), unit="mm")
