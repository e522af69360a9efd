"""Zero is to be taken from a face that the blank does not have when it is set up.

What silence proves
    Every face that the datum names and the setup states as made by the program is on the blank before it, in its place on at least
    half of its area.

Why it matters
    Who touches off finds another face than the one that is meant. Zero then lies off by the metal between them, and the first cut
    goes too deep by that, or through air.

How it decides
    Every ray of the blank through the stated extent of the face, before the first motion: how far the metal's surface stands from
    the stated place. The line named makes most of the face.

Blind spots
    Faces that are not stated, as the blank's own six, and those stated as there (made = false): they may be faces of the holding.

What to do
    Take zero from a face that is there when the part is clamped and state where that lies: the raw top at
    z = { face = "top", is = 1.0 }. Or make the face in a setup of its own, before the one that takes its zero from it.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import NoDatum, ProveCase

META = Meta("datum-not-there", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a face, at the datum's line of job.toml."""
    job, setup = case.kit.folder.job, case.kit.setup
    number = [one.name for one in job.setup].index(setup.name)
    for one in case.no_datum:
        span = case.kit.folder.places.of(("setup", number, "datum", one.gives[0]))
        text = f"{_what(one)} is to be taken from face “{one.name}”, which the blank does not have: {_instead(case, one)}"
        remedy = "take it from a face that is there when the part is clamped, and state where that lies; or make this one before"
        unit = "" if one.over_mm is None else "mm"
        yield Finding(slug=META.slug, signal=META.signal, setup=setup.name, text=text, remedy=remedy, file=span.file,
                      line=span.line, column=span.column, excerpt=span.excerpt(), cause=one.name, value=one.over_mm,
                      unit=unit)  # fmt: skip


def _what(one: NoDatum) -> str:
    """ "zero in X and Y and the angle"."""
    axes = [key.upper() for key in one.gives if key != "angle"]
    told = [f"zero in {' and '.join(axes)}"] if axes else []
    return " and ".join([*told, *(["the angle"] if "angle" in one.gives else [])])


def _instead(case: ProveCase, one: NoDatum) -> str:
    """What is there instead, and which line makes the face."""
    made = ""
    if one.row >= 0:
        made = f", and line {case.line_at(one.row)} of {case.path.files[int(case.path.file[one.row])]} makes it"
    if one.over_mm is None:
        return f"nothing like it lies within 2 mm of its place{made}"
    much = case.length(abs(one.over_mm))
    return f"{much} of metal {'stands over' if one.over_mm > 0.0 else 'is missing before'} it{made}"
