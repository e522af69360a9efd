"""The readings of one setup made ready to solve: refused as they stand, or turned into rows and unknowns."""

from __future__ import annotations

import datetime
import math
import statistics
from collections.abc import Collection
from dataclasses import dataclass
from itertools import pairwise

from setwright.base.errors import InputRefused, Problem
from setwright.estimate.distribution import Distribution, Normal, Rectangular
from setwright.kit.instrument import effective_radius, find_instrument
from setwright.kit.station import Kit
from setwright.model.instrument import Instrument
from setwright.model.reading import Contact, LengthReading, Readings
from setwright.touch.conditions import Conditions
from setwright.touch.contacts import Basis, contact_rows, length_row, length_unknown
from setwright.touch.diameters import tool_radii
from setwright.touch.equations import Row
from setwright.touch.features import Feature, Flat, features_of, find_feature
from setwright.touch.guard import Beyond, beyond_travel
from setwright.touch.unknowns import Unknown, Unknowns

__all__ = ["Seen", "Setting", "prepare", "refuse_unfit", "start_from"]

Triple = tuple[float, float, float]
Seen = tuple[tuple[int, int, float], ...]
"""Reading, axis, and where that contact alone would put the program's zero along it, about, mm."""
_AXES = "xyz"
_ON_THE_TABLE = ("tool setter", "table")
_COARSER_IN_INCHES = 2.54
_A_NIGHT = datetime.timedelta(hours=6)
_DRAFTED = " (default)"


@dataclass(frozen=True, slots=True)
class Setting:
    """One setup's readings as rows. `contacts`, `lengths`: those of this setup; rows refer to them by number, contacts first.

    `checks`: contacts made later to see whether the place still holds; they have no rows. `seen`: where each contact alone would
    put the zero; `about`: where the kit has it, mm. `beyond`: readings outside the travel; `aside`: the rows of those that cannot
    be, which count for nothing.
    """

    kit: Kit
    conditions: Conditions
    features: dict[str, Feature]
    contacts: tuple[Contact, ...]
    lengths: tuple[LengthReading, ...]
    rows: tuple[Row, ...]
    basis: Basis
    checks: tuple[Contact, ...] = ()
    seen: Seen = ()
    about: Triple = (0.0, 0.0, 0.0)
    beyond: tuple[Beyond, ...] = ()
    aside: tuple[Row, ...] = ()

    def who(self, reading: int, label: str) -> str:
        """How to speak of a reading: "contact 7 (fixed jaw +Y)" or "length reading 2 (tool 5 on tool setter)"."""
        return f"{self.name_of(reading)} ({label})"

    def name_of(self, reading: int) -> str:
        """"contact 7" or "length reading 2"."""
        own = reading - len(self.contacts)
        return f"contact {reading + 1}" if own < 0 else f"length reading {own + 1}"


def prepare(kit: Kit, readings: Readings, conditions: Conditions) -> Setting:
    """Rows and unknowns of the readings that belong to the kit's setup. Raises InputRefused with everything found wrong at once."""
    own = tuple(contact for contact in readings.contact if contact.setup == kit.setup.name)
    contacts = tuple(contact for contact in own if contact.purpose == "place")
    lengths = tuple(read for read in readings.tool_length if read.setup == kit.setup.name)
    if not contacts:
        raise InputRefused.because(f'no contact was read for setup "{kit.setup.name}"',
                                   remedy="touch the faces the datum names and enter what the display showed")  # fmt: skip
    instruments = [find_instrument(kit.folder.job.shop.instruments, contact.with_) for contact in contacts]
    refuse_unfit(contacts, instruments)
    features = features_of(kit.folder.job, kit.setup, conditions)
    touched = [find_feature(features, contact.on, who=f"contact {i + 1}") for i, contact in enumerate(contacts)]
    tools = _tool_lengths(kit)
    beyond = beyond_travel(kit, contacts, lengths)
    cannot_be = {one.reading for one in beyond if not one.question}
    seen = tuple(one for one in _seen(contacts, touched, instruments, tools) if one[0] not in cannot_be)
    about = _triple(kit.placement.machine_from_work.shift.tolist())
    start = start_from(seen, about)
    unknowns = Unknowns()
    _pose(kit, unknowns, conditions, start, three_heights=_three_heights(contacts))
    measured = tool_radii(kit, readings)
    radii = {station: assembly.radius for station, assembly in kit.tools.items()} | {n: m.value for n, m in measured.items()}
    spread = dict.fromkeys(kit.tools, conditions.nominal_radius) | {n: m.standard for n, m in measured.items()}
    basis = Basis(kit.machine, conditions, unknowns, tools, radii, spread, start, _digit(kit, contacts), _guessed(kit))
    differences = kit.machine.control.lengths == "reference tool"  # to one tool, whose length counts before it is read
    for tool in kit.setup.tool:
        if tool.preset.length is not None or (differences and tool.station == kit.machine.control.reference_tool):
            unknowns.add(tools[tool.station])
    rows = [row for i, (contact, feature, instrument) in enumerate(zip(contacts, touched, instruments, strict=True))
            for row in contact_rows(contact, feature, instrument, basis, reading=i)]  # fmt: skip
    for i, read in enumerate(lengths):
        instrument = find_instrument(kit.folder.job.shop.instruments, read.with_)
        stands_on = None if read.on in _ON_THE_TABLE else find_feature(features, read.on, who=f"length reading {i + 1}")
        rows.append(length_row(read, instrument, basis, reading=len(contacts) + i, feature=stands_on))
    checks = tuple(contact for contact in own if contact.purpose == "check")
    kept, aside = (tuple(row for row in rows if (row.reading in cannot_be) is so) for so in (False, True))
    return Setting(kit, conditions, features, contacts, lengths, kept, basis, checks, seen, about, beyond, aside)


