"""From what was written down at a contact to the rows of the equations, with every source of its uncertainty.

Rules of the trade that live here: stepping by a handwheel stops at the first step past the contact, so the contact lies half a
step before the display, ± half a step; a tip touches half its diameter before its axis; an indicator of the 3D kind shows zero
with the axis over the face; a setter or gauge block adds its height; the axis reverses with a backlash shared by all contacts
of one direction.

On a wall that leans against the way the tip came, what belongs to the axis (step, digit, repeatability of the axis) counts by
the cosine of the lean only; what belongs to tip and face (trip point, form) counts whole, along the face's normal.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from setwright.base.errors import InputRefused
from setwright.estimate.distribution import Arcsine, Distribution, Normal, Rectangular, Student
from setwright.kit.instrument import effective_radius
from setwright.model.instrument import Instrument
from setwright.model.machine import Machine
from setwright.model.reading import Contact, LengthReading
from setwright.touch.conditions import Conditions
from setwright.touch.equations import Kind, Row
from setwright.touch.features import Feature, Flat, Round
from setwright.touch.unknowns import Unknown, Unknowns

__all__ = ["STICKOUT", "Basis", "contact_rows", "length_row", "length_unknown", "noise_of"]

Triple = tuple[float, float, float]
Noise = tuple[tuple[str, Distribution], ...]
_AXES = "xyz"
_HUNG_MM = 2.0
STICKOUT = "its stick-out and holder"
"""Where a length nobody measured is known from, about."""
_LEAST_LENGTH_UNCERTAINTY = 0.001
_LEAST_LEAN = 0.1
_NEVER_SWEPT = ("mechanical edge finder", "electronic finder", "gauge pin")
_UNDER_A_TOOL = ("height setter", "gauge block", "roller", "feeler", "paper", "tool setter", "tool tip")


@dataclass(frozen=True, slots=True)
class Basis:
    """What every row needs beside the contact.

    `unknowns` is filled by the rows. By station: `tool_lengths`, `tool_radii` (mm), `tool_radius_spread` (one standard deviation,
    mm). `start` (mm): the program's zero in M, about. `digit` (mm): last digit of the display. `guessed`: names of instruments
    whose sizes a draft guessed, and "table".
    """

    machine: Machine
    conditions: Conditions
    unknowns: Unknowns
    tool_lengths: Mapping[int, Unknown]
    tool_radii: Mapping[int, float]
    tool_radius_spread: Mapping[int, float]
    start: Triple
    digit: float = 0.0
    guessed: frozenset[str] = frozenset()


def length_unknown(name: str, value: float | None, standard: float, *, about: float | None = None) -> Unknown:
    """A length from gauge line to tip, known to a standard uncertainty, or not at all beyond what a spindle can hold. `about`: what
    stick-out and holder make it, where the kit has both: it judges readings and replaces none."""
    if value is None:
        anything = Rectangular(150.0, 250.0)
        if about is None:
            return Unknown(f"length of {name}", 150.0, anything, f"length of {name}", "nothing")
        return Unknown(f"length of {name}", about, Normal(about, _HUNG_MM), f"length of {name}", STICKOUT, left=anything)
    return Unknown(f"length of {name}", value, Normal(value, max(standard, _LEAST_LENGTH_UNCERTAINTY)), f"length of {name}")


def noise_of(instrument: Instrument, last_step: float, basis: Basis, *, lean: float = 1.0) -> Noise:
    """The errors of one contact that no other contact shares. `lean`: cosine between the way the tip came and the face's normal."""
    repeatability: Distribution = Normal(0.0, instrument.repeatability)
    if instrument.repeats >= 2:
        repeatability = Student(0.0, instrument.repeatability, instrument.repeats - 1.0)
    parts: list[tuple[str, Distribution]] = [(f"repeatability of {instrument.name}", repeatability)]
    if last_step > 0.0:
        parts.append(("last step of the handwheel", Rectangular(0.0, 0.5 * last_step * lean)))
    if basis.digit > 0.0:
        parts.append(("last digit of the display", Rectangular(0.0, 0.5 * basis.digit * lean)))
    if basis.machine.accuracy.repeatability > 0.0:
        parts.append(("repeatability of the axes", Normal(0.0, 0.25 * basis.machine.accuracy.repeatability * lean)))
    if basis.conditions.face_form > 0.0:
        parts.append(("form of the face", Rectangular(0.0, basis.conditions.face_form)))
    return tuple(parts)


