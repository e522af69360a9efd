"""The slips a touch-off can tell: what each does to the readings and to the registers.

Names and rates are those of the catalogue (`setwright.slips`); rates only rank slips whose traces look alike.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import combinations
from typing import TypeVar

from setwright.base.units import format_length, written
from setwright.kit.instrument import effective_radius, find_instrument
from setwright.model.instrument import Instrument
from setwright.model.reading import Contact, Display, LengthReading
from setwright.slips.catalogue import rate_of
from setwright.slips.mistakes import INCH, radius_mistakes, transposed, typing_mistakes
from setwright.touch.contacts import STICKOUT
from setwright.touch.equations import Kind, Row
from setwright.touch.features import Flat
from setwright.touch.registers import Entry
from setwright.touch.setting import Setting
from setwright.touch.solution import Solution

__all__ = ["SPAN_MM", "Hypothesis", "of_all_readings", "of_readings", "of_registers", "radius_taken", "under_z"]

_TURN_STEPS = 100
_STEPS = (1, 10, _TURN_STEPS)
_WAYS_OF_STEPS = 2 * len(_STEPS)
_FORGOTTEN = 0.6
_ALL_TAKEN = 0.6
_ALONG_ONE = 0.5
_ELSEWHERE = ((0.7, 50.0), (0.3, 250.0))
_USUAL_STEP = 0.01
_USUAL_STEP_IN = 0.0254
_SAME_FACE = 0.5
_WRONG_BY_MM = (1.0, 10.0, 100.0)
_TURNED_BY = ((0.7, 0.01), (0.3, 0.1))
_LENGTH_KNOWN = 5.0
_REFERENCE_SPREAD = 30.0
SPAN_MM = 400.0
"""Width of "any number at all" in a register, mm."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One slip; `share` of its rate in the catalogue is meant.

    registers: entry name -> error it puts into that register (mm). anything: entries that may hold any number. together: entries
    that are off by one common amount, `together_spread` (mm) wide. found_in: density of finding the right numbers elsewhere, as a
    log. anywhere: the tip may stand anywhere when hovering, whatever the registers hold. rows: row of the readings -> what it adds
    to that residual for size 1; priors: unknown -> what it adds to (estimate − prior mean) for size 1. size, spread: mean and
    standard deviation of the size; a spread of 0 is an exactly known size. loose: unknowns whose prior means are off, each by an
    amount of its own, `spread` wide. undone: the contacts as they would read without the
    mistake, where it is too large for a shift, and undone_lengths the length readings where it is in them too; stretch: by how much
    that enlarges a reading. told: a check of its own tells it.
    """

    slug: str
    words: str
    remedy: str
    share: float = 1.0
    registers: Mapping[str, float] = field(default_factory=dict)
    anything: tuple[str, ...] = ()
    together: tuple[str, ...] = ()
    together_spread: float = 0.0
    found_in: float = 0.0
    anywhere: bool = False
    rows: Mapping[int, float] = field(default_factory=dict)
    priors: Mapping[str, float] = field(default_factory=dict)
    size: float = 1.0
    spread: float = 0.0
    loose: tuple[str, ...] = ()
    undone: tuple[Contact, ...] | None = None
    undone_lengths: tuple[LengthReading, ...] | None = None
    stretch: float = 1.0
    told: bool = False

    @property
    def rate(self) -> float:
        """How often it happens; of no slip (no name), its share."""
        return self.share * (rate_of(self.slug) if self.slug else 1.0)


def of_registers(setting: Setting, solution: Solution, numbers: tuple[Entry, ...]) -> Iterator[Hypothesis]:
    """Mistakes in what was typed, in the digits of the job's own unit. Registers that were not read off are hypothesised about
    too: a hover may show them."""
    units = setting.kit.folder.job.units
    own = [e for e in numbers if e.register == setting.kit.setup.offset]
    by_axis = {e.axis: e for e in own}
    for axis, entry in by_axis.items():
        if axis in "XY":
            yield from _radius_slips(setting, "XY".index(axis), entry, units)
        yield from _typing_slips(entry, units)
    yield _swap(by_axis["X"], by_axis["Y"], "axes-exchanged", "X and Y are exchanged in the work offset", units)
    offset = setting.kit.setup.offset
    yield Hypothesis("left-from-before", f"{offset} holds the numbers of an earlier job", f"type {offset} anew",
                     anything=tuple(e.name for e in own))  # fmt: skip
    yield from _elsewhere(setting, own)
    words = "a shift of zero left from before (G52, G92 or the external offset) still counts"
    yield Hypothesis("shift-left", words, "look at every shift the control shows, and cancel those that are not meant",
                     anywhere=True)  # fmt: skip
    yield from _height_slips(setting, by_axis["Z"], units)
    yield from _length_slips(setting, solution, numbers)


def _elsewhere(setting: Setting, own: list[Entry]) -> Iterator[Hypothesis]:
    """The right numbers stand in another register that was read off as well."""
    offset = setting.kit.setup.offset
    pallet = {offset, *setting.kit.setup.shifts}
    for name, held in sorted(setting.kit.folder.job.registers.offset.items()):
        if name in pallet:
            continue
        near = [_match(getattr(held, e.axis.lower()) - e.rounded, math.hypot(e.estimate.standard, e.step)) for e in own]
        words = f"the numbers for {offset} stand in {name}"
        remedy = f"type them into {offset}, and clear {name} or give it back what it held"
        yield Hypothesis("wrong-register", words, remedy, anything=tuple(e.name for e in own), found_in=math.fsum(near))


def _match(off: float, spread: float) -> float:
    """Log of how much better "the same number" explains a deviation than "any number"."""
    return math.log(SPAN_MM) - 0.5 * (off / spread) ** 2 - math.log(spread * math.sqrt(2.0 * math.pi))


def _radius_slips(setting: Setting, axis: int, entry: Entry, units: str) -> Iterator[Hypothesis]:
    """Radius left out, taken twice, taken on the wrong side, from each face the offset may have been reckoned from."""
    sides = set()
    for contact in setting.contacts:
        feature = setting.features[contact.on]
        if isinstance(feature, Flat) and feature.axis == axis and contact.toward != "sweep":
            instrument = find_instrument(setting.kit.folder.job.shop.instruments, contact.with_)
            sides.add((feature.side, effective_radius(instrument), instrument.tip_diameter))
    letter = "XY"[axis]
    retype = f"type {letter} anew with the radius taken once, on the right side"

    def said(shift: float, why: str) -> str:
        sign = "+" if shift > 0 else "-"
        return f"the {letter} register is {written(abs(shift), entry.step, units)} too far {sign}{letter}: {why}"

    with_radius = sorted(one for one in sides if one[1] > 0.0)
    for side, reach, tip in with_radius:
        for slug, shift, size, why in radius_mistakes(side, reach, tip):
            words = said(shift, why.format(written(size, entry.step, units)))
            yield Hypothesis(slug, words, retype, 1.0 / len(with_radius), registers={entry.name: shift})


def _typing_slips(entry: Entry, units: str) -> Iterator[Hypothesis]:
    value, name, right = entry.rounded, entry.name, entry.text(units)
    again = f"{entry.say(units)}, then read it back"
    for found in typing_mistakes(value):
        if found.slug == ("inch-for-mm" if units == "in" else "mm-for-inch"):
            continue
        words = f"{name} holds {written(value + found.shift, entry.step, units)}: {found.why}"
        yield Hypothesis(found.slug, words, again, found.share, registers={name: found.shift})
    swaps = list(transposed(right))
    for text in swaps:
        shift = (float(text) - float(right)) * (INCH if units == "in" else 1.0)
        words = f"{name} holds {text} for {right}: two digits are exchanged"
        yield Hypothesis("digits-exchanged", words, again, 1.0 / len(swaps), registers={name: shift})
    for steps in _STEPS:
        for sign in (-1, 1):
            shift = sign * steps * (_USUAL_STEP_IN if units == "in" else _USUAL_STEP)
            size = written(abs(shift), entry.step, units)
            words = f"{name} is off by {size}: the handwheel was {steps} steps on when it was read"
            yield Hypothesis("handwheel-zero-lost", words, "touch that face again", 1.0 / _WAYS_OF_STEPS,
                             registers={name: shift})  # fmt: skip
    yield Hypothesis("mistyped", f"{name} holds a number that no reading explains", again, anything=(name,))


def _swap(a: Entry, b: Entry, slug: str, words: str, units: str, share: float = 1.0) -> Hypothesis:
    shift = b.estimate.value - a.estimate.value
    return Hypothesis(slug, words, f"{a.say(units)}, {b.say(units)}", share, registers={a.name: shift, b.name: -shift})


def _height_slips(setting: Setting, entry: Entry, units: str) -> Iterator[Hypothesis]:
    """The height under the tip left out or taken twice in the offset's Z."""
    if not entry.weights:
        return
    heights = {find_instrument(setting.kit.folder.job.shop.instruments, c.with_) for c in setting.contacts if c.toward == "-Z"}
    for instrument in heights:
        if instrument.height > 0.0:
            yield from _height_pair(entry, instrument.height, instrument.name, units)


