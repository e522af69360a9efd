"""Numbers typed into the control wrong, typed nowhere, or left in it from before."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from setwright.program.registers import Registers, WorkOffset
from setwright.slips.case import SlipCase, Typed
from setwright.slips.catalogue import PRIOR, Way, scalable, slip
from setwright.slips.mistakes import transposed, typing_mistakes
from setwright.slips.world import Triple, World, offset_moved


def _typed(slug: str, numbers: Iterable[Typed]) -> Iterator[Way]:
    """The mistakes in typing of this slip's name, for every number; not those that leave the typed digits as they are."""
    for typed in numbers:
        for found in typing_mistakes(typed.value / typed.per_unit()):
            held = typed.value + found.shift * typed.per_unit()
            if found.slug == slug and typed.text(held) != typed.text():
                words = f"{typed.name} holds {typed.text(held)} for {typed.text()} {typed.unit}: {found.why}"
                yield Way(words, found.share, typed.name, typed.again(), typed.holding(held), held - typed.value)


@slip("sign-lost", rate=0.002, per="a number typed", source=PRIOR)
def _sign_lost(case: SlipCase) -> Iterator[Way]:
    """The sign of a number is lost.

    What happens
        The minus is not typed, or typed where none belongs.

    What it changes
        The register holds the negative of what it should.

    How often
        Some times in a thousand numbers.

    Where it can occur
        Wherever a number is typed: the three of a work offset.

    What gives it away
        The register read back digit by digit, sign first.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    return _typed("sign-lost", case.main_offset)


@slip("inch-for-mm", rate=0.002, per="a number typed", source=PRIOR)
def _inch_for_mm(case: SlipCase) -> Iterator[Way]:
    """A number is typed in inches into a register of millimetres.

    What happens
        The display or the paper was in the other unit.

    What it changes
        The register holds a twenty-fifth of what it should.

    How often
        Some times in a thousand where both units are in the shop.

    Where it can occur
        Wherever a number is typed: where the registers are in mm.

    What gives it away
        The register read back; the tip is far from the part.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    return _typed("inch-for-mm", (*case.main_offset, *case.lengths) if case.units == "mm" else ())


@slip("mm-for-inch", rate=0.001, per="a number typed", source=PRIOR)
def _mm_for_inch(case: SlipCase) -> Iterator[Way]:
    """A number is typed in millimetres into a register of inches.

    What happens
        The display or the paper was in the other unit.

    What it changes
        The register holds twenty-five times what it should.

    How often
        About once in a thousand where both units are in the shop.

    Where it can occur
        Wherever a number is typed: where the registers are in inches.

    What gives it away
        The register read back; most controls stop with an alarm at the end of the travel.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    return _typed("mm-for-inch", (*case.main_offset, *case.lengths) if case.units == "in" else ())


@slip("decimal-point", rate=0.002, per="a number typed", source=PRIOR)
def _decimal_point(case: SlipCase) -> Iterator[Way]:
    """The decimal point is one place off.

    What happens
        A digit too many or too few is typed before the point.

    What it changes
        The register holds ten times what it should, or a tenth.

    How often
        Some times in a thousand numbers, most often too short.

    Where it can occur
        Wherever a number is typed: work offsets and tool lengths.

    What gives it away
        The register read back; far off is seen with the tip over the part.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    return _typed("decimal-point", (*case.main_offset, *case.lengths))


_LEAST_MM = 0.1


@slip("digits-exchanged", rate=0.003, per="a number typed", source=PRIOR)
def _digits_exchanged(case: SlipCase) -> Iterator[Way]:
    """Two neighbouring digits of a number are exchanged.

    What happens
        304.86 is written down, 340.86 is typed.

    What it changes
        The register is off by nine times some power of ten.

    How often
        Some times in a thousand numbers.

    Where it can occur
        Every number of five or six digits that is copied: work offsets and tool lengths. Of the ways to exchange two digits the
        largest shift and the least that reaches a tenth of a millimetre are followed; each stands for half of all.

    What gives it away
        The register read back digit by digit; a difference that nine divides is the mark of it.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    for typed in (*case.main_offset, *case.lengths):
        held = [float(text) * typed.per_unit() for text in transposed(typed.text())]
        telling = [value for value in held if abs(value - typed.value) >= _LEAST_MM]
        telling.sort(key=typed.off)
        chosen = list(dict.fromkeys([*telling[:1], *telling[-1:]]))
        for value in chosen:
            words = f"{typed.name} holds {typed.text(value)} for {typed.text()} {typed.unit}: two digits are exchanged"
            yield Way(words, 1.0 / len(chosen), typed.name, typed.again(), typed.holding(value),
                      value - typed.value)  # fmt: skip


_PLACES = {"mm": (10.0, 1.0, 0.1), "in": (1.0, 0.1, 0.01)}


@slip("mistyped", rate=0.004, per="a number typed", source=PRIOR, spread=3.0, either_way=True)
def _mistyped(case: SlipCase) -> Iterator[Way]:
    """A number is typed that nobody meant.

    What happens
        A 4 is read for a 9, or the key beside the right one is pressed, once or more often.

    What it changes
        The register is off by any amount, most often by a few units of one place.

    How often
        Once in a thousand digits, so some times in a thousand numbers.

    Where it can occur
        Every number that is copied: work offsets and tool lengths. Followed are one unit of the tens, of the ones and of the tenths
        (in an inch register: of the ones, tenths and hundredths), away from the part or into it as the digit happens to fall; here
        downward, which is the worse way.

    What gives it away
        The register read back digit by digit.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    for typed in (*case.main_offset, *case.lengths):
        for place in _PLACES[typed.unit]:

            def at(times: float, typed: Typed = typed, place: float = place) -> Way:
                value = typed.value - place * times * typed.per_unit()
                words = f"{typed.name} holds {typed.text(value)} for {typed.text()} {typed.unit}: a digit or more is wrong"
                return Way(words, 1.0 / 3, typed.name, typed.again(), typed.holding(value), value - typed.value)

            yield scalable(at)