def contact_rows(contact: Contact, feature: Feature, instrument: Instrument, basis: Basis, *, reading: int) -> list[Row]:
    """One or two rows for a contact; enters the unknowns it depends on. Refuses what cannot be a contact with that face."""
    if contact.tool is not None and instrument.kind not in _UNDER_A_TOOL:
        raise _refuse(contact, reading, f"{instrument.a_kind} sits in the spindle itself, and tool {contact.tool} cannot",
                      "write with = what lay under the tool's tip (paper, a setter, tool tip), or leave tool out")  # fmt: skip
    if contact.toward == "sweep":
        return _swept(contact, feature, instrument, basis, reading)
    if instrument.kind == "coaxial indicator":
        raise _refuse(contact, reading, "a coaxial indicator reads the centre it is swept round, and no face from one side",
                      'write toward = "sweep", or which instrument met the face')  # fmt: skip
    axis, sign = _AXES.index(contact.toward[1].lower()), 1 if contact.toward[0] == "+" else -1
    if axis == 2:
        return [_height_row(contact, feature, instrument, basis, reading, sign)]
    if isinstance(feature, Flat):
        return [_plane_row(contact, feature, instrument, basis, reading, axis, sign)]
    return [_round_row(contact, feature, instrument, basis, reading, axis, sign)]


def _refuse(contact: Contact, reading: int, why: str, remedy: str) -> InputRefused:
    return InputRefused.because(f'contact {reading + 1} on "{contact.on}" toward {contact.toward}', why=why, remedy=remedy)


def _point(contact: Contact, at: Triple, axis: int, sign: int) -> tuple[Triple, tuple[tuple[str, Triple], ...], list[int]]:
    """Machine point of the axis at contact; coordinates that were not read follow the part (their unknown moves them along).

    Z shown at a contact with an upright face is that of the gauge line, a tip's length too high: it counts as not read.
    """
    point, shift, unread = [0.0, 0.0, 0.0], [], []
    for i, name in enumerate(_AXES):
        shown = getattr(contact.display, name)
        if shown is None or (i == 2 and axis != 2):
            point[i] = at[i]
            shift.append((name, _unit(i)))
            unread.append(i)
        else:
            point[i] = shown - (0.5 * sign * contact.last_step if i == axis else 0.0)
    return (point[0], point[1], point[2]), tuple(shift), unread


def _unit(axis: int, length: float = 1.0) -> Triple:
    vector = [0.0, 0.0, 0.0]
    vector[axis] = length
    return vector[0], vector[1], vector[2]


def _shared_shift(instrument: Instrument, basis: Basis, axis: int, sign: int) -> tuple[tuple[str, Triple], ...]:
    """Backlash of the axis, run-out of a tip that stands still, growth since the touch-off."""
    terms: list[tuple[str, Triple]] = []
    backlash = basis.machine.accuracy.backlash
    if backlash > 0.0 and sign:
        name = f"backlash {_AXES[axis]}"
        basis.unknowns.add(Unknown(name, 0.0, Rectangular(0.0, 0.5 * backlash), "backlash of the axes"))
        terms.append((name, _unit(axis, -float(sign))))
    if axis == 2 and basis.conditions.growth > 0.0:
        basis.unknowns.add(Unknown("growth", 0.0, Rectangular(0.0, basis.conditions.growth), "growth of the spindle"))
        terms.append(("growth", _unit(2)))
    if axis != 2:
        terms += _aside(instrument, basis, axis)
    return tuple(terms)


