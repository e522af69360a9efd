"""What puts a slip right, told from the world it leaves behind: type this register, look into that station, touch again."""

from __future__ import annotations

import numpy as np

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.hover.matrix import Suspect
from setwright.hover.world import World
from setwright.kit.registers import length_register, radius_register
from setwright.program.registers import WorkOffset
from setwright.touch.registers import written

__all__ = ["remedy_of"]


def remedy_of(suspect: Suspect, sheet: World, *, units: str = "mm") -> str:
    """What to do about it, most direct first; for a wrong reading, to touch again."""
    world = suspect.world
    said = [*_program(world, sheet), *_tools(world, sheet, units), *_part(world, sheet)]
    wrong = [*_offsets(world, sheet, units), *_tool_registers(world, sheet, units)]
    if wrong and suspect.misread:
        said.append(_touch_again(world, sheet))
    elif wrong:
        said.append("type " + ", ".join(wrong) + "; then read it back")
    return "; ".join(dict.fromkeys(said)) if said else "nothing to change: look again"


def _program(world: World, sheet: World) -> list[str]:
    said = []
    if world.sources != sheet.sources:
        said.append(f"load {', '.join(sheet.sources)} into the control again, from the file the sheet names")
    if world.skip_levels != sheet.skip_levels:
        said.append("set block delete as the sheet says")
    if world.left_turn != sheet.left_turn:
        said.append("cancel the rotation (G69)")
    if world.left_shift != sheet.left_shift:
        said.append("cancel the shift left in force (G52 X0 Y0 Z0, or what cancels G92 on this control)")
    return said


def _tools(world: World, sheet: World, units: str) -> list[str]:
    said = []
    for station, hung in sheet.kit.tools.items():
        now = world.kit.tools.get(station)
        if now is None or now.tool.name != hung.tool.name:
            said.append(f"put {hung.tool.name} into station {station} and look at what hangs there now")
        elif abs(now.length - hung.length) > SAME_PLACE_MM or abs(now.stickout - hung.stickout) > SAME_PLACE_MM:
            out = written(hung.stickout, 0.1, units)
            said.append(f"take T{station} out, seat it again with {out} sticking out, and measure its length again")
        elif abs(now.radius - hung.radius) > SAME_PLACE_MM:
            said.append(f"T{station} is not the size the sheet says: put the right one in")
    return said


def _part(world: World, sheet: World) -> list[str]:
    mine, theirs = world.truth.machine_from_work, sheet.truth.machine_from_work
    pairs = [(mine.shift, theirs.shift), (mine.rotation, theirs.rotation)]
    pairs += list(zip(world.kit.extent, sheet.kit.extent, strict=True))
    bodies = zip(world.kit.placement.bodies, sheet.kit.placement.bodies, strict=False)
    pairs += [(now.bounds()[0], right.bounds()[0]) for now, right in bodies]
    away = any(float(np.abs(now - right).max()) > SAME_PLACE_MM for now, right in pairs)
    if not (away or world.metal is not sheet.metal or world.kit.blank is not sheet.kit.blank):
        return []
    return ["take the blank out, clean, put it in as the sheet shows, and touch again"]


def _offsets(world: World, sheet: World, units: str) -> list[str]:
    step = sheet.kit.machine.control.increment
    said = []
    for name, right in sheet.registers.offsets.items():
        now = world.registers.offsets.get(name, WorkOffset())
        for axis in "xyz":
            if abs(getattr(now, axis) - getattr(right, axis)) > SAME_PLACE_MM:
                said.append(f"{axis.upper()} = {written(getattr(right, axis), step, units)} into {name}")
        if now.rotation != right.rotation:
            said.append(f"no turn into {name}" if right.rotation == 0.0 else f"the turn of the sheet into {name}")
    if world.registers.external != sheet.registers.external:
        x, y, z = (written(value, step, units) for value in sheet.registers.external)
        said.append(f"X = {x}, Y = {y}, Z = {z} into the external offset")
    return said


def _tool_registers(world: World, sheet: World, units: str) -> list[str]:
    step = sheet.kit.machine.control.increment
    double = 2.0 if sheet.kit.machine.control.radius_register == "diameter" else 1.0
    said = []
    for tool in sheet.kit.setup.tool:
        mine, theirs = world.registers_of(tool.station), sheet.registers_of(tool.station)
        length, radius = length_register(tool), radius_register(tool)
        if abs(mine.lengths.get(length, 0.0) - theirs.lengths.get(length, 0.0)) > SAME_PLACE_MM:
            said.append(f"{written(theirs.lengths.get(length, 0.0), step, units)} into length {length}")
        if abs(mine.radii.get(radius, 0.0) - theirs.radii.get(radius, 0.0)) > SAME_PLACE_MM:
            said.append(f"{written(double * theirs.radii.get(radius, 0.0), step, units)} into radius {radius}")
    return said


def _touch_again(world: World, sheet: World) -> str:
    """Which faces, or which tools, to touch once more."""
    datum, faces = sheet.kit.setup.datum, []
    for name, right in sheet.registers.offsets.items():
        now = world.registers.offsets.get(name, WorkOffset())
        for axis, face in (("x", datum.x), ("y", datum.y), ("z", datum.z.face)):
            if abs(getattr(now, axis) - getattr(right, axis)) > SAME_PLACE_MM:
                faces.append(face)
    tools = [f"T{tool.station}" for tool in sheet.kit.setup.tool
             if abs(world.registers_of(tool.station).lengths.get(length_register(tool), 0.0)
                    - sheet.registers_of(tool.station).lengths.get(length_register(tool), 0.0)) > SAME_PLACE_MM]  # fmt: skip
    parts = [f"touch {' and '.join(dict.fromkeys(faces))} again"] if faces else []
    parts += [f"measure the length of {', '.join(tools)} again"] if tools and not faces else []
    return "; ".join(parts) + " with clean faces and tip, and type what follows" if parts else "touch again, and type what follows"
