"""A few dozen slips of a bundled job, made by hand for the tests of matrix, plan and diagnosis."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from setwright.hover.matrix import Suspect
from setwright.hover.outcome import Outcome
from setwright.slips.world import World, offset_moved, part_moved, tool_hung
from tests.hover.bench_setups import Bench


def suspects(of: Bench) -> tuple[Suspect, ...]:
    """Registers, readings, tools, part, program and control: each wrong in a way a person would make it."""
    return tuple(_all(of))


def _all(of: Bench) -> Iterator[Suspect]:
    world, offset = of.world, of.world.kit.setup.offset
    for axis, name in enumerate("XYZ"):
        for size in (-5.0, 5.0, 10.0, 0.1):
            by = (size if axis == 0 else 0.0, size if axis == 1 else 0.0, size if axis == 2 else 0.0)
            outcome = Outcome.SCRAP if abs(size) < 1.0 else Outcome.CRASH
            moved = offset_moved(world, offset, by)
            yield Suspect("typed-wrong", f"{offset} {name} {size:+g} mm", 0.001, moved, outcome)
            if abs(size) >= 5.0:
                yield Suspect("read-wrong", f"{name} read {size:+g} mm wrong", 0.003, moved, outcome, misread=True)
    stations = list(world.kit.tools)
    for station in stations:
        yield from _of_tool(world, station, stations[0] if station != stations[0] else stations[-1])
    for size, outcome in ((0.5, Outcome.SCRAP), (2.0, Outcome.CRASH), (0.02, Outcome.REWORK)):
        yield Suspect("not-down", f"the blank sits {size:g} mm high", 0.004, part_moved(world, (0.0, 0.0, size)), outcome)
    for size in (-4.0, 4.0):
        yield Suspect("stop-moved", f"the part lies {size:+g} mm in X", 0.003, part_moved(world, (size, 0.0, 0.0)), Outcome.SCRAP)
    yield Suspect("turn-left", "a turn of 2 degrees is left", 0.001, replace(world, left_turn=math.radians(2.0)), Outcome.SCRAP)
    yield Suspect("shift-left", "a shift of 20 mm in Y is left", 0.001, replace(world, left_shift=(0.0, 20.0, 0.0)), Outcome.CRASH)
    name, text = next(iter(world.sources.items()))
    old = replace(world, sources={name: text.replace(b"REV", b"rev", 1) + b"(older)\n"})
    yield Suspect("older-program", "an older program", 0.002, old, Outcome.SCRAP)


def _of_tool(world: World, station: int, other: int) -> Iterator[Suspect]:
    hung, registers = world.kit.tools[station], world.registers
    for size in (-25.4, 5.0, 0.5):
        lengths = dict(registers.lengths) | {station: registers.lengths[station] + size}
        wrong = world.with_registers(lambda held, lengths=lengths: replace(held, lengths=lengths))
        outcome = Outcome.SCRAP if abs(size) < 1.0 else Outcome.CRASH
        yield Suspect("length-typed-wrong", f"length of T{station} {size:+g} mm", 0.001, wrong, outcome, lost_tool=station)
    out = tool_hung(world, station, replace(hung, stickout=hung.stickout + 4.0, length=hung.length + 4.0))
    yield Suspect("pulled-out", f"T{station} pulled out 4 mm", 0.002, out, Outcome.CRASH, lost_tool=station)
    swapped = tool_hung(world, station, world.kit.tools[other])
    yield Suspect("swapped", f"T{other}'s tool hangs in station {station}", 0.002, swapped, Outcome.BROKEN, lost_tool=station)