def _aside(instrument: Instrument, basis: Basis, axis: int) -> list[tuple[str, Triple]]:
    """What moves the tip along X or Y in every contact alike: its run-out, and the column's growth since the touch-off."""
    terms: list[tuple[str, Triple]] = []
    if instrument.stands_still and instrument.runout > 0.0:
        name = f"run-out of {instrument.name} {_AXES[axis]}"
        basis.unknowns.add(Unknown(name, 0.0, Arcsine(0.0, 0.5 * instrument.runout), f"run-out of {instrument.name}"))
        terms.append((name, _unit(axis)))
    if basis.conditions.growth_across > 0.0:
        name = f"growth {_AXES[axis]}"
        basis.unknowns.add(Unknown(name, 0.0, Rectangular(0.0, basis.conditions.growth_across), "growth of the column"))
        terms.append((name, _unit(axis)))
    return terms


def _carry(basis: Basis, at: Triple, axes: tuple[int, ...]) -> tuple[tuple[str, Triple], ...]:
    """Scale error of the axes and the part's own temperature over the distance `at` from the program's zero, and X not square
    to Y over the distance along Y."""
    terms: list[tuple[str, Triple]] = []
    scale, square = basis.machine.accuracy.scale, basis.conditions.axes_square
    for axis in axes if scale > 0.0 else ():
        name = f"scale {_AXES[axis]}"
        basis.unknowns.add(Unknown(name, 0.0, Rectangular(0.0, scale), "scale of the axes"))
        terms.append((name, _unit(axis, -at[axis])))
    stretch = basis.conditions.warmth * basis.conditions.expansion
    if stretch > 0.0 and any(at[axis] for axis in axes):
        basis.unknowns.add(Unknown("warmth", 0.0, Rectangular(0.0, stretch), "temperature of the part"))
        x, y, z = (-at[axis] if axis in axes else 0.0 for axis in range(3))
        terms.append(("warmth", (x, y, z)))
    if 0 in axes and square > 0.0 and at[1] != 0.0:
        basis.unknowns.add(Unknown("square", 0.0, Rectangular(0.0, square), "axes not square"))
        terms.append(("square", _unit(0, -at[1])))
    return tuple(terms)


def _depth(half: float, basis: Basis) -> tuple[tuple[str, Triple], ...]:
    """The height at which upright faces were touched, where the part may lie tilted: nobody read it, and it is much the same for
    all of them. `half`: half the height of the face."""
    if basis.unknowns.row("tilt about x") is None or half <= 0.0:
        return ()
    basis.unknowns.add(Unknown("height of the contacts", 0.0, Rectangular(0.0, half), "height of the contacts not read"))
    return (("height of the contacts", _unit(2)),)


def _place(point: Triple, unread: list[int], middle: Triple, basis: Basis) -> Triple:
    """Where on the part a contact was made, about, in W: as read, else in the middle of the face."""
    x, y = (middle[i] if i in unread else point[i] - basis.start[i] for i in (0, 1))
    return x, y, middle[2]


def _tip(instrument: Instrument, basis: Basis, factor: float) -> tuple[tuple[str, float], ...]:
    """The effective radius' own error, shared by every contact of the instrument."""
    if instrument.kind == "test indicator":
        name = f"dial zero of {instrument.name}"
        basis.unknowns.add(Unknown(name, 0.0, Rectangular(0.0, basis.conditions.dial_zero), f"dial zero of {instrument.name}"))
        return ((name, factor),)
    has_tip = effective_radius(instrument) > 0.0
    if not has_tip and instrument.tip_uncertainty <= 0.0:
        return ()
    name, source = f"tip of {instrument.name}", f"tip size of {instrument.name}"
    if has_tip and (instrument.tip_uncertainty <= 0.0 or instrument.name in basis.guessed):
        own: Distribution = Rectangular(0.0, 0.5 * basis.conditions.unmeasured)
    else:
        own = Normal(0.0, 0.5 * instrument.tip_uncertainty)
    basis.unknowns.add(Unknown(name, 0.0, own, source))
    return ((name, factor),)


