"""Moves in machine coordinates: G53, the returns to reference points by G28 and G30, and the way to the tool change."""

from __future__ import annotations

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.program.machine import Machine
from setwright.program.remark import Severity
from setwright.program.words import Words

__all__ = ["change_move", "machine_move", "reference_return"]

_AXES = "XYZ"


def machine_move(machine: Machine, words: Words) -> None:
    """G53: the gauge point goes to machine coordinates, for this block only; offsets and lengths do not act."""
    if not words.any_axis:
        return
    if not machine.modal.absolute:
        if machine.profile.machine_move_in_g91 == "refuse":
            raise machine.stop("G53 under G91", why="some controls ignore it, others go to the position",
                               remedy="write G90 in the block", key="G53", behaviour="machine_move_in_g91")  # fmt: skip
        machine.assume("machine_move_in_g91", "G53 goes to the machine position under G91 too", key="G53")
    machine.close_chain("G53 commands the machine position")
    place = [*machine.machine_position(machine.at)]
    for i, axis in enumerate(_AXES):
        if axis in words:
            place[i] = words.length(axis)
    machine.move_in_machine((place[0], place[1], place[2]), rapid=machine.modal.motion != 10)
    if "Z" in words:
        machine.kept_z = place[2]


def reference_return(machine: Machine, words: Words, code: int) -> None:
    """G28 and G30: by the programmed intermediate point to a reference point; only axes that are named move."""
    name = f"G{code // 10}"
    number = 1 if code == 280 else 2
    if code == 300 and "P" in words:
        number = words.integer("P", "number of a reference point")
    axes = [i for i, axis in enumerate(_AXES) if axis in words]
    if not axes:
        behaviour = machine.profile.home_return_without_axes
        if behaviour == "refuse":
            raise machine.stop(f"{name} names no axis", why="some controls send all axes home, others none",
                               remedy=f"write {name} G91 Z0", key=name, behaviour="home_return_without_axes")
        machine.assume("home_return_without_axes", f"{name} without axis words sends {behaviour} to the reference point", key=name)
        if behaviour == "nothing":
            return
        axes = [0, 1, 2]
    else:
        machine.close_chain(f"{name} goes to the reference point")
        middle = words.target()
        if machine.modal.absolute and 2 in axes and middle[2] < machine.prog[2]:
            machine.remark("reference return by a lower point", Severity.WARNING,
                           f"{name} under G90 first goes down to Z{machine.shown(middle[2])} in the work, then to the reference "
                           "point.",
                           f"Write G91 {name} Z0.", key=name, value=middle[2], unit="mm")  # fmt: skip
        machine.line_to(middle, rapid=True)
    machine.close_chain(f"{name} goes to the reference point")
    machine.used.setdefault(f"reference {number}", number in machine.references)
    home = machine.references.get(number, (0.0, 0.0, 0.0))
    place = [*machine.machine_position(machine.at)]
    for i in axes:
        place[i] = home[i]
    machine.move_in_machine((place[0], place[1], place[2]), rapid=True)
    if 2 in axes:
        machine.kept_z = place[2]


def change_move(machine: Machine) -> None:
    """What the control itself does with the axes before a tool change: Z first, so that nothing crosses the work low down.

    Where the program has not brought Z to a machine position itself, the event "changed at" keeps the height (work Z, mm).
    """
    reading = machine.profile.change_motion
    if reading != "stays":
        machine.close_chain("the tool is changed")
    x, y, z = machine.machine_position(machine.at)
    if (machine.kept_z is None or abs(z - machine.kept_z) > COORDINATE_ROUND_OFF_MM) and machine.has_moved():
        machine.event("changed at", machine.at[2])
    if reading != "stays":
        machine.used.setdefault("reference 1", 1 in machine.references)
        home = machine.references.get(1, (0.0, 0.0, 0.0))
        before = machine.at
        machine.move_in_machine((x, y, home[2]), rapid=True)
        if reading == "all home":
            machine.move_in_machine(home, rapid=True)
        if machine.at != before:
            what = "Z" if reading == "Z home" else "Z, then X and Y"
            machine.assume("change_motion", f"a tool change takes {what} to the reference point by itself", key="M6")
    machine.kept_z = machine.machine_position(machine.at)[2]