def _height_pair(entry: Entry, height: float, name: str, units: str) -> Iterator[Hypothesis]:
    size = written(height, entry.step, units)
    yield Hypothesis("height-not-applied", f"{entry.name} is {size} too high: the height of the {name} was left out",
                     entry.say(units), registers={entry.name: height})  # fmt: skip
    yield Hypothesis("height-twice", f"{entry.name} is {size} too low: the height of the {name} was taken off twice",
                     entry.say(units), registers={entry.name: -height})  # fmt: skip


def _length_slips(setting: Setting, solution: Solution, numbers: tuple[Entry, ...]) -> Iterator[Hypothesis]:
    lengths = [e for e in numbers if e.register.startswith("length")]
    z, units = solution.value("z"), setting.kit.folder.job.units
    convention = setting.kit.machine.control.lengths
    pairs = max(len(lengths) * (len(lengths) - 1) / 2, 1.0)
    if len(lengths) > 1:
        words = "all length registers are off by one and the same amount: they were measured against another reference"
        yield Hypothesis("reference-tool-changed", words, "measure the reference again, then every length",
                         together=tuple(e.name for e in lengths), together_spread=_REFERENCE_SPREAD)  # fmt: skip
    for i, entry in enumerate(lengths):
        length = solution.value(f"length of tool {entry.station}")
        words = f"{entry.name} holds a number that no reading explains"
        yield Hypothesis("mistyped", words, entry.say(units), anything=(entry.name,))
        for which, value in (("from gauge line", length), ("tip on datum", z + length)):
            if which != convention:
                words = f'{entry.name} is a length "{which}"; this machine holds lengths "{convention}"'
                shift = value - entry.estimate.value
                yield Hypothesis("length-convention", words, entry.say(units), registers={entry.name: shift})
        for other in lengths[i + 1 :]:
            words = f"tools {entry.station} and {other.station} are exchanged, or their lengths are"
            yield _swap(entry, other, "tools-exchanged", words, units, 1.0 / pairs)
        for other in lengths:
            if other is not entry:
                words = f"{entry.name} holds the length of tool {other.station}"
                shift = other.estimate.value - entry.estimate.value
                yield Hypothesis("length-of-another-tool", words, entry.say(units), 1.0 / pairs, registers={entry.name: shift})
    for entry in numbers:
        if entry.register.startswith("radius"):
            double = setting.kit.machine.control.radius_register == "diameter"
            shift = entry.estimate.value * (-0.5 if double else 1.0)
            held, wanted = ("radius", "diameter") if double else ("diameter", "radius")
            words = f"{entry.name} holds the {held}; this machine wants the {wanted}"
            yield Hypothesis("diameter-for-radius", words, entry.say(units), registers={entry.name: shift})