def _size(contact: Contact, instrument: Instrument, basis: Basis, factor: float) -> tuple[tuple[str, float], ...]:
    """What may be wrong with the distance from spindle axis to face: the finder's tip, or the tool's radius and the gap."""
    if instrument.kind not in _UNDER_A_TOOL or contact.tool is None:
        return _tip(instrument, basis, factor)
    name = f"radius of tool {contact.tool}"
    basis.unknowns.add(Unknown(name, 0.0, Normal(0.0, basis.tool_radius_spread[contact.tool]), name))
    return ((name, factor), *((gap, factor) for gap, _ in _setter(instrument, basis)))


def _entered(terms: tuple[tuple[Unknown, float], ...], basis: Basis, factor: float) -> tuple[tuple[str, float], ...]:
    for unknown, _ in terms:
        basis.unknowns.add(unknown)
    return tuple((unknown.name, factor * coefficient) for unknown, coefficient in terms)


def _plane_row(contact: Contact, face: Flat, instrument: Instrument, basis: Basis, reading: int, axis: int, sign: int) -> Row:
    wanted = ("+" if face.side < 0 else "-") + _AXES[face.axis].upper()
    if (axis, sign) != (face.axis, -face.side):
        raise _refuse(contact, reading, f'"{face.name}" is met moving {wanted}', f'write toward = "{wanted}", or name the face met')
    reach = _reach(contact, instrument, basis, reading)
    point, follow, unread = _point(contact, face.middle, axis, sign)
    other = 1 - axis
    direct = _size(contact, instrument, basis, -1.0) + _entered(face.terms, basis, -1.0)
    if not face.gives_angle and other not in unread:
        name = f"direction of {face.name}"
        basis.unknowns.add(Unknown(name, 0.0, Rectangular(0.0, basis.conditions.face_square), "faces not square"))
        direct += ((name, point[other] - basis.start[other] - face.middle[other]),)
    return Row(
        kind=Kind.PLANE, label=f"{contact.on} {contact.toward}", point=point, normal=face.normal,
        offset=face.side * face.at + reach,
        shift=follow + _depth(face.half[2], basis) + _shared_shift(instrument, basis, axis, sign),
        carry=_carry(basis, _place(point, unread, face.middle, basis), (axis,)), direct=direct,
        noise=noise_of(instrument, contact.last_step, basis), sense=1, reading=reading,
        unread=face.half[other] if other in unread else 0.0, unread_depth=min(face.half[2], basis.conditions.same_depth),
    )  # fmt: skip


def _reach(contact: Contact, instrument: Instrument, basis: Basis, reading: int) -> float:
    if instrument.kind not in _UNDER_A_TOOL:
        return effective_radius(instrument)
    if contact.tool is None:
        raise _refuse(contact, reading, f"{instrument.a_kind} does not sit in the spindle", "write which tool touched: tool = ...")
    radius = basis.tool_radii.get(contact.tool)
    if radius is None:
        raise _refuse(contact, reading, f"the radius of tool {contact.tool} is not known", "put the tool under [[setup.tool]]")
    return radius + instrument.height