@slip("axes-exchanged", rate=0.002, per="a setup", source=PRIOR)
def _axes_exchanged(case: SlipCase) -> Iterator[Way]:
    """X and Y of the zero are exchanged.

    What happens
        Two numbers are copied from the slip of paper in the wrong order.

    What it changes
        X of the offset holds Y and Y holds X.

    How often
        About once in five hundred setups.

    Where it can occur
        Wherever two numbers are copied by hand.

    What gives it away
        The register read back against the sheet; the tip nowhere near the part.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    by_axis = {typed.axis: typed for typed in case.main_offset}
    if 0 in by_axis and 1 in by_axis and by_axis[0].value != by_axis[1].value:
        x, y = by_axis[0], by_axis[1]
        off = y.value - x.value
        words = f"X and Y are exchanged in {case.kit.setup.offset}: X holds {x.text(y.value)}, Y holds {y.text(x.value)}"
        yield Way(words, 1.0, case.kit.setup.offset, f"{x.again()}; {y.again()}",
                  case.offset_off((off, -off, 0.0)), off)  # fmt: skip


@slip("offset-at-zero", rate=0.0015, per="a setup")
def _offset_at_zero(case: SlipCase) -> Iterator[Way]:
    """The work offset was never typed: it holds zero.

    What happens
        The registers were cleared after the last job, and this one was forgotten.

    What it changes
        The control takes the machine's own zero for the part's.

    How often
        Once or twice in a thousand setups.

    Where it can occur
        Every setup.

    What gives it away
        The register read back. Most controls stop with an alarm at the end of the travel.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    off = [0.0, 0.0, 0.0]
    for typed in case.main_offset:
        off[typed.axis] = -typed.value
    if any(off):
        offset = case.kit.setup.offset
        yield Way(f"{offset} holds zero: nothing was typed", 1.0, offset, f"type {offset} and read it back",
                  case.offset_off((off[0], off[1], off[2])), max(off, key=abs))  # fmt: skip


@slip("left-from-before", rate=0.005, per="a setup")
def _left_from_before(case: SlipCase) -> Iterator[Way]:
    """The offset of the job before is left in.

    What happens
        The new zero was found and not typed, or typed and not taken over; the program calls the old one.

    What it changes
        The whole work offset is that of another part: of the job's other setup where there is one on this machine, else of a part
        in the middle of the table, a blank's height higher.

    How often
        Some times in a thousand setups.

    Where it can occur
        Every setup.

    What gives it away
        The register read back against the sheet; the tip brought over the zero.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    offset, off = case.kit.setup.offset, _off_before(case)
    if any(off):
        words = f"{offset} holds the numbers of the job before, off by {', '.join(case.length(value) for value in off)}"
        yield Way(words, 1.0, offset, f"type {offset} anew and read it back", case.offset_off(off), max(off, key=abs))


def _off_before(case: SlipCase) -> Triple:
    """How far what the setup's offset held before is off what is to be typed, mm."""
    before, off = case.last_job, [0.0, 0.0, 0.0]
    for typed in case.main_offset:
        off[typed.axis] = (before.x, before.y, before.z)[typed.axis] - typed.value
    return off[0], off[1], off[2]


