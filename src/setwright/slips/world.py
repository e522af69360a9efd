"""What stands on the machine, and what the control holds: everything a slip can change.

A slip is a pure function from a World to a World; what a check would show is a pure function of a World. W is the frame of the part
as the drawing gives it, fixed to the metal that lies there: when the part is moved, W goes with it in the machine, and the holding
moves the other way in W.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape, MeshShape
from setwright.geometry.frames import Transform, shifted, turned_about_z
from setwright.geometry.profile import Assembly
from setwright.kit.placement import Placement
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.kit.station import kit as put_together
from setwright.model.holding import Holding
from setwright.model.job import Setup
from setwright.program.registers import Registers, WorkOffset
from setwright.prove.chain import blank_of
from setwright.prove.reading import Held, held_for
from setwright.removal.field import Field

__all__ = ["LEFT_IN_FORCE", "World", "as_set", "box_triangles", "holding_moved", "offset_moved", "part_moved", "part_turned",
           "set_up_as", "tool_hung"]  # fmt: skip

Triple = tuple[float, float, float]
LEFT_IN_FORCE: Final = "left-in-force.nc"
"""The name under which what is still in force runs before the first program."""
_NONE: Mapping[int, Registers] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class World:
    """One state of machine and control.

    `kit`: what really stands there: blank, holding, tools in their stations (bodies in W). `truth`: where W really lies in M, true
    tool lengths and radii by station. `registers`: what the control holds; `own`: by station, the registers while that tool is in
    the spindle, for a setup whose zero is set anew with every tool, else empty. `sources`: bytes of the programs that run, by file
    name, in order. `skip_levels`: block-delete switches that are on. `left_shift` (mm) and `left_turn` (rad): a shift (as of G52,
    G92) and a rotation still in force in the control when the program starts, `left_modes` a block whose modes are. `metal`: the
    blank, where an earlier setup left it.
    `lies`: how the blank lies other than the sheet says ("end for end"), in words; empty if it lies right.
    """

    kit: Kit
    truth: Truth
    registers: Registers
    own: Mapping[int, Registers] = field(default_factory=lambda: _NONE)
    sources: Mapping[str, bytes] = field(default_factory=dict, repr=False)
    skip_levels: frozenset[int] = frozenset()
    left_shift: Triple = (0.0, 0.0, 0.0)
    left_turn: float = 0.0
    left_modes: str = ""
    metal: Field | None = field(default=None, repr=False)
    lies: str = ""

    @property
    def held(self) -> Held:
        """What the control holds and runs, with what was left in force in it worked in."""
        own = {station: self._with_left(registers) for station, registers in self.own.items()}
        before = {LEFT_IN_FORCE: self.left_modes.encode()} if self.left_modes else {}
        return Held(self._with_left(self.registers), own, {**before, **self.sources}, self.skip_levels)

    @property
    def runs(self) -> tuple[Mapping[str, bytes], frozenset[int], str]:
        """What the control runs, whatever its registers hold: programs, skipped levels, what is left in force before them."""
        return self.sources, self.skip_levels, self.left_modes

    def registers_of(self, station: int) -> Registers:
        """What the control holds while this tool is in the spindle."""
        return self.own.get(station, self.registers)

    def with_registers(self, change: Callable[[Registers], Registers]) -> World:
        """The world after a change of the registers, whichever tool is in the spindle."""
        own = {station: change(registers) for station, registers in self.own.items()}
        return replace(self, registers=change(self.registers), own=own)

    def with_length(self, number: int, by: float) -> World:
        """The world with length register `number` greater by `by` (mm)."""
        return self.with_registers(lambda r: replace(r, lengths={**r.lengths, number: r.lengths.get(number, 0.0) + by}))

    def with_radius(self, number: int, by: float) -> World:
        """The world with radius register `number` greater by `by` (mm of radius)."""
        return self.with_registers(lambda r: replace(r, radii={**r.radii, number: r.radii.get(number, 0.0) + by}))

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


def part_turned(world: World, angle: float) -> World:
    """The part with its holding turned about the zero by `angle` (rad, counter-clockwise seen from above): a vise out of true."""
    turned_from_work = turned_about_z(angle).inverse()
    bodies = tuple(_turned(body, turned_from_work) if body.role is BodyRole.TABLE else body for body in world.kit.placement.bodies)
    placement = replace(world.kit.placement, bodies=bodies)
    machine_from_work = world.truth.machine_from_work @ turned_about_z(angle)
    return replace(world, kit=replace(world.kit, placement=placement),
                   truth=replace(world.truth, machine_from_work=machine_from_work))  # fmt: skip


def _turned(body: Body, turned_from_work: Transform) -> Body:
    """A body in a frame turned against W; a box becomes the mesh of its sides, an upright cylinder stays one."""
    shape = body.shape
    if isinstance(shape, CylinderShape):
        x, y, _ = turned_from_work.points(np.array([*shape.centre, 0.0])).tolist()
        return replace(body, shape=replace(shape, centre=(x, y)))
    triangles = box_triangles(shape.low, shape.high) if isinstance(shape, BoxShape) else shape.triangles
    return replace(body, shape=MeshShape(turned_from_work.points(triangles)))


def box_triangles(low: Sequence[float], high: Sequence[float]) -> NDArray[np.float64]:
    """The twelve triangles of a box, outward by the right-hand rule, float64 (12, 3, 3)."""
    a, b = np.array(low), np.array(high)
    found = []
    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        for side in (a, b):
            corners = np.tile(side, (4, 1))
            corners[:, u] = [a[u], b[u], b[u], a[u]]
            corners[:, v] = [a[v], a[v], b[v], b[v]]
            if side is a:
                corners = corners[::-1]
            found += [corners[[0, 1, 2]], corners[[0, 2, 3]]]
    return np.array(found)


def set_up_as(world: World, setup: Setup, *, holding: Holding | None = None) -> World:
    """The same things put together another way: what the setup's document would say of them had it been meant so.

    The control keeps what it holds. The zero goes with the part: where the document puts it elsewhere in the machine, the truth
    moves by as much. Raises InputRefused where the things do not go together so.
    """
    folder = world.kit.folder
    if holding is not None:
        shop = folder.job.shop.model_copy(update={"holding": {**folder.job.shop.holding, setup.holding.use: holding}})
        folder = replace(folder, job=folder.job.model_copy(update={"shop": shop}))
    extent = world.kit.extent if world.kit.blank is None else None
    kit = put_together(folder, setup, extent=extent)
    work_from_moved = world.kit.placement.machine_from_work.inverse() @ kit.placement.machine_from_work
    truth = replace(world.truth, machine_from_work=world.truth.machine_from_work @ work_from_moved)
    return replace(world, kit=replace(kit, tools=world.kit.tools), truth=truth)


def tool_hung(world: World, station: int, assembly: Assembly) -> World:
    """Another tool, or the same one hung otherwise, in a station; the registers stay as they are."""
    truth = replace(world.truth, lengths={**world.truth.lengths, station: assembly.length},
                    radii={**world.truth.radii, station: assembly.radius})  # fmt: skip
    return replace(world, truth=truth, kit=replace(world.kit, tools={**world.kit.tools, station: assembly}))