def _round_row(contact: Contact, face: Round, instrument: Instrument, basis: Basis, reading: int, axis: int, sign: int) -> Row:
    inward = -1.0 if face.inside else 1.0
    reach = _reach(contact, instrument, basis, reading)
    free = face.radius + inward * reach
    if free <= 0.0:
        why = f"a tip of {2 * reach:g} mm does not fit into a bore of {2 * face.radius:g} mm"
        raise _refuse(contact, reading, why, "take a smaller tip")
    centre = (face.centre[0], face.centre[1], face.level)
    point, follow, unread = _point(contact, centre, axis, sign)
    basis.unknowns.add(face.size)
    direct: tuple[tuple[str, float], ...] = ((face.size.name, -1.0), *_size(contact, instrument, basis, -inward))
    if (1 - axis) in unread:
        short = 0.25 * basis.conditions.off_centre**2 / free
        name = f"chord {_AXES[axis]} of {face.name}"
        basis.unknowns.add(Unknown(name, short, Rectangular(short, short), "touched beside the middle"))
        direct += ((name, 1.0),)
    away = 0.0 if (1 - axis) in unread else (point[1 - axis] - basis.start[1 - axis] - centre[1 - axis]) / free
    lean = math.sqrt(max(1.0 - away * away, _LEAST_LEAN**2))
    return Row(
        kind=Kind.ROUND, label=f"{contact.on} {contact.toward}", point=point, centre=centre, offset=free,
        normal=_unit(axis, -inward * sign),
        shift=follow + _depth(face.half, basis) + _shared_shift(instrument, basis, axis, sign)
        + tuple(_aside(instrument, basis, 1 - axis)),
        carry=_placed(face, basis) + _carry(basis, _place(point, unread, centre, basis), (0, 1)), direct=direct,
        noise=noise_of(instrument, contact.last_step, basis, lean=lean) + _sideways(basis, math.sqrt(1.0 - lean * lean)),
        sense=int(inward), reading=reading, unread_depth=min(face.half, basis.conditions.same_depth),
    )  # fmt: skip


def _sideways(basis: Basis, sine: float) -> Noise:
    """On a leaning wall the other axis counts too, and nobody wrote down which way it moved last."""
    backlash = 0.5 * basis.machine.accuracy.backlash * sine
    return (("backlash of the axes", Rectangular(0.0, backlash)),) if backlash > 0.0 else ()


def _placed(face: Round, basis: Basis) -> tuple[tuple[str, Triple], ...]:
    for unknown, _ in face.place:
        basis.unknowns.add(unknown)
    return tuple((unknown.name, _unit(axis, -1.0)) for unknown, axis in face.place)


def _swept(contact: Contact, face: Feature, instrument: Instrument, basis: Basis, reading: int) -> list[Row]:
    if isinstance(face, Flat):
        raise _refuse(contact, reading, "a sweep reads the centre of a bore or boss", "name the bore, or give a direction")
    if instrument.kind in (*_NEVER_SWEPT, *_UNDER_A_TOOL):
        raise _refuse(contact, reading, f"{instrument.a_kind} is not swept round a bore",
                      "write which indicator was swept, or the direction of each contact")  # fmt: skip
    centre = (face.centre[0], face.centre[1], face.level)
    backlash = basis.machine.accuracy.backlash
    reversal: Noise = (("backlash of the axes", Rectangular(0.0, 0.5 * backlash)),) if backlash > 0.0 else ()
    rows = []
    for axis in (0, 1):
        point, follow, _ = _point(contact, centre, axis, 0)
        rows.append(Row(
            kind=Kind.MIDDLE, label=f"{contact.on} swept, {_AXES[axis].upper()}", point=point, normal=_unit(axis), centre=centre,
            shift=follow + _depth(face.half, basis) + _shared_shift(instrument, basis, axis, 0),
            carry=_placed(face, basis) + _carry(basis, centre, (axis,)),
            noise=noise_of(instrument, contact.last_step, basis) + reversal, reading=reading,
        ))  # fmt: skip
    return rows


def _height_row(contact: Contact, face: Feature, instrument: Instrument, basis: Basis, reading: int, sign: int) -> Row:
    if not isinstance(face, Flat) or face.axis != 2 or face.side < 0 or sign > 0:
        remedy = 'name such a face and write toward = "-Z"'
        raise _refuse(contact, reading, "heights are read on faces that look up, moving -Z", remedy)
    length = _length_in_spindle(contact, instrument, basis, reading)
    height = instrument.height if instrument.kind in _UNDER_A_TOOL else 0.0
    point, follow, unread = _point(contact, face.middle, 2, sign)
    return Row(
        kind=Kind.PLANE, label=f"{contact.on} {contact.toward}", point=point, normal=face.normal, offset=face.at + height,
        carry=_carry(basis, face.middle, (2,)),
        shift=(*follow, (length, _unit(2, -1.0)), *_shared_shift(instrument, basis, 2, sign)),
        direct=_setter(instrument, basis) + _entered(face.terms, basis, -1.0),
        noise=noise_of(instrument, contact.last_step, basis), sense=1, reading=reading,
        unread=max((face.half[i] for i in unread), default=0.0),
    )  # fmt: skip


