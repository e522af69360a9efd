"""Blocks that change how later words are read: lengths, offsets, compensation, shifts, rotation, scaling, register writes."""

from __future__ import annotations

import math
from dataclasses import replace

from setwright.program.arc import PLANES
from setwright.program.block import code_text
from setwright.program.codes import ALSO, NUMBERED_OFFSETS
from setwright.program.machine import Machine
from setwright.program.registers import WorkOffset
from setwright.program.remark import Severity
from setwright.program.words import Words

__all__ = ["compensation", "dwell_seconds", "polar", "radius_register", "shifts", "tool_length", "work_offset", "write_register"]

_AXES = "XYZ"
_CENTRES = "IJK"
_THOUSANDTH = 0.001
_LAST_EXTENDED = 300


def dwell_seconds(machine: Machine, words: Words) -> float:
    """The dwell that P gives, in seconds."""
    value = words.number("P")
    reading = machine.profile.dwell_p
    if value == 0.0:
        return 0.0
    machine.assume("dwell_p", f"P in a dwell counts {reading}", key="P")
    if reading == "seconds" or (reading == "seconds with point" and "P" not in words.whole):
        return value
    return value * _THOUSANDTH


def tool_length(machine: Machine, words: Words, codes: dict[str, int]) -> None:
    """G43, G44, G49, and a new H while a length is on."""
    modal = machine.modal
    code = codes.get("tool length")
    if code is None:
        if "H" not in words or not modal.length_sign:
            return
        sign = modal.length_sign
    else:
        sign = {430: 1, 440: -1, 490: 0}[code]
    register = _length_register(machine, words) if sign else 0
    before = machine.prog

    def change() -> None:
        modal.length_sign, modal.length_register = sign, register

    machine.change_frame(change)
    machine.state_changed()
    if sign and register:
        modal.last_h = register
    machine.event("length", float(register))
    if machine.profile.length_change_moves == "yes" and not words.any_axis and machine.prog != before:
        machine.assume("length_change_moves", "a change of tool length moves Z at once")
        machine.line_to(before, rapid=modal.motion != 10)


def _length_register(machine: Machine, words: Words) -> int:
    modal = machine.modal
    if "H" in words:
        register = words.integer("H", "length register")
    else:
        reading = machine.profile.length_without_h
        if reading == "refuse" or (reading == "last H" and not modal.last_h):
            raise machine.stop("G43 has no H", why="controls differ on which length they take",
                               remedy="write H with the register of the tool", key="G43", behaviour="length_without_h")
        register = {"current tool": modal.tool_register, "last H": modal.last_h, "zero": 0}[reading]
        machine.assume("length_without_h", "G43 without H takes the register of the current tool" if reading == "current tool"
                       else f"G43 without H takes {reading}", key="G43")  # fmt: skip
    if register and modal.tool and register != modal.tool and machine.profile.t_word == "number":
        machine.remark("length register of another tool", Severity.CAUTION,
                       f"Tool {modal.tool} works with length register H{register}.",
                       "Check that this is meant.", key="H", value=float(register))  # fmt: skip
    return register


def work_offset(machine: Machine, words: Words, codes: dict[str, int]) -> None:
    """G54 to G59 and G54.1 P."""
    code = codes.get("work offset")
    if code is None:
        return
    name = code_text("G", code)
    if code in NUMBERED_OFFSETS:
        name = f"G54.1 P{(code - NUMBERED_OFFSETS.start) // NUMBERED_OFFSETS.step + 1}"
        machine.assume("offsets_g110", f"{code_text('G', code)} is the numbered offset {name}", key=code_text("G", code))
    elif code == 541:
        written = next(code_text("G", each) for each in words.g if ALSO.get(each, each) == code)
        if "P" not in words:
            raise machine.stop(f"{written} has no P", remedy=f"write {written} P1", key=written)
        number = words.integer("P", "number of an extended offset")
        if not 1 <= number <= _LAST_EXTENDED:
            raise machine.stop(f"there is no offset {written} P{number}", key="P")
        name = f"G54.1 P{number}"
        if written != "G54.1":
            machine.remark("numbered offset", Severity.NOTICE, f"{written} P{number} is called {name} here.", "Type it where the "
                           f"control keeps {written} P{number}.", key=written)  # fmt: skip
    if name != machine.modal.offset:
        machine.change_frame(lambda: setattr(machine.modal, "offset", name))
        machine.event("offset", name)