def of_readings(setting: Setting, solution: Solution) -> Iterator[Hypothesis]:
    """Mistakes at the machine, traced in the readings."""
    rows = solution.rows
    count = max(len(rows), 1)
    for i, row in enumerate(rows):
        who = setting.who(row.reading, row.label)
        again = "clean face and tip, and make this contact again"
        if row.sense:
            words = f"{who} came early: a burr or chip under the tip"
            yield Hypothesis("burr-under-finder", words, again, 1.0 / count, rows={i: float(row.sense)}, size=0.06,
                             spread=0.04)  # fmt: skip
        step = setting.contacts[row.reading].last_step if row.reading < len(setting.contacts) else 0.0
        for steps in (10, _TURN_STEPS) if step > 0.0 else ():
            for sign in (-1.0, 1.0):
                words = f"{who} is off by {steps} steps of the handwheel"
                yield Hypothesis("handwheel-zero-lost", words, again, 1.0 / (4 * count), rows={i: sign * steps * step})
        words = f"{who} does not agree with the others: a wrong number, or another face"
        for spread in _WRONG_BY_MM:
            share = 1.0 / (count * len(_WRONG_BY_MM))
            yield Hypothesis("reading-wrong", words, again, share, rows={i: 1.0}, size=0.0, spread=spread)
    yield from _whole_slips(setting, rows)
    yield from _wrong_faces(setting, rows)
    yield from _lengths_crossed(setting, rows)
    yield from under_z(setting, solution, rows)
    yield from _part_slips(setting, solution)


