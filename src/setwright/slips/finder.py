"""Faces, bores and heights touched or reckoned wrong."""

from __future__ import annotations

from collections.abc import Iterator

from setwright.geometry.bodies import BodyRole
from setwright.slips.case import DatumFace, SlipCase
from setwright.slips.catalogue import PRIOR, Way, scalable, slip
from setwright.slips.mistakes import radius_mistakes


def _with_radius(case: SlipCase, slug: str) -> Iterator[Way]:
    """The mistakes with a finder's radius of this slip's name: one for each of X and Y that is found from one flat face."""
    reach, tip = case.finder
    offset = case.kit.setup.offset
    for face in (face for face in case.datum if face.kind == "flat"):
        for name, shift, size, why in radius_mistakes(face.side, reach, tip):
            if name == slug:
                letter = "XY"[face.axis]
                words = f"{offset} {letter} is {case.length(abs(shift))} too far {'+' if shift > 0 else '-'}{letter}: "
                yield Way(words + why.format(case.length(size)), 1.0, f"{offset} {letter}",
                          f"type {letter} anew with the radius taken once, on the right side",
                          case.offset_off(case.along(face.axis, shift)), shift)  # fmt: skip


@slip("radius-not-applied", rate=0.006, per="an edge found", source=PRIOR, misread=True)
def _radius_not_applied(case: SlipCase) -> Iterator[Way]:
    """The finder's radius is left out of an edge.

    What happens
        The finder touches an edge, the position is stored as it stands; nobody adds half the tip.

    What it changes
        The zero lies half a tip beside the edge, outside the part.

    How often
        A few times in a thousand edges; reckoning by hand is worse than copying.

    Where it can occur
        Wherever X or Y of the zero comes from one flat face and a tip with a radius. A bore or two opposite faces are safe: the
        radius cancels.

    What gives it away
        The tip brought over the edge, a second touch of the opposite face, the register read back against the sheet.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    return _with_radius(case, "radius-not-applied")


@slip("radius-twice", rate=0.004, per="an edge found", source=PRIOR, misread=True)
def _radius_twice(case: SlipCase) -> Iterator[Way]:
    """The finder's radius is taken twice, or its diameter for the radius.

    What happens
        The control's own touch function has taken the radius off already, and it is taken off by hand again; or the tip's
        diameter is used.

    What it changes
        The zero lies half a tip too far inside the part.

    How often
        A few times in a thousand edges; reckoning by hand is worse than copying.

    Where it can occur
        Wherever X or Y of the zero comes from one flat face and a tip with a radius. A bore or two opposite faces are safe: the
        radius cancels.

    What gives it away
        The tip over the edge, the opposite face, the register read back.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    return _with_radius(case, "radius-twice")


@slip("radius-wrong-side", rate=0.005, per="an edge found", source=PRIOR, misread=True)
def _radius_wrong_side(case: SlipCase) -> Iterator[Way]:
    """The finder's radius is taken on the wrong side of an edge.

    What happens
        The face was touched moving the other way than usual, and the sign was not turned.

    What it changes
        The zero is a whole tip diameter off, outside the part.

    How often
        A few times in a thousand edges; reckoning by hand is worse than copying.

    Where it can occur
        Wherever X or Y of the zero comes from one flat face and a tip with a radius. A bore or two opposite faces are safe: the
        radius cancels.

    What gives it away
        The tip over the edge; it is plain to the eye.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    return _with_radius(case, "radius-wrong-side")


@slip("half-not-taken", rate=0.004, per="an axis found from two walls", source=PRIOR, misread=True)
def _half_not_taken(case: SlipCase) -> Iterator[Way]:
    """A bore or boss is touched on both sides and the middle is not taken.

    What happens
        Both walls are touched, and the position of the last touch is stored instead of the mean of the two.

    What it changes
        The zero lies on the wall instead of on the axis, off by the radius less (in a bore) or plus (on a boss) half the tip.

    How often
        Once in some hundred bores found by hand.

    Where it can occur
        Wherever X or Y of the zero is the axis of a bore or boss touched from both sides.

    What gives it away
        The tip over the middle of the bore, a second touch of the other wall, the register read back.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    reach, _ = case.finder
    for face in case.datum:
        if face.kind != "round":
            continue
        letter = "XY"[face.axis]
        off = face.diameter / 2 - reach if face.hole else face.diameter / 2 + reach
        for sign in (-1, 1):
            words = (f"{case.kit.setup.offset} {letter} is {case.length(off)} too far {'+' if sign > 0 else '-'}{letter}: "
                     f"one wall of “{face.name}” was taken for its middle")  # fmt: skip
            yield Way(words, 1.0 / 2, f"{case.kit.setup.offset} {letter}",
                      "take the mean of both walls and type it anew", case.offset_off(case.along(face.axis, sign * off)),
                      sign * off)  # fmt: skip