def radius_register(machine: Machine, words: Words) -> None:
    """The D word, or what the control takes in its place."""
    modal = machine.modal
    if "D" in words:
        modal.radius_register = modal.last_d = words.integer("D", "radius register")
        if modal.tool and modal.last_d not in (0, modal.tool) and machine.profile.t_word == "number":
            machine.remark("radius register of another tool", Severity.NOTICE,
                           f"Tool {modal.tool} works with radius register D{modal.last_d}.",
                           "Check that this is meant.", key="D", value=float(modal.last_d))  # fmt: skip
    else:
        reading = machine.profile.radius_without_d
        if reading == "refuse" or (reading == "last D" and not modal.last_d):
            raise machine.stop("G41 or G42 has no D", why="controls differ on which radius they take",
                               remedy="write D with the register of the tool", behaviour="radius_without_d")
        modal.radius_register = modal.tool_register if reading == "current tool" else modal.last_d
        machine.assume("radius_without_d", f"G41 and G42 without D take the register of the {reading}")
    machine.state_changed()


def compensation(machine: Machine, words: Words, code: int) -> None:
    """G40, G41, G42: the contour is gathered from here until the move after G40 is done."""
    modal = machine.modal
    if code in (412, 422):
        if machine.profile.extra_compensation_codes == "refuse":
            name = f"G{code // 10}.2"
            raise machine.stop(f"{name} is not understood", why="what it does depends on the control",
                               remedy="write G41 or G42, or choose a profile that reads it", key=name,
                               behaviour="extra_compensation_codes")
        machine.assume("extra_compensation_codes", "G41.2 and G42.2 are the same as G41 and G42")
        code -= 2
    chain = machine.chain
    if code == 400:
        modal.compensation = 400
        if chain is not None and not chain.moves:
            machine.chain = None
        elif chain is not None:
            chain.leaving = True
    elif chain is None or code != modal.compensation or "D" in words:
        modal.compensation = 400
        machine.close_chain("the side or the radius changes" if chain is not None and chain.moves else "")
        modal.compensation = code
        radius_register(machine, words)
        machine.open_chain()
    machine.state_changed()


def polar(machine: Machine, *, turn_on: bool) -> None:
    """G16 and G15: radius and angle in place of the plane's two coordinates."""
    first, second, _ = PLANES[machine.modal.plane]
    machine.modal.polar = turn_on
    if turn_on:
        machine.polar_centre = (0.0, 0.0) if machine.modal.absolute else (machine.prog[first], machine.prog[second])
        machine.polar_angle = 0.0


def shifts(machine: Machine, words: Words, codes: dict[str, int]) -> None:
    """G10, G52, the G92 family, rotation, scaling and mirror."""
    owner = codes.get("axis words")
    if owner == 100:
        write_register(machine, words)
    elif owner == 520:
        machine.close_chain("G52 shifts the work")
        local = [*machine.local]
        for i, axis in enumerate(_AXES):
            if axis in words:
                local[i] = words.length(axis)
        machine.local = (local[0], local[1], local[2])
        machine.shift_changed()
    elif owner is not None and owner // 10 == 92:
        _preset(machine, words, owner)
    if "rotation" in codes:
        _rotation(machine, words, turn_on=codes["rotation"] == 680)
    if "scaling" in codes:
        _scaling(machine, words, turn_on=codes["scaling"] == 510)
    if "mirror" in codes:
        _mirror(machine, words, turn_on=codes["mirror"] == 511)


