"""Length registers that do not hold the length of the tool."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from setwright.geometry.pieces import Role
from setwright.kit.instrument import find_instrument
from setwright.slips.case import SlipCase, Typed
from setwright.slips.catalogue import PRIOR, Way, scalable, slip
from setwright.slips.world import World


@slip("length-not-typed", rate=0.0015, per="a tool")
def _length_not_typed(case: SlipCase) -> Iterator[Way]:
    """A tool was measured and its length never typed: the register holds zero.

    What happens
        The tool is new in the magazine, the register was cleared, the number stayed on paper.

    What it changes
        The control takes the gauge line for the tip: the tool comes down by its whole length.

    How often
        Once or twice in a thousand tools.

    Where it can occur
        Every tool whose length the program takes from a register that holds lengths from the gauge line or differences.

    What gives it away
        The lengths read back; the first approach with distance to go against what the eye sees.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for typed in case.lengths:
        if typed.value != 0.0:
            yield Way(f"{typed.name} holds zero for {typed.text()} {typed.unit}: nothing was typed", 1.0,
                      typed.name, typed.again(), typed.holding(0.0), -typed.value)  # fmt: skip


@slip("length-of-another-tool", rate=0.003, per="a setup", source=PRIOR)
def _length_of_another_tool(case: SlipCase) -> Iterator[Way]:
    """A tool's register holds the length of its neighbour.

    What happens
        Lengths are copied down a list, and one line is skipped or read twice.

    What it changes
        The tip stands too low or too high by the difference of two tools.

    How often
        Some times in a thousand setups, whichever the pair.

    Where it can occur
        Setups with two tools or more; followed are neighbours in the order of the program.

    What gives it away
        The lengths read back against the sheet; the tip over the top face with each tool.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    pairs = [pair for a, b in pairwise(case.lengths) for pair in ((a, b), (b, a))]
    for typed, other in pairs:
        words = f"{typed.name} holds {typed.text(other.value)}, the length of T{other.station}, for {typed.text()} {typed.unit}"
        yield Way(words, 1.0 / len(pairs), typed.name, typed.again(), typed.holding(other.value),
                  other.value - typed.value)  # fmt: skip


@slip("length-convention", rate=0.002, per="a tool", source=PRIOR)
def _length_convention(case: SlipCase) -> Iterator[Way]:
    """A length is typed in another convention than the machine holds.

    What happens
        The presetter gives lengths from the gauge line, the machine holds the position at which the tip stands on the datum, or the
        other way round.

    What it changes
        The register is off by the machine position of the datum.

    How often
        Once in five hundred tools that come from another machine.

    Where it can occur
        Every tool whose length is typed.

    What gives it away
        The lengths read back: sign and size are not like the others.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    z = float(case.world.truth.machine_from_work.shift[2])
    tip_on_datum = case.kit.machine.control.lengths == "tip on datum"
    for typed in case.lengths:
        length = case.world.truth.lengths[typed.station] if typed.station is not None else 0.0
        held = length if tip_on_datum else z + length
        which = "from the gauge line" if tip_on_datum else "with the tip on the datum"
        words = f"{typed.name} holds {typed.text(held)}, a length {which}, for {typed.text()} {typed.unit}"
        yield Way(words, 1.0, typed.name, typed.again(), typed.holding(held), held - typed.value)


_WEAR_MM = 0.15


@slip("length-wear-left", rate=0.004, per="a tool", spread=2.5)
def _length_wear_left(case: SlipCase) -> Iterator[Way]:
    """The wear of the tool before is left in a length.

    What happens
        A new tool goes into an old pocket; its length is typed, the wear of its forerunner stays.

    What it changes
        The tip goes lower by the wear that was typed; here 0.15 mm.

    How often
        Once in a hundred tools that are replaced.

    Where it can occur
        Every tool; more often in long runs.

    What gives it away
        The wear page of the registers, read back.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for typed in case.lengths:

        def at(times: float, typed: Typed = typed) -> Way:
            wear = _WEAR_MM * times
            words = f"{typed.name} is {case.length(wear)} too small: the wear of an earlier tool was left in"
            return Way(words, 1.0, typed.name, f"set the wear of {typed.name} to 0", typed.holding(typed.value - wear), -wear)

        yield scalable(at)


@slip("reference-tool-changed", rate=0.01, per="a setup")
def _reference_tool_changed(case: SlipCase) -> Iterator[Way]:
    """The zero was set with another tool than the lengths refer to.

    What happens
        Lengths are differences to one reference tool; Z was set with the tool that happened to be in the spindle.

    What it changes
        Z is off by the difference of the two tools.

    How often
        Once in a hundred setups on such machines.

    Where it can occur
        Machines whose registers hold differences to a reference tool.

    What gives it away
        The tip of the reference tool over the top face.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    control = case.kit.machine.control
    if control.lengths != "reference tool" or control.reference_tool is None:
        return
    lengths = case.world.truth.lengths
    others = [tool.station for tool in case.used if tool.station != control.reference_tool]
    for station in others:
        by = lengths[station] - lengths[control.reference_tool]
        off = f"{case.height_register} is {case.length(abs(by))} off"
        words = f"{off}: Z was set with T{station} instead of T{control.reference_tool}"
        yield Way(words, 1.0 / len(others), case.height_register,
                  f"set Z with T{control.reference_tool}", case.offset_off((0.0, 0.0, by)), by)  # fmt: skip