@slip("wrong-face", rate=0.004, per="an edge found", misread=True)
def _wrong_face(case: SlipCase) -> Iterator[Way]:
    """Another face was touched than the one that is written.

    What happens
        The stop and the program are on the left, the finder was set on the right; or the reading of a step is written down for the
        edge beside it.

    What it changes
        The zero is off by the distance of the two faces; in the study by one blank's width, to the opposite face.

    How often
        Some times in a thousand edges.

    Where it can occur
        Wherever X or Y of the zero comes from one flat face of the part.

    What gives it away
        A look: the tip stands over the wrong end. The register differs by the blank's width from the one before.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    size = case.kit.extent[1] - case.kit.extent[0]
    for face in case.datum:
        if face.kind == "flat":
            letter = "XY"[face.axis]
            off = -face.side * float(size[face.axis])
            name = f"{case.kit.setup.offset} {letter}"
            words = f"{name} is off by the part's size, {case.length(abs(off))}: the other face was touched"
            yield Way(words, 1.0, name, f"touch “{face.name}” and type it anew",
                      case.offset_off(case.along(face.axis, off)), off)  # fmt: skip


_BURR_MM = 0.06


@slip("burr-under-finder", rate=0.01, per="a face touched", misread=True, one_contact=True, spread=2.0)
def _burr_under_finder(case: SlipCase) -> Iterator[Way]:
    """A burr or chip holds the finder off the face.

    What happens
        The edge was not deburred, or a chip clings to the finder.

    What it changes
        The contact comes early: the zero lies outside the face by the burr; here 0.06 mm.

    How often
        One touch in a hundred, on sawn or milled edges that nobody wiped.

    Where it can occur
        Every face that is touched; on a bore or two opposite faces half of it is left.

    What gives it away
        A second touch beside the first, the opposite face.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for face in case.datum:

        def at(times: float, face: DatumFace = face) -> Way:
            letter, burr = "XY"[face.axis], _BURR_MM * times
            off = face.side * burr if face.kind == "flat" else burr / 2
            words = f"{case.kit.setup.offset} {letter} is {case.length(abs(off))} off: a burr or chip was under the finder"
            return Way(words, 1.0, f"{case.kit.setup.offset} {letter}", "clean face and tip, touch again",
                       case.offset_off(case.along(face.axis, off)), off)  # fmt: skip

        yield scalable(at)


_STEPS = (10, 100)


@slip("handwheel-zero-lost", rate=0.003, per="a face touched", source=PRIOR, misread=True)
def _handwheel_zero_lost(case: SlipCase) -> Iterator[Way]:
    """The handwheel or display was some steps on when it was read.

    What happens
        A sleeve brushes the handwheel between the touch and the reading, or a whole turn is miscounted.

    What it changes
        One number of the zero is off by ten steps or by a turn of a hundred, either way.

    How often
        Some times in a thousand touches, all sizes together.

    Where it can occur
        Wherever a position is read off after the handwheel was let go.

    What gives it away
        The same face touched again; a turn is seen with the tip over the part, ten steps are not. Lost between two contacts of one
        axis, these contradict each other; lost before both, they agree, so that the readings are never relied on to show it.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    for typed in case.main_offset:
        letter = "XYZ"[typed.axis]
        for steps in _STEPS:
            for sign in (-1, 1):
                off = sign * steps * case.handwheel_step
                way = f"{'+' if sign > 0 else '-'}{letter}"
                words = f"{typed.name} is {case.length(abs(off))} too far {way}: {steps} steps of the handwheel"
                yield Way(words, 1.0 / 4, typed.name, "touch that face again",
                          case.offset_off(case.along(typed.axis, off)), off)  # fmt: skip


@slip("height-not-applied", rate=0.004, per="a height set", source=PRIOR, misread=True)
def _height_not_applied(case: SlipCase) -> Iterator[Way]:
    """The height of the setter or block under the tip is left out of Z.

    What happens
        The tip stands on the height setter, Z is stored as it stands, and nobody takes the setter's height off.

    What it changes
        The zero is one setter too high; the tools cut air.

    How often
        Some times in a thousand setups.

    Where it can occur
        Wherever a tip is brought down on the part over something of known height.

    What gives it away
        The tip brought to Z0: it stands a setter's height above the face.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    for name, height in case.heights.items():
        words = f"{case.height_register} is {case.length(height)} too high: the height of the {name} was left out"
        yield Way(words, 1.0, case.height_register, f"take {case.length(height)} off and read it back",
                  case.height_off(height), height)  # fmt: skip