def _preset(machine: Machine, words: Words, owner: int) -> None:
    machine.close_chain("G92 shifts the work")
    if owner == 920:
        if not words.any_axis:
            raise machine.stop("G92 names no axis", remedy="write the coordinates that the place of the tool is to have", key="G92")
        if machine.transform.linear is not None:
            raise machine.stop("G92 while rotation, scaling or mirror is on", why="controls differ on what is shifted",
                               remedy="cancel them first", key="G92")
        preset = [*machine.preset]
        for i, axis in enumerate(_AXES):
            if axis in words:
                preset[i] = machine.at[i] - machine.local[i] - words.length(axis)
        machine.kept_preset = machine.preset = (preset[0], preset[1], preset[2])
        machine.remark("work shifted by G92", Severity.CAUTION,
                       "G92 shifts every work offset from here on, by where the tool happens to stand.",
                       "Check that it is cancelled before the end (G92.1), and where the tool stands at the start.",
                       key="G92")  # fmt: skip
    elif owner == 923:
        machine.preset = machine.kept_preset
    else:
        machine.preset = (0.0, 0.0, 0.0)
        if owner == 921:
            machine.kept_preset = machine.preset
    machine.shift_changed()


def _rotation(machine: Machine, words: Words, *, turn_on: bool) -> None:
    if not turn_on and machine.rotation is None:
        return
    machine.close_chain("the rotation changes")
    if not turn_on:
        machine.rotation = None
    else:
        plane = machine.modal.plane
        first, second, _ = PLANES[plane]
        if "R" not in words:
            raise machine.stop("G68 has no angle", remedy="write R in degrees", key="G68")
        about = [machine.prog[first], machine.prog[second]]
        for k, i in enumerate((first, second)):
            if _AXES[i] in words:
                value = words.length(_AXES[i])
                about[k] = value if machine.modal.absolute else about[k] + value
        angle = math.radians(words.number("R"))
        if not machine.modal.absolute and machine.profile.rotation_in_g91 == "incremental" and machine.rotation is not None:
            machine.assume("rotation_in_g91", "the angle of G68 adds to the one in force under G91")
            angle += machine.rotation[2]
        machine.rotation = plane, (about[0], about[1]), angle
    machine.shift_changed()


def _scaling(machine: Machine, words: Words, *, turn_on: bool) -> None:
    if not turn_on and machine.scale is None:
        return
    machine.close_chain("the scaling changes")
    if not turn_on:
        machine.scale = None
    else:
        centre = [*machine.prog]
        factors = [1.0, 1.0, 1.0]
        for i, axis in enumerate(_AXES):
            if axis in words:
                centre[i] = words.length(axis)
            if _CENTRES[i] in words:
                factors[i] = _factor(machine, words, _CENTRES[i])
        if "P" in words:
            factors = [_factor(machine, words, "P")] * 3
        elif not words.any_centre:
            raise machine.stop("G51 has no factor", remedy="write P, or I, J, K for the axes", key="G51")
        machine.scale = (centre[0], centre[1], centre[2]), (factors[0], factors[1], factors[2])
    machine.shift_changed()


def _factor(machine: Machine, words: Words, letter: str) -> float:
    value = words.number(letter)
    if letter in words.whole and machine.profile.decimal == "least increment":
        value *= _THOUSANDTH
    if value == 0.0:
        raise machine.stop("a scale of zero leaves nothing", key=letter)
    return value


def _mirror(machine: Machine, words: Words, *, turn_on: bool) -> None:
    named = [i for i, axis in enumerate(_AXES) if axis in words]
    if not turn_on and not machine.mirror:
        return
    machine.close_chain("the mirror changes")
    if turn_on:
        if not named:
            raise machine.stop("G51.1 names no axis", remedy="write X or Y with the place of the mirror", key="G51.1")
        machine.mirror = machine.mirror | {i: words.length(_AXES[i]) for i in named}
    else:
        machine.mirror = {i: place for i, place in machine.mirror.items() if named and i not in named}
        words.take(_AXES)
    machine.shift_changed()


# --- G10 -----------------------------------------------------------------------------------------------------------------------