def _guessed(kit: Kit) -> frozenset[str]:
    """Instruments whose sizes a draft guessed, and "table" where it guessed the machine: nobody measured those."""
    job, name = kit.folder.job, kit.setup.name
    said = [guess.what for guess in job.guess if guess.setup in ("", name)]
    names = {i.name for i in job.shop.instruments.values() if any(i.name.removesuffix(_DRAFTED) in one for one in said)}
    table = {"table"} if job.guessed(name, f"shop/machines/{kit.setup.machine}.toml: t") else set()
    return frozenset(names | table)


def _digit(kit: Kit, contacts: tuple[Contact, ...]) -> float:
    """The display's last digit, mm: an inch display shows one more place than a metric one, which is still 2.54 times coarser."""
    inch = kit.folder.job.units == "in" or any(contact.units == "in" for contact in contacts)
    return kit.machine.control.increment * (_COARSER_IN_INCHES if inch else 1.0)


def refuse_unfit(contacts: tuple[Contact, ...], instruments: list[Instrument]) -> None:
    """Refuse readings that must not be solved together, and contacts made faster than the finder allows."""
    problems = []
    units = sorted({contact.units for contact in contacts if contact.units is not None})
    if len(units) > 1:
        problems.append(Problem("some contacts were read in mm and some in inches", "the display was switched in between",
                                "read them all in one unit"))  # fmt: skip
    problems += _of_two_days(contacts)
    for number, (contact, instrument) in enumerate(zip(contacts, instruments, strict=True), start=1):
        speed = contact.speed or 0.0
        rated = instrument.rated_speed
        if instrument.stands_still and speed > 0.0:
            problems.append(Problem(f"contact {number}: {instrument.name} was used at {speed:.0f} rpm", "it must stand still",
                                    "stop the spindle and touch again"))  # fmt: skip
        elif rated is not None and speed > rated:
            said = f"contact {number}: {instrument.name} ran at {speed:.0f} rpm"
            problems.append(Problem(said, f"it is rated {rated:.0f} rpm at most", "slow down and touch again"))
    if problems:
        raise InputRefused(problems)


def _of_two_days(contacts: tuple[Contact, ...]) -> list[Problem]:
    """Contacts that a night lies between; a shift may go past midnight. Dates without a time of day are compared as days."""
    said = [contact.when for contact in contacts if contact.when is not None]
    times = sorted(one.replace(tzinfo=None) for one in said if isinstance(one, datetime.datetime))
    days = sorted(one.isoformat()[:10] for one in said)
    night = len(times) > 1 and max(b - a for a, b in pairwise(times)) > _A_NIGHT
    if not night and (len(times) == len(said) or days[0] == days[-1]):
        return []
    return [Problem(f"contacts of {days[0]} and of {days[-1]} are mixed", "the machine and the part have moved since",
                    "keep those of one shift, or touch again")]  # fmt: skip


def _tool_lengths(kit: Kit) -> dict[int, Unknown]:
    job, name = kit.folder.job, kit.setup.name
    found = {}
    for tool in kit.setup.tool:
        holder = kit.tools[tool.station].tool.holder
        hung = holder and not job.guessed(name, f"job.toml: setup.tool.{tool.station}.stickout")
        about = tool.stickout + sum(step.length for step in holder) if hung else None
        found[tool.station] = length_unknown(f"tool {tool.station}", tool.preset.length, tool.preset.varies, about=about)
    return found