@slip("height-twice", rate=0.002, per="a height set", source=PRIOR, misread=True)
def _height_twice(case: SlipCase) -> Iterator[Way]:
    """The height of the setter or block under the tip is taken off twice.

    What happens
        The control's own touch function has taken it off already, and it is taken off by hand again.

    What it changes
        The zero is one setter too low; the first tool goes a setter's height into the part.

    How often
        Once in five hundred setups.

    Where it can occur
        Wherever a tip is brought down on the part over something of known height.

    What gives it away
        The tip brought over the face at a safe height: it stands too low by the setter.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    for name, height in case.heights.items():
        words = f"{case.height_register} is {case.length(height)} too low: the height of the {name} was taken off twice"
        yield Way(words, 1.0, case.height_register, f"add {case.length(height)} and read it back",
                  case.height_off(-height), -height)  # fmt: skip


_CHIP_MM = 0.1


@slip("chip-under-setter", rate=0.005, per="a height set", misread=True, spread=2.5)
def _chip_under_setter(case: SlipCase) -> Iterator[Way]:
    """A chip lies under the height setter or block.

    What happens
        The face was not wiped; the setter rocks on a chip.

    What it changes
        Z is too high by the chip; here 0.1 mm.

    How often
        One setting in two hundred.

    Where it can occur
        Wherever something is stood on the part or the table to set a height.

    What gives it away
        The setter moved and touched once more.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    def at(times: float) -> Way:
        chip = _CHIP_MM * times
        words = f"{case.height_register} is {case.length(chip)} too high: a chip was under the setter"
        return Way(words, 1.0, case.height_register, "wipe face and setter, set the height anew", case.height_off(chip), chip)

    yield scalable(at)


@slip("datum-height-forgotten", rate=0.012, per="a setup", misread=True)
def _datum_height_forgotten(case: SlipCase) -> Iterator[Way]:
    """The face Z is found from is taken for the program's zero.

    What happens
        Z0 of the program is the finished face, or the underside; Z was set on the face that was touched, as if it were Z0.

    What it changes
        Z is off by the height of that face in the program.

    How often
        Once or twice in a hundred setups whose touched face is not Z0.

    Where it can occur
        Setups whose datum face lies at another Z than 0.

    What gives it away
        The tip brought over the face at a round height, against a rule or block.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    datum = case.kit.setup.datum.z
    if datum.is_ != 0.0:
        off = f"{case.height_register} is {case.length(datum.is_)} off"
        words = f"{off}: “{datum.face}” was taken for Z0, and it lies at Z{datum.is_:g}"
        yield Way(words, 1.0, case.height_register, f"set “{datum.face}” to Z{datum.is_:g}, not to 0",
                  case.height_off(datum.is_), datum.is_)  # fmt: skip


@slip("wrong-face-for-height", rate=0.002, per="a setup", misread=True)
def _wrong_face_for_height(case: SlipCase) -> Iterator[Way]:
    """Z is set on the wrong face.

    What happens
        The tip is brought down on the jaw or the clamp beside the part, or the program's zero is at the bottom and Z was set on the
        top, or the other way round.

    What it changes
        Z is off by the height between the two faces: by the blank's height, or from its top to the top of the holding.

    How often
        Once or twice in a thousand setups.

    Where it can occur
        Every setup.

    What gives it away
        The tip brought over the part at a round height, against a rule or block.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    low, high = case.kit.extent
    height = float(high[2] - low[2])
    tops = [float(body.bounds()[1][2]) for body in case.kit.placement.bodies if body.role is BodyRole.HOLDING]
    lower = float(high[2]) - max(tops, default=float(low[2]))
    ways = [(-height, "the face under the part was set as its top"), (height, "its top was set as the face under the part")]
    if abs(lower) > 0.0 and tops:
        ways.append((-lower, "it was set on the highest place of the holding instead of the top"))
    for by, why in ways:
        words = f"{case.height_register} is {case.length(abs(by))} too {'low' if by < 0 else 'high'}: {why}"
        yield Way(words, 1.0 / len(ways), case.height_register,
                  f"touch “{case.kit.setup.datum.z.face}” and type it anew", case.height_off(by), by)  # fmt: skip


_GROWTH_MM = 0.03