def _wrong_faces(setting: Setting, rows: tuple[Row, ...]) -> Iterator[Hypothesis]:
    """All contacts of a face were made on another face that is met moving the same way."""
    groups: dict[str, list[int]] = {}
    for i, row in enumerate(rows):
        if row.kind == Kind.PLANE and row.reading < len(setting.contacts):
            groups.setdefault(setting.contacts[row.reading].on, []).append(i)
    for name, members in sorted(groups.items()):
        said = setting.features[name]
        if not isinstance(said, Flat):
            continue
        others = [f for f in setting.features.values() if isinstance(f, Flat) and (f.axis, f.side) == (said.axis, said.side)
                  and abs(f.at - said.at) > _SAME_FACE]  # fmt: skip
        for other in others:
            numbers = ", ".join(str(rows[i].reading + 1) for i in members)
            words = f"contact {numbers}: written as {name}, but made on {other.name}"
            yield Hypothesis("wrong-face", words, "look which face the tip met, and write that one", 1.0 / len(others),
                             rows=dict.fromkeys(members, said.side * (other.at - said.at)))  # fmt: skip


def under_z(setting: Setting, solution: Solution, rows: tuple[Row, ...]) -> Iterator[Hypothesis]:
    """A height among `rows` was touched with another tool than written, or without the setter that is written under it, or with one
    that is not. `solution`: what is known of the lengths.

    Another tool shifts the display by the difference of the two lengths, a setter by its height.
    """
    shop = setting.kit.folder.job.shop.instruments
    known = {station: assembly.length for station, assembly in setting.kit.tools.items()}
    for station in known:
        value, standard = solution.spread({f"length of tool {station}": 1.0})
        if solution.unknowns.row(f"length of tool {station}") is not None and standard < _LENGTH_KNOWN:
            known[station] = value
    heights = {i.name: i.height for i in shop.values() if i.kind in ("height setter", "gauge block", "roller") and i.height > 0.0}
    groups: dict[tuple[int, str], list[int]] = {}
    for i, row in enumerate(rows):
        contact = setting.contacts[row.reading] if row.reading < len(setting.contacts) else None
        if contact is not None and contact.toward == "-Z" and contact.tool in known:
            groups.setdefault((contact.tool, contact.with_), []).append(i)
    for (tool, with_), members in sorted(groups.items()):
        said = f"contact {', '.join(str(rows[i].reading + 1) for i in members)}"
        others = [(s, length) for s, length in sorted(known.items()) if abs(length - known[tool]) > _SAME_FACE]
        for other, length in others:
            words = f"{said}: written as made with tool {tool}, but tool {other} was in the spindle"
            yield Hypothesis("tool-not-as-written", words, "look which tool is in the spindle, and touch that height again",
                             1.0 / len(others), rows=dict.fromkeys(members, length - known[tool]))  # fmt: skip
        yield from _another_under(said, f"tool {tool}", find_instrument(shop, with_), heights, members)
    for with_ in sorted({with_ for _, with_ in groups}):
        tools = [tool for tool, under in sorted(groups) if under == with_]
        members = sorted(i for (_, under), of_tool in groups.items() if under == with_ for i in of_tool)
        if len(tools) > 1:
            said = f"contacts {' and '.join(str(rows[i].reading + 1) for i in members)}"
            yield from _another_under(said, "every tool", find_instrument(shop, with_), heights, members)