def _setter(instrument: Instrument, basis: Basis) -> tuple[tuple[str, float], ...]:
    if instrument.height <= 0.0:
        return ()
    name = f"height of {instrument.name}"
    if instrument.height_uncertainty <= 0.0 or instrument.name in basis.guessed:
        own: Distribution = Rectangular(0.0, min(basis.conditions.unmeasured, 0.5 * instrument.height))
    else:
        own = Normal(0.0, instrument.height_uncertainty)
    basis.unknowns.add(Unknown(name, 0.0, own, name))
    return ((name, -1.0),)


def _table(basis: Basis) -> str:
    """The unknown deviation of the table's height from the machine's file."""
    name, conditions = "height of the table", basis.conditions
    if "table" in basis.guessed:
        basis.unknowns.add(Unknown(name, 0.0, Rectangular(0.0, conditions.guessed_table), name, guess="the height of the table"))
    else:
        basis.unknowns.add(Unknown(name, 0.0, Rectangular(0.0, conditions.table_height), name))
    return name


def _length_in_spindle(contact: Contact, instrument: Instrument, basis: Basis, reading: int) -> str:
    if contact.tool is not None:
        if contact.tool not in basis.tool_lengths:
            raise _refuse(contact, reading, f"this setup has no tool {contact.tool}", "write the station of the tool that touched")
        unknown = basis.tool_lengths[contact.tool]
    elif instrument.kind in _UNDER_A_TOOL:
        raise _refuse(contact, reading, f"{instrument.a_kind} does not sit in the spindle", "write which tool touched: tool = ...")
    else:
        unknown = length_unknown(instrument.name, instrument.length, instrument.tip_uncertainty)
    basis.unknowns.add(unknown)
    return unknown.name


def length_row(read: LengthReading, instrument: Instrument, basis: Basis, *, reading: int, feature: Feature | None = None) -> Row:
    """A tool's tip on a setter or block that stands on the table: display − length − height − table = 0.

    The table's own height is an unknown beside what the machine's file says.

    With a `feature`, the face the setter stands on instead of the table: the same as that tool's contact with the face.
    """
    unknown = basis.tool_lengths.get(read.tool)
    if unknown is None:
        raise InputRefused.because(f"length reading {reading + 1}", why=f"this setup has no tool {read.tool}",
                                   remedy="write the station number of the tool that touched")  # fmt: skip
    if instrument.kind not in _UNDER_A_TOOL:
        raise InputRefused.because(f"length reading {reading + 1}", why=f"{instrument.a_kind} does not stand under a tool",
                                   remedy="name the setter, gauge block, feeler or paper, or the tool's own tip")  # fmt: skip
    if feature is not None:
        said = {"setup": read.setup, "on": feature.name, "with": instrument.name, "toward": "-Z", "tool": read.tool,
                "display": read.display, "last_step": read.last_step}  # fmt: skip
        row = _height_row(Contact.model_validate(said), feature, instrument, basis, reading, -1)
        return replace(row, label=f"tool {read.tool} on {read.on}")
    basis.unknowns.add(unknown)
    shown = (read.display.z or 0.0) + 0.5 * read.last_step
    direct: tuple[tuple[str, float], ...] = ((unknown.name, -1.0), *_setter(instrument, basis), (_table(basis), -1.0))
    for name, vector in _shared_shift(instrument, basis, 2, -1):
        direct += ((name, vector[2]),)
    return Row(
        kind=Kind.LINEAR, label=f"tool {read.tool} on {read.on}", offset=shown - instrument.height - basis.machine.table.z,
        direct=direct, noise=noise_of(instrument, read.last_step, basis), sense=1, reading=reading,
    )  # fmt: skip
