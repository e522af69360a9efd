"""What stands on the machine, and what the control holds: everything a slip can change.

A slip is a pure function from a World to a World; what a check would show is a pure function of a World. W is the frame of the part
as the drawing gives it, fixed to the metal that lies there: when the part is moved, W goes with it in the machine, and the holding
moves the other way in W.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from setwright.geometry.bodies import Body, BodyRole
from setwright.geometry.frames import shifted
from setwright.geometry.profile import Assembly
from setwright.kit.placement import Placement
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.program.registers import Registers, WorkOffset
from setwright.prove.chain import blank_of
from setwright.prove.reading import Held, held_for
from setwright.removal.field import Field

__all__ = ["World", "as_set", "holding_moved", "offset_moved", "part_moved", "tool_hung"]

Triple = tuple[float, float, float]
_NONE: Mapping[int, Registers] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class World:
    """One state of machine and control.

    `kit`: what really stands there: blank, holding, tools in their stations (bodies in W). `truth`: where W really lies in M, true
    tool lengths and radii by station. `registers`: what the control holds; `own`: by station, the registers while that tool is in
    the spindle, for a setup whose zero is set anew with every tool, else empty. `sources`: bytes of the programs that run, by file
    name, in order. `skip_levels`: block-delete switches that are on. `left_shift` (mm) and `left_turn` (rad): a shift (as of G52,
    G92) and a rotation still in force in the control when the program starts. `metal`: the blank, where an earlier setup left it.
    """

    kit: Kit
    truth: Truth
    registers: Registers
    own: Mapping[int, Registers] = field(default_factory=lambda: _NONE)
    sources: Mapping[str, bytes] = field(default_factory=dict, repr=False)
    skip_levels: frozenset[int] = frozenset()
    left_shift: Triple = (0.0, 0.0, 0.0)
    left_turn: float = 0.0
    metal: Field | None = field(default=None, repr=False)

    @property
    def held(self) -> Held:
        """What the control holds and runs, with what was left in force in it worked in."""
        own = {station: self._with_left(registers) for station, registers in self.own.items()}
        return Held(self._with_left(self.registers), own, self.sources, self.skip_levels)

    def registers_of(self, station: int) -> Registers:
        """What the control holds while this tool is in the spindle."""
        return self.own.get(station, self.registers)

    def with_registers(self, change: Callable[[Registers], Registers]) -> World:
        """The world after a change of the registers, whichever tool is in the spindle."""
        own = {station: change(registers) for station, registers in self.own.items()}
        return replace(self, registers=change(self.registers), own=own)

    def _with_left(self, registers: Registers) -> Registers:
        if self.left_turn == 0.0 and not any(self.left_shift):
            return registers
        x, y, z = (a + b for a, b in zip(registers.external, self.left_shift, strict=True))
        turned = {name: replace(at, rotation=at.rotation + self.left_turn) for name, at in registers.offsets.items()}
        return replace(registers, external=(x, y, z), offsets=turned)


def as_set(kit: Kit, truth: Truth, *, metal: Field | None = None) -> World:
    """The world without a slip: the control holds what fits the truth. `metal`: what an earlier setup left; if the setup's blank
    comes from one and none is given, that setup is proved first."""
    held = held_for(kit, truth)
    if metal is None and kit.blank is None:
        metal = blank_of(kit.folder, kit.setup)
    return World(kit, truth, held.registers, held.own, held.sources, metal=metal)


def offset_moved(world: World, name: str, by: Triple, *, turn: float = 0.0) -> World:
    """The work offset register `name` wrong by `by` (mm, machine axes) and `turn` (rad)."""

    def change(registers: Registers) -> Registers:
        at = registers.offsets.get(name, WorkOffset())
        moved = WorkOffset(at.x + by[0], at.y + by[1], at.z + by[2], at.rotation + turn)
        return replace(registers, offsets={**registers.offsets, name: moved})

    return world.with_registers(change)


def part_moved(world: World, by: Triple) -> World:
    """The part elsewhere in its holding by `by` (mm, along W): W goes with it, holding and table stay in the machine."""
    return _moved(world, by, lambda _: True)


def holding_moved(world: World, by: Triple) -> World:
    """The holding elsewhere on the table by `by` (mm, along W), with the part in it."""
    return _moved(world, by, lambda body: body.role is BodyRole.TABLE)


def _moved(world: World, by: Triple, stays: Callable[[Body], bool]) -> World:
    """W moved in the machine; bodies that stay in the machine go the other way in W."""
    placement, work_from_moved = world.kit.placement, shifted(*by)
    machine_from_work = world.truth.machine_from_work @ work_from_moved
    back = work_from_moved.inverse()
    bodies = tuple(body.moved(back) if stays(body) else body for body in placement.bodies)
    expected = placement.machine_from_work @ work_from_moved
    kit = replace(world.kit, placement=Placement(bodies, expected, placement.varies, placement.placed))
    return replace(world, kit=kit, truth=replace(world.truth, machine_from_work=machine_from_work))


def tool_hung(world: World, station: int, assembly: Assembly) -> World:
    """Another tool, or the same one hung otherwise, in a station; the registers stay as they are."""
    truth = replace(world.truth, lengths={**world.truth.lengths, station: assembly.length},
                    radii={**world.truth.radii, station: assembly.radius})  # fmt: skip
    return replace(world, truth=truth, kit=replace(world.kit, tools={**world.kit.tools, station: assembly}))