def _another_under(said: str, tools: str, under: Instrument, heights: Mapping[str, float],
                   members: list[int]) -> Iterator[Hypothesis]:  # fmt: skip
    """The setter that is written was not under the tip, or one that is not written was. `heights`: of the shop's setters."""
    if under.name in heights:
        words = f"{said}: the {under.name} is written under {tools}, but the tip stood on the face itself"
        yield Hypothesis("setter-left-out", words, "touch that height again with the setter under the tool", _FORGOTTEN,
                         rows=dict.fromkeys(members, -under.height))  # fmt: skip
        return
    for name, tall in sorted(heights.items()):
        words = f"{said}: the {name} stood under {tools}, and {under.name} is written"
        yield Hypothesis("setter-left-out", words, "write what stood under the tool, or touch that height again",
                         (1.0 - _FORGOTTEN) / len(heights), rows=dict.fromkeys(members, tall - under.height))  # fmt: skip


def _whole_slips(setting: Setting, rows: tuple[Row, ...]) -> Iterator[Hypothesis]:
    """Mistakes common to all contacts, or to all of one thing: radius already taken off, exchanged axes, inches."""
    before = _before_the_wall(setting)
    for taken in _radius_taken(setting, before):
        moved = {i: -abs(before[row.reading]) * row.sense for i, row in enumerate(rows)
                 if row.kind != Kind.LINEAR and row.reading in taken.contacts}  # fmt: skip
        if moved:
            yield Hypothesis("radius-in-readings", taken.words, taken.remedy, taken.share, rows=moved)
    yield from of_all_readings(setting)


def radius_taken(setting: Setting) -> Iterator[Hypothesis]:
    """The finder's radius taken off in all readings of upright faces, or in those of one thing: with the contacts as the display
    showed them."""
    before = _before_the_wall(setting)
    for taken in _radius_taken(setting, before):
        undone = tuple(_put_back(c, before[i]) if i in taken.contacts else c for i, c in enumerate(setting.contacts))
        yield Hypothesis("radius-in-readings", taken.words, taken.remedy, taken.share, undone=undone)


@dataclass(frozen=True, slots=True)
class _Taken:
    """Contacts (numbers from 0) from which the radius may have been taken off together."""

    contacts: tuple[int, ...]
    words: str
    remedy: str
    share: float


def _before_the_wall(setting: Setting) -> dict[int, float]:
    """Contacts with upright faces by a finder that has a radius, and how far its axis then stands from the wall along its way, mm:
    positive where it came in the axis' own direction."""
    found = {}
    for i, contact in enumerate(setting.contacts):
        if contact.toward in ("+X", "-X", "+Y", "-Y"):
            reach = effective_radius(find_instrument(setting.kit.folder.job.shop.instruments, contact.with_))
            if reach > 0.0:
                found[i] = reach if contact.toward[0] == "+" else -reach
    return found