def write_register(machine: Machine, words: Words) -> None:
    """G10: work offsets by L2 and L20, tool registers by L10 to L13."""
    if "L" not in words or "P" not in words:
        raise machine.stop("G10 needs L and P", remedy="write for example G10 L2 P1 X0 Y0 Z0", key="G10")
    kind, number = words.integer("L", "kind of register"), words.integer("P", "register")
    if kind == 2:
        _write_offset(machine, words, _offset_name(machine, number))
    elif kind == 20 and machine.profile.g10_l20 == "extended offsets":
        machine.assume("g10_l20", "G10 L20 P writes the extended offset G54.1 P", key="L")
        _write_offset(machine, words, f"G54.1 P{number}")
    elif kind == 20:
        machine.assume("g10_l20", "G10 L20 makes the current position read the given values", key="L")
        _offset_from_position(machine, words, _offset_name(machine, number))
    elif kind in (10, 11, 12, 13):
        _write_tool(machine, words, kind, number)
    else:
        raise machine.stop(f"G10 L{kind} is not understood", remedy="L2 and L20 write work offsets, L10 to L13 tool registers",
                           key="L")


def _offset_name(machine: Machine, number: int) -> str:
    if number == 0:
        return "external"
    if number > 6:
        raise machine.stop(f"there is no work offset P{number} for G10 L2", remedy="P1 to P6 are G54 to G59", key="P")
    return f"G{53 + number}"


def _write_offset(machine: Machine, words: Words, name: str) -> None:
    old = WorkOffset(*machine.external) if name == "external" else machine.offsets.get(name, WorkOffset())
    values = [old.x, old.y, old.z]
    for i, axis in enumerate(_AXES):
        if axis in words:
            value = words.length(axis)
            values[i] = value if machine.modal.absolute else values[i] + value
    turn = old.rotation
    if "R" in words:
        turn = math.radians(words.number("R")) + (0.0 if machine.modal.absolute else turn)
    _store_offset(machine, name, WorkOffset(values[0], values[1], values[2], turn))


def _offset_from_position(machine: Machine, words: Words, name: str) -> None:
    place = machine.machine_position(machine.at)
    old = machine.offsets.get(name, WorkOffset())
    length = machine.length()
    values = [old.x, old.y, old.z]
    for i, axis in enumerate(_AXES):
        if axis in words:
            values[i] = place[i] - machine.external[i] - words.length(axis) - (length if i == 2 else 0.0)
    _store_offset(machine, name, replace(old, x=values[0], y=values[1], z=values[2]))


def _store_offset(machine: Machine, name: str, offset: WorkOffset) -> None:
    def change() -> None:
        if name == "external":
            machine.external = (offset.x, offset.y, offset.z)
        else:
            machine.offsets[name] = offset

    machine.used[name] = True
    machine.change_frame(change)
    machine.event("register", name)
    machine.remark("program writes a work offset", Severity.CAUTION,
                   f"The program itself writes {name}: what was touched off is lost.",
                   "Check the values against the readings, or take the block out.", key="G10")  # fmt: skip


def _write_tool(machine: Machine, words: Words, kind: int, number: int) -> None:
    letter = next((letter for letter in "RZ" if letter in words), "")
    if not letter:
        raise machine.stop(f"G10 L{kind} has no value", remedy="write R with the value", key="G10")
    value = words.length(letter)
    table, name = (machine.lengths, f"H{number}") if kind in (10, 11) else (machine.radii, f"D{number}")
    if kind in (12, 13) and machine.profile.radius_registers == "diameter":
        machine.assume("radius_registers", "G10 L12 and L13 give diameters", key=letter)
        value /= 2.0
    if kind == 10 and machine.profile.tool_registers == "from position":
        machine.assume("tool_registers", "G10 L10 computes the length from where the tool stands", key="L")
        value = machine.machine_position(machine.at)[2] - machine.offset().z - machine.external[2] - value
    wear = machine.wear.get(name, 0.0)
    if kind in (11, 13):
        new_wear = value if machine.modal.absolute else wear + value
        total = table.get(number, 0.0) - wear + new_wear
        machine.wear[name] = new_wear
    else:
        total = (value if machine.modal.absolute else table.get(number, 0.0) - wear + value) + wear
    machine.used[name] = True
    machine.change_frame(lambda: table.__setitem__(number, total))
    machine.event("register", name)

