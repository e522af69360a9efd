"""The setup as it should be, as the slips see it: its registers as they are typed, its datum, its instruments, its last job."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

from setwright.base.units import written
from setwright.kit.instrument import effective_radius, find_instrument, known_instruments
from setwright.kit.registers import length_register, radius_register
from setwright.kit.station import Kit
from setwright.model.instrument import Instrument
from setwright.model.job import BOX_FACES, Bore, SetupTool
from setwright.program.interpret import Interpreted
from setwright.program.registers import WorkOffset
from setwright.slips.world import Triple, World, offset_moved

__all__ = ["DatumFace", "SlipCase", "Typed"]

_INCH: Final = 25.4
_COMMENT = re.compile(r"\([^)\n]*(?:\)|$)|;.*$", re.MULTILINE)
_ANY_FINDER: Final = 10.0


@dataclass(frozen=True, slots=True)
class Typed:
    """A number that a person types: `name` as it is said ("G54 X", "length 2"), `kind`, `key` ("G54" or the register's number),
    `axis` 0 to 2 for an offset. `value` mm, what it should be; `station` of the tool a tool register belongs to."""

    name: str
    kind: Literal["offset", "length", "radius"]
    key: str
    axis: int
    value: float
    step: float
    units: str
    station: int | None = None

    def text(self, value: float | None = None) -> str:
        """A value as it is typed; its own by default."""
        return written(self.value if value is None else value, self.step, self.units)

    def holding(self, value: float) -> Callable[[World], World]:
        """The world in which this register holds another value (mm)."""
        off = value - self.value

        def change(world: World) -> World:
            if self.kind == "offset":
                x, y, z = (off if axis == self.axis else 0.0 for axis in range(3))
                return offset_moved(world, self.key, (x, y, z))
            return world.with_length(int(self.key), off) if self.kind == "length" else world.with_radius(int(self.key), off)

        return change

    def off(self, held: float) -> float:
        """How far a value is from the right one, mm."""
        return abs(held - self.value)

    def again(self) -> str:
        """What to type."""
        return f"type {self.name} = {self.text()}, then read it back"

    @property
    def unit(self) -> str:
        """The unit it is typed in."""
        return "in" if self.units in ("in", "inch") else "mm"

    def per_unit(self) -> float:
        """mm in the unit it is typed in."""
        return _INCH if self.unit == "in" else 1.0


@dataclass(frozen=True, slots=True)
class DatumFace:
    """What one axis of the zero is found from: "flat" with the side of the part it is on (+1, -1), or "round" with its diameter and
    whether it is a hole."""

    axis: int
    name: str
    kind: Literal["flat", "round"]
    side: int = 0
    diameter: float = 0.0
    hole: bool = True


@dataclass(frozen=True)
class SlipCase:
    """One setup as it should be, `world`, and what the control makes of its programs, `interpreted`."""

    world: World
    interpreted: Interpreted

    @property
    def kit(self) -> Kit:
        """What stands there."""
        return self.world.kit

    @cached_property
    def units(self) -> str:
        """The unit in which numbers are typed: that of the job."""
        return self.kit.folder.job.units

    def length(self, value: float) -> str:
        """A length as it is said in this shop: "0.500 mm", "0.0200 in"."""
        units = self.kit.folder.units
        return f"{written(value, self.kit.machine.control.increment, units)} {units}"

    @cached_property
    def text(self) -> str:
        """All programs in upper case, without comments and blanks."""
        joined = "\n".join(data.decode("latin-1") for data in self.world.sources.values())
        return re.sub(r"[ \t]", "", _COMMENT.sub("", joined)).upper()

    @cached_property
    def first_move(self) -> str:
        """The programs' text, as in `text`, up to the first axis word: what they say before anything moves."""
        move = re.search(r"(?m)^[^\n]*?(?<![A-Z#\[])[XYZ][-+.\d#\[][^\n]*$", self.text)
        return self.text if move is None else self.text[: move.end()]

    @cached_property
    def used(self) -> tuple[SetupTool, ...]:
        """The tools the programs use, in their order."""
        calls = [use.number for use in self.interpreted.tools]
        hung = {tool.station: tool for tool in self.kit.setup.tool}
        return tuple(hung[number] for number in dict.fromkeys(calls) if number in hung)

    @cached_property
    def offsets(self) -> tuple[Typed, ...]:
        """The work offsets' numbers that are typed; Z only where the convention has it."""
        found = []
        step = self.kit.machine.control.increment
        names = [name for name in (self.kit.setup.offset, *self.kit.setup.shifts) if name in self.interpreted.registers]
        for name in names or [self.kit.setup.offset]:
            at = self.world.registers.offsets.get(name, WorkOffset())
            for axis, value in enumerate((at.x, at.y, at.z)):
                if axis < 2 or self.kit.machine.control.lengths != "tip on datum" or value != 0.0:
                    found.append(Typed(f"{name} {'XYZ'[axis]}", "offset", name, axis, value, step, self.units))
        return tuple(found)

    @cached_property
    def main_offset(self) -> tuple[Typed, ...]:
        """The numbers of the setup's own offset."""
        return tuple(typed for typed in self.offsets if typed.key == self.kit.setup.offset)

    @cached_property
    def lengths(self) -> tuple[Typed, ...]:
        """The length registers that the program uses and a person fills."""
        if self.kit.setup.lengths != "registers":
            return ()
        applied = {number for use in self.interpreted.tools for number in use.length_registers}
        numbered = ((tool, length_register(tool)) for tool in self.used)
        return tuple(self._tool_register("length", tool, number) for tool, number in numbered if number in applied)

    @cached_property
    def radii(self) -> tuple[Typed, ...]:
        """The radius registers that the program uses."""
        applied = {number for use in self.interpreted.tools for number in use.radius_registers}
        numbered = ((tool, radius_register(tool)) for tool in self.used)
        return tuple(self._tool_register("radius", tool, number) for tool, number in numbered if number in applied)

    def _tool_register(self, kind: Literal["length", "radius"], tool: SetupTool, number: int) -> Typed:
        registers = self.world.registers_of(tool.station)
        value = (registers.lengths if kind == "length" else registers.radii).get(number, 0.0)
        return Typed(f"{kind} {number}", kind, str(number), -1, value, self.kit.machine.control.increment, self.units, tool.station)

    @cached_property
    def datum(self) -> tuple[DatumFace, ...]:
        """What X and Y of the zero are found from, where the job says it of a face."""
        found = []
        for axis, name in enumerate((self.kit.setup.datum.x, self.kit.setup.datum.y)):
            face = self._datum_face(axis, name)
            if face is not None:
                found.append(face)
        return tuple(found)

    def _datum_face(self, axis: int, name: str) -> DatumFace | None:
        stated = next((face for face in self.kit.setup.face if face.name == name), None)
        if stated is not None and stated.flat is None:
            round_ = stated.bore or stated.boss
            if isinstance(round_, Bore):
                return DatumFace(axis, name, "round", diameter=round_.diameter, hole=stated.bore is not None)
            return None
        if stated is not None and stated.flat is not None:
            facing = stated.flat.facing
            return DatumFace(axis, name, "flat", 1 if facing[0] == "+" else -1) if "XYZ".index(facing[1]) == axis else None
        bare = name.removesuffix(" face")
        if bare in BOX_FACES and BOX_FACES.index(bare) // 2 == axis:
            return DatumFace(axis, name, "flat", 1 if BOX_FACES.index(bare) % 2 else -1)
        return None

    @cached_property
    def instruments(self) -> tuple[Instrument, ...]:
        """What this setup was touched with, else what the shop has."""
        shop = self.kit.folder.job.shop.instruments
        names = [c.with_ for c in self.kit.folder.job.readings.contact if c.setup == self.kit.setup.name]
        return tuple(find_instrument(shop, name) for name in dict.fromkeys(names)) or tuple(shop.values())

    @cached_property
    def finder(self) -> tuple[float, float]:
        """Effective radius and diameter of the finder's tip, mm; of an ordinary one where the job names none."""
        for instrument in self.instruments:
            if instrument.tip_diameter > 0.0 and effective_radius(instrument) > 0.0:
                return effective_radius(instrument), instrument.tip_diameter
        return _ANY_FINDER / 2, _ANY_FINDER

    @cached_property
    def other_finders(self) -> Mapping[str, float]:
        """Effective radius by name, mm, of the shop's finders with another one than the finder in use; without any, of the bundled
        finder of its kind that comes nearest."""
        mine = self.finder[0]
        kinds = {instrument.kind for instrument in self.instruments if effective_radius(instrument) == mine}
        shop = self.kit.folder.job.shop.instruments

        def others(known: Mapping[str, Instrument]) -> dict[str, float]:
            return {name: effective_radius(one) for name, one in known.items() if one.kind in kinds
                    and effective_radius(one) not in (0.0, mine)}  # fmt: skip

        found = others(shop) or others(known_instruments())
        nearest = sorted(found, key=lambda name: (abs(found[name] - mine), name))
        return {name: found[name] for name in nearest[:1]}

    @cached_property
    def heights(self) -> Mapping[str, float]:
        """Height under the tip by the name of what stands there, mm: of those that tools are brought down on the part with."""
        return {instrument.name: instrument.height for instrument in self.instruments if instrument.height > 0.0}

    @cached_property
    def handwheel_step(self) -> float:
        """The last step of the handwheel at this setup's contacts, mm; the usual one where none is noted."""
        steps = [c.last_step for c in self.kit.folder.job.readings.contact if c.setup == self.kit.setup.name and c.last_step > 0.0]
        usual = 0.0127 if self.units == "in" else 0.01
        return max(steps, default=usual)

    @cached_property
    def last_job(self) -> WorkOffset:
        """What the offset register held before: the zero of the job's other setup, else of a part in the middle of the table."""
        setups = self.kit.folder.job.setup
        machine, low = self.kit.machine, self.kit.extent[0]
        size = self.kit.extent[1] - low
        mine = self.world.truth.machine_from_work.shift
        if len(setups) > 1:
            place = self.kit.setup.holding.place
            others = [s for s in setups if s.name != self.kit.setup.name and s.machine == self.kit.setup.machine]
            for other in others:
                there = other.holding.place
                if place is not None and there is not None:
                    dz = other.holding.parallels - self.kit.setup.holding.parallels
                    lower = low[2] - other.blank.corner[2]
                    return WorkOffset(float(mine[0]) + there.x - place.x, float(mine[1]) + there.y - place.y,
                                      self.main_z + dz + float(lower))  # fmt: skip
        x, y = sum(machine.table.x) / 2, sum(machine.table.y) / 2
        return WorkOffset(x, y, self.main_z + float(size[2]))

    @cached_property
    def main_z(self) -> float:
        """What Z of the setup's offset should be, mm."""
        return self.world.registers.offsets.get(self.kit.setup.offset, WorkOffset()).z

    def offset_off(self, by: Triple) -> Callable[[World], World]:
        """The setup's own offset (with a pallet, every place of it) wrong by so much."""
        names = [self.kit.setup.offset, *self.kit.setup.shifts]

        def change(world: World) -> World:
            for name in names:
                world = offset_moved(world, name, by)
            return world

        return change

    def height_off(self, by: float) -> Callable[[World], World]:
        """Every tip `by` too high (mm): in Z of the offset, or in all length registers where Z of the offset is not typed."""
        if self.kit.machine.control.lengths != "tip on datum":
            return self.offset_off((0.0, 0.0, by))
        numbers = [int(typed.key) for typed in self.lengths]

        def change(world: World) -> World:
            for number in numbers:
                world = world.with_length(number, by)
            return world

        return change

    @property
    def height_register(self) -> str:
        """Where the height of the zero is held: "G54 Z", or "all lengths"."""
        return "all lengths" if self.kit.machine.control.lengths == "tip on datum" else f"{self.kit.setup.offset} Z"

    @cached_property
    def in_vise(self) -> bool:
        """Whether the part is held in a vise."""
        return self.kit.folder.job.shop.holding[self.kit.setup.holding.use].vise is not None

    @property
    def jaw_height(self) -> float:
        """Height of the jaws over the bed of the vise, mm; 0 without a vise."""
        vise = self.kit.folder.job.shop.holding[self.kit.setup.holding.use].vise
        return 0.0 if vise is None else vise.jaw_height

    def along(self, axis: int, by: float) -> Triple:
        """A shift along one axis."""
        x, y, z = (by if number == axis else 0.0 for number in range(3))
        return x, y, z