def _put_back(contact: Contact, before: float) -> Contact:
    """The contact as the display showed it, had the radius been taken off."""
    shown = {axis: getattr(contact.display, axis) for axis in "xyz"}
    axis = contact.toward[1].lower()
    return _with_display(contact, **shown | {axis: shown[axis] - before})


def _radius_taken(setting: Setting, before: Mapping[int, float]) -> Iterator[_Taken]:
    """All contacts of upright faces, and those of each thing whose size they tell: a bore, a boss, two faces that look apart or at
    one another. Such a thing may as well be of another size."""
    said = "the radius was already taken off in the readings, so it counts twice"
    again = "enter what the display showed at the contact"
    things = list(_sized(setting, before))
    every = tuple(before)
    alone = any(contacts == every for _, contacts, _ in things)
    if every and not alone:
        yield _Taken(every, said, again, _ALL_TAKEN if things else 1.0)
    both = tuple(sorted({i for _, contacts, _ in things for i in contacts}))
    if len(things) > 1 and both != every:
        yield _Taken(both, f"contacts {', '.join(str(i + 1) for i in both)}: {said}", again, 0.5 * (1.0 - _ALL_TAKEN))
    for name, contacts, inside in things:
        size = format_length(2.0 * abs(before[contacts[0]]), "inch" if setting.kit.folder.job.units == "in" else "mm")
        who = "" if contacts == every else f"contacts {', '.join(str(i + 1) for i in contacts)} ({name}): "
        words = f"{who}{said}, or {name} is {size} {'larger' if inside else 'smaller'} than the job says"
        yield _Taken(contacts, words, f"{again}, or measure {name}", (1.0 if alone else 1.0 - _ALL_TAKEN) / len(things))


def _sized(setting: Setting, before: Mapping[int, float]) -> Iterator[tuple[str, tuple[int, ...], bool]]:
    """Things whose size contacts tell: name, contacts, and whether the tip was inside."""
    groups: dict[str | int, list[int]] = {}
    for i in before:
        face = setting.features[setting.contacts[i].on]
        groups.setdefault(face.axis if isinstance(face, Flat) else face.name, []).append(i)
    for key, contacts in groups.items():
        faces = {setting.contacts[i].on: setting.features[setting.contacts[i].on] for i in contacts}
        first = next(iter(faces.values()))
        if not isinstance(first, Flat):
            if len(contacts) > 1:
                yield str(key), tuple(contacts), first.inside
            continue
        flats = [face for face in faces.values() if isinstance(face, Flat)]
        low, high = min(flats, key=lambda face: face.at), max(flats, key=lambda face: face.at)
        if low.side != high.side:
            yield f"the distance from {low.name} to {high.name}", tuple(contacts), low.side > 0


def of_all_readings(setting: Setting) -> Iterator[Hypothesis]:
    """Mistakes that all readings, or all contacts across, share and that are too large for a shift: with the readings as they
    would be without."""
    across = [contact.toward != "-Z" for contact in setting.contacts]
    swapped = _axes_exchanged(setting.contacts)
    if swapped is not None:
        words = "X and Y are exchanged in the readings"
        yield Hypothesis("axes-exchanged", words, "read the display again", undone=swapped)
    yield from _wrong_rounds(setting)
    remedy = "write the unit of the readings at the head of readings.toml, or change each on the page"
    heights = bool(setting.lengths) or not all(across)
    if heights:
        lengths = tuple(_in_inches(read) for read in setting.lengths)
        yield Hypothesis("inch-for-mm", "the readings are inches taken for mm, heights too", remedy, 0.5,
                         undone=tuple(map(_in_inches, setting.contacts)), undone_lengths=lengths, stretch=INCH)  # fmt: skip
    inches = tuple(_with_display(new, x=new.display.x, y=new.display.y, z=c.display.z) if so else c
                   for c, so in zip(setting.contacts, across, strict=True) for new in [_in_inches(c)])  # fmt: skip
    yield Hypothesis("inch-for-mm", "the readings are inches taken for mm", remedy, 0.5 if heights else 1.0, undone=inches,
                     stretch=INCH)  # fmt: skip