def _three_heights(contacts: tuple[Contact, ...]) -> bool:
    """Whether one face was touched from above at three places that are not in a line."""
    for name in {contact.on for contact in contacts}:
        places = [(c.display.x, c.display.y) for c in contacts if c.on == name and c.toward == "-Z"]
        known = [(x, y) for x, y in places if x is not None and y is not None]
        if len(known) >= 3:
            (ax, ay), *others = known
            legs = [(x - ax, y - ay) for x, y in others]
            if any(abs(px * qy - py * qx) > 1.0 for px, py in legs for qx, qy in legs):
                return True
    return False


def start_from(seen: Seen, about: Triple, left_out: Collection[int] = ()) -> Triple:
    """Where the program's zero is, about: the median of what contacts say of an axis, else as the kit has it."""
    kept = [(axis, value) for reading, axis, value in seen if reading not in left_out]
    x, y, z = (statistics.median([value for along, value in kept if along == axis] or [about[axis]]) for axis in range(3))
    return x, y, z


def _triple(values: list[float]) -> Triple:
    return values[0], values[1], values[2]


def _seen(contacts: tuple[Contact, ...], touched: list[Feature], instruments: list[Instrument],
          tools: dict[int, Unknown]) -> Seen:  # fmt: skip
    found: list[tuple[int, int, float]] = []
    for reading, (contact, feature, instrument) in enumerate(zip(contacts, touched, instruments, strict=True)):
        if contact.toward == "sweep":
            if not isinstance(feature, Flat):
                found.append((reading, 0, (contact.display.x or 0.0) - feature.centre[0]))
                found.append((reading, 1, (contact.display.y or 0.0) - feature.centre[1]))
            continue
        axis, sign = _AXES.index(contact.toward[1].lower()), 1 if contact.toward[0] == "+" else -1
        shown = getattr(contact.display, _AXES[axis])
        if axis == 2:
            length = tools[contact.tool].start if contact.tool in tools else (instrument.length or 150.0)
            height = feature.at if isinstance(feature, Flat) else 0.0
            found.append((reading, 2, shown - length - instrument.height - height))
        elif isinstance(feature, Flat):
            found.append((reading, axis, shown - feature.at - feature.side * effective_radius(instrument)))
        else:
            free = feature.radius + (-1.0 if feature.inside else 1.0) * effective_radius(instrument)
            wall = 1 if feature.inside else -1
            found.append((reading, axis, shown - feature.centre[axis] - sign * wall * free))
    return tuple(found)


def _pose(kit: Kit, unknowns: Unknowns, conditions: Conditions, start: Triple, *, three_heights: bool) -> None:
    about, placement = kit.placement.machine_from_work.shift.tolist(), kit.placement
    guessed = kit.folder.job.guessed(kit.setup.name, f"shop/holding/{kit.setup.holding.use}.toml")
    guessed_table = "table" in _guessed(kit)
    for axis, name in enumerate(_AXES):
        low, high = getattr(kit.machine.travel, name)
        known: Distribution
        if placement.placed and not guessed and (axis < 2 or (not guessed_table and kit.machine.table.z != 0.0)):
            spread = max(placement.varies, conditions.least_place)
            if axis == 2:  # table, bed and parallels tell the height better than a rule tells the place across
                spread = math.hypot(0.5 * spread, kit.setup.blank.varies[2])
            known, words = Normal(about[axis], spread), "the holding's stated place"
        else:
            reach = max(high - low, abs(start[axis] - 0.5 * (low + high)) + 1.0)
            known, words = Rectangular(0.5 * (low + high), reach), "nothing"
        unknowns.add(Unknown(name, start[axis], known, "place of the holding", words))
    unknowns.add(_angle(kit, conditions))
    if three_heights:
        for name in ("tilt about x", "tilt about y"):
            seat = Rectangular(0.0, conditions.seating_tilt)
            unknowns.add(Unknown(name, 0.0, seat, "seating of the part", "flat parallels"))


def _angle(kit: Kit, conditions: Conditions) -> Unknown:
    vise = kit.folder.job.shop.holding[kit.setup.holding.use].vise
    if vise is None:
        return Unknown("angle", 0.0, Rectangular(0.0, conditions.by_eye_angle), "direction of the part", "laying it by eye")
    jaw = kit.setup.datum.angle == "fixed jaw"
    half = vise.tram if jaw else vise.tram + conditions.known_square
    return Unknown("angle", 0.0, Rectangular(0.0, max(half, conditions.least_angle)), "direction of the vise", "the vise")
