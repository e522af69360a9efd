"""Whether what was written down can be: readings the axes can show, and numbers to type that bring a tip to the part.

A display shows where the gauge line stands, so every reading lies in the travel of its axis. A number to type does not: but with
it the spindle must be able to stand over the part, and each tip, its length below the gauge line, on the part's top. Where a draft
guessed the travel nothing is refused for it: it becomes a question.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from setwright.base.units import format_length
from setwright.kit.station import Kit
from setwright.model.reading import Contact, LengthReading
from setwright.touch.solution import Solution
from setwright.touch.wording import shown_digits

__all__ = ["Beyond", "beyond_travel", "numbers_beyond"]

_AXES = "xyz"
_SLACK_MM = 1.0
_MM_PER_INCH = 25.4
_SURE_MM = 1.0


@dataclass(frozen=True, slots=True)
class Beyond:
    """Something the machine cannot reach. `reading`: its number, −1 for a number to type; `axes`: which numbers it takes away
    ("x"); `tool`: whose length, None for an offset; `slug`: the slip it looks like, "" for none; `question`: the travel is a guess,
    so it may be the travel that is wrong."""

    reading: int
    axes: str
    text: str
    remedy: str
    slug: str = ""
    tool: int | None = None
    question: bool = False


def _file(kit: Kit) -> str:
    return f"shop/machines/{kit.setup.machine}.toml"


def _guessed(kit: Kit) -> bool:
    return kit.folder.job.guessed(kit.setup.name, f"{_file(kit)}: travel")


def beyond_travel(kit: Kit, contacts: tuple[Contact, ...], lengths: tuple[LengthReading, ...]) -> tuple[Beyond, ...]:
    """Readings that show a position outside the travel, with what most likely happened to the number."""
    found = []
    for number, contact in enumerate(contacts):
        who = f"contact {number + 1} ({contact.on} {contact.toward})"
        moved = "xy" if contact.toward == "sweep" else contact.toward[1].lower()
        for axis in _AXES:
            one = _beyond(kit, number, who, axis, getattr(contact.display, axis), contact.units)
            found += [one] if one is not None and axis in moved else []
            if one is not None and axis not in moved:
                # a place along the face only: it turns the part, and with it every number
                found.append(Beyond(number, moved, one.text, one.remedy, one.slug, question=one.question))
    for number, read in enumerate(lengths):
        who = f"length reading {number + 1} (tool {read.tool} on {read.on})"
        one = _beyond(kit, len(contacts) + number, who, "z", read.display.z, None)
        found += [one] if one is not None else []
    return tuple(found)


def _beyond(kit: Kit, number: int, who: str, axis: str, shown: float | None, written: str | None) -> Beyond | None:
    low, high = getattr(kit.machine.travel, axis)
    if shown is None or low - _SLACK_MM <= shown <= high + _SLACK_MM:
        return None
    units = "in" if "in" in (kit.folder.job.units, written) else "mm"
    slug, cause = _cause(shown, low, high, units)
    name, question = axis.upper(), _guessed(kit)
    says = f"{who} shows {name} {shown_digits(shown, units)} {units}"
    travels = f"{name} travels from {shown_digits(low, units)} to {shown_digits(high, units)}"
    if question:
        other = f", or {cause}" if cause else ""
        text = f"{says}, and the travel in the draft, a guess, ends before that ({travels}): is the machine larger{other}?"
        remedy = f"write the machine's own travel into {_file(kit)}, or read the display again"
        return Beyond(number, axis, text, remedy, slug, question=True)
    why = cause or "it is no position of this machine"
    return Beyond(number, axis, f"{says}, where this machine cannot stand ({travels}): {why}",
                  "read the display again and correct the reading, or touch again", slug)  # fmt: skip


def _cause(shown: float, low: float, high: float, units: str) -> tuple[str, str]:
    """What would bring the number back into the travel: slip and words."""
    ways = [("sign-lost", "the sign was lost", -shown)]
    if units == "in":
        ways.append(("mm-for-inch", "millimetres were written as inches", shown / _MM_PER_INCH))
        ways.append(("mm-for-inch", "millimetres were written as inches, and the sign was lost", -shown / _MM_PER_INCH))
    for factor in (0.1, 0.01):
        ways.append(("decimal-point", "the decimal point is in the wrong place", shown * factor))
    for slug, words, value in ways:
        if low <= value <= high:
            return slug, f"{words} ({shown_digits(value, units)} would be in it)"
    return "", ""


def numbers_beyond(kit: Kit, solution: Solution) -> Iterator[Beyond]:
    """Numbers to type with which the spindle would have to stand outside its travel to be over the part, or a tip on its top."""
    question, inch = _guessed(kit), kit.folder.job.units == "in"
    units = "inch" if inch else "mm"
    remedy = "look at the readings it comes from" + (f", or write the machine's own travel into {_file(kit)}" if question else "")
    for axis in (0, 1):
        value, standard = solution.spread({_AXES[axis]: 1.0})
        low, high = getattr(kit.machine.travel, _AXES[axis])
        first, last = (value + float(corner[axis]) for corner in kit.extent)
        if standard <= _SURE_MM and (last < low - _SLACK_MM or first > high + _SLACK_MM):
            name, place = "XY"[axis], f"{format_length(first, units)} to {format_length(last, units)}"
            text = f"with this {name} the whole part would lie at {name} {place}, beyond the travel of the axis"
            yield Beyond(-1, _AXES[axis], text, remedy, question=question)
    low, high = kit.machine.travel.z
    top = float(kit.extent[1][2])
    for station in kit.tools:
        name = f"length of tool {station}"
        if solution.unknowns.row(name) is None:
            continue
        length, standard = solution.spread({name: 1.0})
        if standard <= _SURE_MM and length <= 0.0:
            text = f"tool {station} would be {format_length(length, units)} long from gauge line to tip"
            yield Beyond(-1, "", text, remedy, tool=station)
        together, standard = solution.spread({name: 1.0, "z": 1.0})
        at = together + top
        if standard <= _SURE_MM and not low - _SLACK_MM <= at <= high + _SLACK_MM:
            text = f"tool {station} stands on the part's top at Z {format_length(at, units)}, beyond the travel of the axis"
            yield Beyond(-1, "", text, remedy, tool=station if at > high else None, question=question)