def _axes_exchanged(contacts: tuple[Contact, ...]) -> tuple[Contact, ...] | None:
    """The contacts across with X and Y the other way round: in each where both were read; else, where only the axis that moved was,
    between as many contacts along X as along Y, in their order. None where that cannot be."""
    numbers = [i for i, contact in enumerate(contacts) if contact.toward != "-Z"]
    read = [(contacts[i].display.x, contacts[i].display.y) for i in numbers]
    new = list(contacts)
    if all(x is not None and y is not None for x, y in read):
        for i, (x, y) in zip(numbers, read, strict=True):
            new[i] = _with_display(contacts[i], x=y, y=x, z=contacts[i].display.z)
        return tuple(new)
    along = [[i for i in numbers if contacts[i].toward[-1] == axis] for axis in "XY"]
    if any((x is None) == (y is None) for x, y in read) or len(along[0]) != len(along[1]):
        return None
    for i, j in zip(*along, strict=True):
        new[i] = _with_display(contacts[i], x=contacts[j].display.y, y=None, z=contacts[i].display.z)
        new[j] = _with_display(contacts[j], x=None, y=contacts[i].display.x, z=contacts[j].display.z)
    return tuple(new)


def _wrong_rounds(setting: Setting) -> Iterator[Hypothesis]:
    """All contacts of a bore or boss were made on another one."""
    rounds = {name: face for name, face in setting.features.items() if not isinstance(face, Flat)}
    for name in sorted({contact.on for contact in setting.contacts} & set(rounds)):
        members = [i for i, contact in enumerate(setting.contacts) if contact.on == name]
        others = [other for other, face in rounds.items() if other != name and face.inside == rounds[name].inside]
        for other in others:
            undone = tuple(contact.model_copy(update={"on": other}) if i in members else contact
                           for i, contact in enumerate(setting.contacts))  # fmt: skip
            words = f"contact {', '.join(str(i + 1) for i in members)}: written as {name}, but made on {other}"
            remedy = "look which one the tip met, and write that one"
            yield Hypothesis("wrong-face", words, remedy, 1.0 / len(others), undone=undone)


def _turned(*, vise: bool) -> Iterator[Hypothesis]:
    """The part is turned more than its holding says: on a plate, by any angle."""
    if vise:
        yield Hypothesis("holding-not-true", "the part is turned more than a trued vise allows", "indicate the fixed jaw",
                         priors={"angle": 1.0}, size=0.0, spread=_TURNED_BY[0][1])  # fmt: skip
        return
    for share, spread in _TURNED_BY:
        words = "the part is turned more than laying it by eye leaves"
        yield Hypothesis("holding-not-true", words, "indicate a long face of the part", share,
                         priors={"angle": 1.0}, size=0.0, spread=spread)  # fmt: skip


def _exchanged(solution: Solution, read: set[str]) -> Iterator[Hypothesis]:
    """Two tools measure each other's length by the kit: they hang exchanged, or their readings are written the wrong way round."""
    hung = [u for u in solution.unknowns if u.name in read and u.kit == STICKOUT and u.known is not None]
    pairs = [(a, b, b.start - a.start) for a, b in combinations(hung, 2) if abs(b.start - a.start) > _SAME_FACE]
    for a, b, apart in pairs:
        one, other = (u.name.removeprefix("length of ") for u in (a, b))
        words = f"{one} and {other} hang in each other's pockets, or their lengths are written down the wrong way round"
        yield Hypothesis("tools-exchanged", words, "look which tool hangs in which pocket", 0.5 / len(pairs),
                         priors={a.name: apart, b.name: -apart}, told=True)  # fmt: skip


