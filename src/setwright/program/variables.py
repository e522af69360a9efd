"""The variables of the macro language: locals by level, commons, and the system variables that show the machine's state."""

from __future__ import annotations

import math
from collections.abc import Callable

from setwright.program.machine import Machine, Modal
from setwright.program.registers import WorkOffset
from setwright.program.remark import Severity
from setwright.program.words import LARGEST_NUMBER

__all__ = ["ARGUMENTS", "Commons", "Variables"]

ARGUMENTS = {
    "A": 1, "B": 2, "C": 3, "I": 4, "J": 5, "K": 6, "D": 7, "E": 8, "F": 9, "H": 11, "M": 13, "Q": 17, "R": 18, "S": 19, "T": 20,
    "U": 21, "V": 22, "W": 23, "X": 24, "Y": 25, "Z": 26,
}  # fmt: skip
"""The local variable that each letter of a macro call sets."""

_LOCALS = 34
_KEPT = 500
_OFFSETS = {5201: "external", 5221: "G54", 5241: "G55", 5261: "G56", 5281: "G57", 5301: "G58", 5321: "G59"}
_EXTENDED = 7001
_EXTENDED_LAST = 7001 + 20 * 48
_MODAL_GROUPS: dict[int, Callable[[Modal], float | None]] = {
    4001: lambda m: m.motion / 10.0 if m.motion >= 0 else None,
    4002: lambda m: 17.0 + m.plane, 4003: lambda m: 90.0 if m.absolute else 91.0,
    4005: lambda m: m.feed_mode / 10.0, 4006: lambda m: 21.0 if m.unit == 1.0 else 20.0,
    4007: lambda m: (m.compensation or 400) / 10.0,
    4008: lambda m: {1: 43.0, -1: 44.0, 0: 49.0}[m.length_sign], 4010: lambda m: m.retract / 10.0, 4107: lambda m: float(m.last_d),
    4109: lambda m: m.feed / m.unit if m.feed == m.feed else None, 4111: lambda m: float(m.last_h), 4119: lambda m: m.speed,
    4120: lambda m: float(m.tool if m.next_tool is None else m.next_tool),
}  # fmt: skip


class Commons(dict[int, "float | None"]):
    """Common variables; one that was never set reads as vacant, and `unset` names those that the control keeps from before."""

    def __init__(self) -> None:
        super().__init__()
        self.unset: set[int] = set()

    def __missing__(self, index: int) -> None:
        if index >= _KEPT:
            self.unset.add(index)


class Variables:
    """All variables of one run. `locals` is the list of the current level; values are numbers or None (vacant)."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.levels: list[list[float | None]] = [[None] * _LOCALS]
        self.locals = self.levels[0]
        self.commons = Commons()
        self.block_number = 0
        self.program = 0

    def enter(self, arguments: dict[int, float]) -> None:
        """A new level of locals, with the arguments of a call."""
        fresh: list[float | None] = [None] * _LOCALS
        for index, value in arguments.items():
            fresh[index] = value
        self.levels.append(fresh)
        self.locals = fresh

    def leave(self) -> None:
        """Back to the level before."""
        self.levels.pop()
        self.locals = self.levels[-1]

    def indirect(self, number: float) -> float | None:
        """The variable whose number was computed."""
        index = self._index(number)
        if index == 0:
            return None
        if index < _LOCALS:
            return self.locals[index]
        return self.commons[index] if index < 1000 else self.system(index)

    def assign(self, number: float, value: float | None) -> None:
        """Give a variable a value."""
        index = self._index(number)
        if index == 0:
            raise self.machine.stop("#0 is always vacant and takes no value")
        if value is not None and not math.isfinite(value):
            raise self.machine.stop(f"the value for #{index} is beyond all numbers")
        if index < _LOCALS:
            self.locals[index] = value
        elif index < 1000:
            self.commons[index] = value
        else:
            self._assign_system(index, value or 0.0)

    def _index(self, number: float) -> int:
        if not math.isfinite(number) or number < 0.0 or number != int(number) or 34 <= number < 100 or number > 99_999:
            raise self.machine.stop(f"there is no variable #{number:g}")
        return int(number)

    def system(self, index: int) -> float | None:
        """A system variable. Raises Stop for those whose value the program text does not determine."""
        machine = self.machine
        modal = machine.modal
        if index in _MODAL_GROUPS:
            return _MODAL_GROUPS[index](modal)
        if index == 4014:
            return float(modal.offset[1:3])
        if index in (4114, 4115):
            return float(self.block_number if index == 4114 else self.program)
        group, axis = divmod(index - 5001, 20)
        if group in (0, 2) and axis < 3:
            return machine.prog[axis] / modal.unit
        if group == 1 and axis < 3:
            return machine.machine_position(machine.at)[axis] / modal.unit
        if group == 4 and axis < 3:
            return machine.length() / modal.unit if axis == 2 else 0.0
        place = _offset_place(index)
        if place is not None:
            name, axis = place
            machine.used.setdefault(name, name == "external" or name in machine.offsets)
            if name == "external":
                return machine.external[axis] / modal.unit
            offset = machine.offsets.get(name, WorkOffset())
            return (offset.x, offset.y, offset.z)[axis] / modal.unit
        if 2001 <= index <= 2200 or 11001 <= index <= 11200:
            number = index - (2000 if index < 3000 else 11000)
            machine.used.setdefault(f"H{number}", number in machine.lengths)
            return machine.lengths.get(number, 0.0) / modal.unit
        if 13001 <= index <= 13200:
            machine.used.setdefault(f"D{index - 13000}", index - 13000 in machine.radii)
            return machine.radii.get(index - 13000, 0.0) / modal.unit
        raise machine.stop(f"#{index} is not known here",
                           why="its value comes from the machine while it runs (time, probe, inputs, maker's data)",
                           remedy="give the program a value in its place")  # fmt: skip

    def _assign_system(self, index: int, value: float) -> None:
        machine = self.machine
        place = _offset_place(index)
        if place is not None:
            name, axis = place
            if abs(value) > LARGEST_NUMBER:
                raise machine.stop(f"the value {value:g} for #{index} is beyond all measure",
                                   remedy="look where the number comes from")  # fmt: skip
            old = machine.offsets.get(name, WorkOffset()) if name != "external" else WorkOffset(*machine.external)
            values = [old.x, old.y, old.z]
            values[axis] = value * machine.modal.unit

            def change() -> None:
                if name == "external":
                    machine.external = (values[0], values[1], values[2])
                else:
                    machine.offsets[name] = WorkOffset(values[0], values[1], values[2], old.rotation)

            machine.used[name] = True
            machine.change_frame(change)
            machine.event("register", name)
            machine.remark("program writes a work offset", Severity.CAUTION,
                           f"The program itself writes {name}: what was touched off is lost.",
                           "Check the values against the readings, or take the block out.")  # fmt: skip
            return
        if index in (3001, 3002, 3003, 3004, 3005, 3007):
            machine.remark("control switch set by program", Severity.NOTICE, f"The program sets #{index} to {value:g}.", "")
            return
        raise machine.stop(f"#{index} cannot be set here", why="what it does depends on the control")


def _offset_place(index: int) -> tuple[str, int] | None:
    """The offset register and axis (0 to 2) that a system variable stands for."""
    for first, name in _OFFSETS.items():
        if first <= index < first + 3:
            return name, index - first
    if _EXTENDED <= index < _EXTENDED_LAST and (index - _EXTENDED) % 20 < 3:
        return f"G54.1 P{(index - _EXTENDED) // 20 + 1}", (index - _EXTENDED) % 20
    return None