@slip("setter-height-left-out", rate=0.003, per="a setup", source=PRIOR, misread=True)
def _setter_height_left_out(case: SlipCase) -> Iterator[Way]:
    """The height of the tool setter is left out of every length.

    What happens
        The tools are brought down on a setter on the table, and its height is not taken into account.

    What it changes
        All lengths are off by the setter's height, alike.

    How often
        Some times in a thousand setups.

    Where it can occur
        Setups whose tools are measured on a setter in the machine.

    What gives it away
        The first tip over the top face; all tools are off by the same.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    folder, lengths = case.kit.folder, case.lengths
    names = dict.fromkeys(r.with_ for r in folder.job.readings.tool_length if r.setup == case.kit.setup.name)
    for name in names if lengths else ():
        height = find_instrument(folder.job.shop.instruments, name).height

        def change(world: World, height: float = height) -> World:
            for typed in lengths:
                world = typed.holding(typed.value + height)(world)
            return world

        words = f"all lengths are {case.length(height)} too great: the height of the {name} was left out"
        yield Way(words, 1.0, "all lengths", f"take {case.length(height)} off every length", change, height)


@slip("shoulder-for-tip", rate=0.004, per="a pointed tool", misread=True)
def _shoulder_for_tip(case: SlipCase) -> Iterator[Way]:
    """A pointed tool was measured at its shoulder instead of its tip.

    What happens
        The drill is set beside its point, or the setter's button meets the lip and not the chisel edge.

    What it changes
        The tip goes deeper by the height of the point.

    How often
        Once in two hundred pointed tools set by hand.

    Where it can occur
        Drills, spot drills, chamfer mills: whatever has a point.

    What gives it away
        The tip over the top face, against a block; the rule on the tool.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for typed in case.lengths:
        if typed.station is None:
            continue
        first = next((piece for piece in case.kit.tools[typed.station].pieces if piece.role is Role.CUTTING), None)
        if first is not None and first.r1 > first.r0 and first.z1 > first.z0 and first.rho == 0.0:
            point = first.z1 - first.z0
            words = f"{typed.name} is {case.length(point)} too small: T{typed.station} was measured at the shoulder of its point"
            yield Way(words, 1.0, typed.name, f"measure T{typed.station} at its tip",
                      typed.holding(typed.value - point), -point)  # fmt: skip


@slip("lengths-exchanged", rate=0.002, per="a setup", source=PRIOR)
def _lengths_exchanged(case: SlipCase) -> Iterator[Way]:
    """The lengths of two tools are exchanged in the registers.

    What happens
        Two lines of the list are typed in the other order; the tools hang where they should.

    What it changes
        One tool goes down too far by the difference of the two lengths, the other stays too high by as much.

    How often
        Once in five hundred setups, whichever the pair.

    Where it can occur
        Setups with two length registers or more; followed are neighbours in the order of the program.

    What gives it away
        The registers read back against the sheet; the tip over the top face.

    Source
        Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
    """
    pairs = [(a, b) for a, b in pairwise(case.lengths) if a.text() != b.text()]
    for a, b in pairs:

        def change(world: World, a: Typed = a, b: Typed = b) -> World:
            return b.holding(a.value)(a.holding(b.value)(world))

        words = f"{a.name} holds {a.text(b.value)} and {b.name} {b.text(a.value)} {a.unit}: the two are exchanged"
        yield Way(words, 1.0 / len(pairs), f"{a.name}, {b.name}", f"{a.again()}; {b.again()}", change, b.value - a.value)