def _lengths_crossed(setting: Setting, rows: tuple[Row, ...]) -> Iterator[Hypothesis]:
    """The length readings of two tools are written the wrong way round: each has the other's display."""
    read = [(i, setting.lengths[row.reading - len(setting.contacts)]) for i, row in enumerate(rows)
            if row.reading >= len(setting.contacts)]  # fmt: skip
    pairs = [(a, b, apart) for a, b in combinations(read, 2) if a[1].tool != b[1].tool
             and abs(apart := (a[1].display.z or 0.0) - (b[1].display.z or 0.0)) > _SAME_FACE]  # fmt: skip
    for (i, one), (j, other), apart in pairs:
        first, last = sorted((one.tool, other.tool))
        words = f"the length readings of tools {first} and {last} are written the wrong way round"
        yield Hypothesis("tools-exchanged", words, "measure both lengths again, each tool by its pocket", 0.5 / len(pairs),
                         rows={i: apart, j: -apart})  # fmt: skip


Shown = TypeVar("Shown", Contact, LengthReading)


def _in_inches(read: Shown) -> Shown:
    x, y, z = (None if value is None else value * INCH for value in (read.display.x, read.display.y, read.display.z))
    return _with_display(read, x=x, y=y, z=z)


def _with_display(read: Shown, *, x: float | None, y: float | None, z: float | None) -> Shown:
    return read.model_copy(update={"display": Display.model_construct(x=x, y=y, z=z)})


def _part_slips(setting: Setting, solution: Solution) -> Iterator[Hypothesis]:
    """The part, a tool or the holding is not as the job says; the offsets are right all the same."""
    read = {f"length of tool {reading.tool}" for reading in setting.lengths}
    read |= {f"length of tool {contact.tool}" for contact in setting.contacts if contact.tool is not None}
    yield from _exchanged(solution, read)
    for unknown in solution.unknowns:
        if unknown.name in read and unknown.kit == "" and unknown.known is not None:
            words = f"the {unknown.name} is not what the preset list says: pulled out, not seated, or another tool"
            yield Hypothesis("tool-pulled-out", words, "look at that tool and its holder, then measure its length again",
                             priors={unknown.name: 1.0}, size=0.0, spread=3.0)  # fmt: skip
        if unknown.name in read and unknown.kit == STICKOUT:
            words = f"the {unknown.name} is not what its stick-out and holder make it: set otherwise, or another tool"
            yield Hypothesis("tool-pulled-out", words, "look which tool hangs there and how far it sticks out",
                             priors={unknown.name: 1.0}, size=0.0, spread=10.0, told=True)  # fmt: skip
        if unknown.name in ("x", "y", "z") and unknown.kit == "the holding's stated place":
            words = f"the holding does not stand where the job says along {unknown.name.upper()}"
            remedy = "correct the place in the job (holding.place in job.toml), or look whether it is the right vise"
            # along Z it stands on the table in any case: only its height can be another
            share = 0.2 if unknown.name == "z" else _ALONG_ONE
            for part, spread in _ELSEWHERE:
                yield Hypothesis("holding-moved", words, remedy, part * share,
                                 priors={unknown.name: 1.0}, size=0.0, spread=spread)  # fmt: skip
                if unknown.name == "y":
                    both = "the holding does not stand where the job says along X and Y"
                    yield Hypothesis("holding-moved", both, remedy, part * (1.0 - _ALONG_ONE), loose=("x", "y"), spread=spread)
        elif unknown.name == "angle":
            yield from _turned(vise=unknown.kit == "the vise")
        elif unknown.name.startswith("tilt"):
            yield Hypothesis("chip-under-part", "the part does not lie flat: chips under it, or lifted off a parallel",
                             "take it out, clean, seat it and tap it down", priors={unknown.name: 1.0}, size=0.0,
                             spread=0.005)  # fmt: skip
        elif unknown.name.startswith(("width", "place of", "radius of")):
            yield Hypothesis("part-not-to-size", f"the part is not as the job says: {unknown.name}", "measure the blank",
                             priors={unknown.name: 1.0}, size=0.0, spread=5.0)  # fmt: skip