@slip("spindle-not-warm", rate=0.02, per="a setup", misread=True, spread=1.6)
def _spindle_not_warm(case: SlipCase) -> Iterator[Way]:
    """Heights were set with the spindle cold.

    What happens
        Tools and Z are set in the morning; after half an hour of running the spindle has grown.

    What it changes
        Every tip goes lower than it was set, by some hundredths; here 0.03 mm.

    How often
        Every tenth setup that begins with a cold machine.

    Where it can occur
        Every setup.

    What gives it away
        The first tool touched again after the warm-up.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    def at(times: float) -> Way:
        growth = _GROWTH_MM * times
        words = f"every tip goes {case.length(growth)} lower than set: the spindle was cold"
        return Way(words, 1.0, case.height_register, "warm the spindle up and set the height anew", case.height_off(-growth),
                   -growth)  # fmt: skip

    yield scalable(at)


@slip("finder-of-another-size", rate=0.003, per="a setup", source=PRIOR, misread=True)
def _finder_of_another_size(case: SlipCase) -> Iterator[Way]:
    """A finder of another size was used than the one that is written.

    What happens
        Two finders look alike in the drawer, or the tip was changed; the radius of the one that is written is reckoned with.

    What it changes
        Every edge touched with it is off by the difference of the two radii, outward with the larger one.

    How often
        Some times in a thousand setups of a shop that has finders of several sizes.

    Where it can occur
        Wherever X or Y of the zero comes from one flat face. On a bore or two opposite faces the radius cancels.

    What gives it away
        The caliper on the tip; a width that is known, touched from both sides.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    flat = [face for face in case.datum if face.kind == "flat"]
    for name, reach in case.other_finders.items() if flat else ():
        by = reach - case.finder[0]
        x, y = (sum(face.side * by for face in flat if face.axis == axis) for axis in (0, 1))
        words = f"{case.kit.setup.offset} is {case.length(abs(by))} off at every edge touched: it was found with the {name}"
        yield Way(words, 1.0 / len(case.other_finders), case.kit.setup.offset, "measure the tip, write the finder that was used",
                  case.offset_off((x, y, 0.0)), by)  # fmt: skip


@slip("reading-wrong", rate=0.006, per="a setup", source=PRIOR, misread=True, one_contact=True, spread=3.0, either_way=True,
      by_hand="readings")  # fmt: skip
def _reading_wrong(case: SlipCase) -> Iterator[Way]:
    """One reading of a touch-off does not agree with the others.

    What happens
        A number is read or written down wrong, or the tip met something else than the face.

    What it changes
        The zero is off by the part of it that rests on this reading.

    How often
        Some times in a thousand setups, whichever the reading.

    Where it can occur
        Every contact. Touch looks for it in the readings; the study follows the mistakes a reading is usually spoilt by, each under
        its own name.

    What gives it away
        The other contacts of the same face or bore; the face touched again.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    del case
    yield from ()


@slip("radius-in-readings", rate=0.003, per="a setup", source=PRIOR, misread=True, by_hand="readings")
def _radius_in_readings(case: SlipCase) -> Iterator[Way]:
    """The finder's radius was already taken off in the readings.

    What happens
        The control's display was set with the radius taken off, or whoever wrote the numbers down had reckoned already.

    What it changes
        The radius counts twice: every edge lies half a tip too far inside.

    How often
        Some times in a thousand setups.

    Where it can occur
        Wherever a tip with a radius touched upright faces. Touch looks for it in the readings; what it does to the part is followed
        as radius-twice.

    What gives it away
        A width touched from both sides comes out a tip too small.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    del case
    yield from ()


@slip("tool-not-as-written", rate=0.004, per="a height touched", source=PRIOR, misread=True, by_hand="readings")
def _tool_not_as_written(case: SlipCase) -> Iterator[Way]:
    """A height was touched with another tool than the one that is written.

    What happens
        The next tool is already in the spindle, or the line of the list is mistaken.

    What it changes
        The height is off by the difference of the two lengths.

    How often
        Some times in a thousand heights.

    Where it can occur
        Wherever a tool with a known length touches a height. Touch looks for it in the readings; a zero that was set so is followed
        as reference-tool-changed where lengths are differences to a tool.

    What gives it away
        A look at the spindle; the same height touched with a second tool.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    del case
    yield from ()


@slip("setter-left-out", rate=0.005, per="a height touched", source=PRIOR, misread=True, by_hand="readings")
def _setter_left_out(case: SlipCase) -> Iterator[Way]:
    """The setter that is written was not under the tool, or one stood there that is not written.

    What happens
        The tip is brought down on the face itself, out of habit; or the setter is used and the paper is written.

    What it changes
        The height is off by the setter's.

    How often
        Some times in a thousand heights.

    Where it can occur
        Wherever a tip is brought down on the part over something of known height. Touch looks for it in the readings; what it does
        to the part is followed as height-not-applied and height-twice.

    What gives it away
        The tip brought over the face at a round height, against a rule or block.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    del case
    yield from ()