@slip("place-not-typed", rate=0.004, per="a pallet")
def _place_not_typed(case: SlipCase) -> Iterator[Way]:
    """One place of a pallet still holds the numbers of the job before.

    What happens
        Five of six offsets are typed, one is passed over.

    What it changes
        One work offset is that of another pallet, as far off as this pallet stands from the one before.

    How often
        Some times in a thousand pallets, whichever the place.

    Where it can occur
        Setups with several work offsets.

    What gives it away
        The registers read back against the sheet, all of them.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    mine, before = case.world.registers.offsets.get(case.kit.setup.offset), case.last_job
    names = list(case.kit.setup.shifts)
    if mine is None:
        return
    by = (before.x - mine.x, before.y - mine.y, before.z - mine.z)
    for name in names:
        words = f"{name} holds the numbers of the job before, off by {', '.join(case.length(value) for value in by)}"

        def change(world: World, name: str = name) -> World:
            return offset_moved(world, name, by)

        yield Way(words, 1.0 / len(names), name, f"type {name} anew and read it back", change,
                  max(by, key=abs))  # fmt: skip


def _exchanged(a: str, b: str) -> Callable[[World], World]:
    def swap(registers: Registers) -> Registers:
        offsets = dict(registers.offsets)
        offsets[a], offsets[b] = offsets[b], offsets[a]
        return replace(registers, offsets=offsets)

    return lambda world: world.with_registers(swap)


@slip("places-exchanged", rate=0.002, per="a pallet")
def _places_exchanged(case: SlipCase) -> Iterator[Way]:
    """Two places of a pallet are exchanged in the offsets.

    What happens
        The numbers of place 2 are typed into the register of place 3, and the other way round.

    What it changes
        Two work offsets are exchanged; where all places hold alike parts it costs nothing, else it meets the wrong one.

    How often
        Once or twice in a thousand pallets.

    Where it can occur
        Setups with several work offsets.

    What gives it away
        The registers read back against the sheet.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    names = [case.kit.setup.offset, *case.kit.setup.shifts]
    pairs = list(pairwise(names))
    for a, b in pairs:
        yield Way(f"{a} and {b} are exchanged", 1.0 / len(pairs), f"{a}, {b}",
                  f"type {a} and {b} anew and read them back", _exchanged(a, b))  # fmt: skip


@slip("external-offset-left", rate=0.003, per="a setup", spread=2.5)
def _external_offset_left(case: SlipCase) -> Iterator[Way]:
    """The external offset still holds something.

    What happens
        It was raised for a run above the part, or lowered for one, and not taken back.

    What it changes
        Every work offset is higher or lower; here by the blank's height up, or as far down again because it was taken back twice.

    How often
        Some times in a thousand setups in shops that run above the part first.

    Where it can occur
        Every setup.

    What gives it away
        The external offset on the register page, read back.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    height = float(case.kit.extent[1][2] - case.kit.extent[0][2])
    for stated in (height, -height):

        def at(times: float, stated: float = stated) -> Way:
            by = stated * times

            def moved(registers: Registers) -> Registers:
                x, y, z = registers.external
                return replace(registers, external=(x, y, z + by))

            words = f"the external offset holds Z {case.length(by)}: it was not taken back after a run above the part"
            return Way(words, 1.0 / 2, "external offset", "set the external offset to 0",
                       lambda world: world.with_registers(moved), by)  # fmt: skip

        yield scalable(at)


@slip("wrong-register", rate=0.004, per="a setup", source=PRIOR)
def _wrong_register(case: SlipCase) -> Iterator[Way]:
    """The zero was typed into another work offset than the program uses.

    What happens
        The cursor stands in the next line of the table.

    What it changes
        The program's own offset keeps what it held before; another one holds the new numbers.

    How often
        Some times in a thousand setups.

    Where it can occur
        Every setup: every control has more than one work offset. Touch recognises it where several offsets were read off. On a
        pallet the register beside it is that of the next place, which then holds the numbers of this one.

    What gives it away
        The whole table of offsets read back, not only the line that should be right.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    offset, off = case.kit.setup.offset, _off_before(case)
    other = _beside(offset)

    def typed_beside(registers: Registers) -> Registers:
        at = registers.offsets.get(offset, WorkOffset())
        kept = WorkOffset(at.x + off[0], at.y + off[1], at.z + off[2], at.rotation)
        return replace(registers, offsets={**registers.offsets, offset: kept, other: at})

    if any(off):
        words = f"the numbers for {offset} stand in {other}, and {offset} holds those of the job before"
        yield Way(words, 1.0, offset, f"type them into {offset}, and clear {other} or give it back what it held",
                  lambda world: world.with_registers(typed_beside), max(off, key=abs))  # fmt: skip


def _beside(offset: str) -> str:
    """The next line of the table of work offsets; of the last line of G54 to G59 the one before it."""
    if offset == "G59":
        return "G58"
    head = offset.rstrip("0123456789")
    return f"{head}{int(offset[len(head):] or 0) + 1}"
