"""What a person sees in a check: pure functions of the world as it is, of the world as the sheet says, and of what is looked at.

Numbers are mm, words are compared as they are; None: there is nothing of the kind in this setup. The tip follows from the
control's registers and from where the part and the tool really are:

    gauge point in M = Rz(rotation)·p + offset + external offset + length register,   tip in M = gauge point − true length,
    tip in W         = (machine from work)⁻¹ · tip in M.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.units import written
from setwright.geometry.bodies import Body, BodyRole, MeshShape
from setwright.geometry.frames import turned_about_z
from setwright.hover.check_display import display_at
from setwright.hover.holdpoints import HoldPoint
from setwright.kit.registers import length_register, radius_register, radius_registers_named
from setwright.model.job import SetupTool, joined
from setwright.program.registers import Registers, WorkOffset
from setwright.slips.world import World
from setwright.touch.conditions import Conditions
from setwright.touch.features import HOLDING_FACES, Feature, Flat, features_of

__all__ = ["SIGHTS", "Looked", "Seen", "Sheet", "View", "spread_of", "tip_in_work"]

Array = NDArray[np.float64]
Seen = float | str | None
_BLOCKS: Final = {"mm": 25.0, "in": 25.4}
# length of the gauge block that a shop of each unit has at hand, mm; so high the tip is brought
_SQRT3 = math.sqrt(3.0)
_LOOSE = 0.02
_HEAD_LINES = 12
_FAR = 1.0
_COMMENT = re.compile(r"\([^)\n]*(?:\)|$)|;.*$|^\s*O\d+|^\s*:\d+")


@dataclass(frozen=True, slots=True)
class Looked:
    """What a check looks at: the tool in the spindle or in the hand, the work offset, the hold point of that tool, and the
    registers as the sheet prints them (None: those that fit)."""

    station: int
    offset: str
    hold: HoldPoint | None = None
    printed: Registers | None = None


@dataclass(frozen=True)
class Sheet:
    """The world as it should be, with the places of the part that are looked at again and again."""

    world: World

    @cached_property
    def datum(self) -> Array:
        """The point of the part whose X and Y the datum names, in W; Z is the datum's."""
        setup, features = self.world.kit.setup, self._features
        x, y = (_along(features, name, axis) for axis, name in enumerate((setup.datum.x, setup.datum.y)))
        return np.array([x, y, setup.datum.z.is_])

    @cached_property
    def radii(self) -> frozenset[int]:
        """Radius registers that the programs compensate with."""
        return radius_registers_named(self.world.sources)

    @property
    def block(self) -> float:
        """Length of the gauge block, mm."""
        return _BLOCKS[self.world.kit.folder.job.units]

    @cached_property
    def on_holding(self) -> tuple[bool, bool, bool]:
        """Whether X, Y, Z are taken from a face of the holding: one that lies outside every blank."""
        datum = self.world.kit.setup.datum
        x, y, z = (self._is_holding(name) for name in (datum.x, datum.y, datum.z.face))
        return x, y, z

    @cached_property
    def _features(self) -> Mapping[str, Feature]:
        return features_of(self.world.kit.folder.job, self.world.kit.setup, Conditions())

    def _is_holding(self, name: str) -> bool:
        face = self._features.get(joined(name)[0])
        if name in HOLDING_FACES:
            return True
        if not isinstance(face, Flat):
            return False
        low, high = self.world.kit.extent
        middle = np.array(face.middle) - np.array(self.world.kit.copies)
        return not bool(((middle >= low - _LOOSE) & (middle <= high + _LOOSE)).all(axis=1).any())

    def see(self, what: str, world: World, looked: Looked) -> Seen:
        """What is seen of `what` in `world`; None where this setup has nothing of the kind."""
        return SIGHTS[what](View(world, self, looked))


@dataclass(frozen=True, slots=True)
class View:
    """`world` as it is, the sheet, and what is looked at."""

    world: World
    places: Sheet
    looked: Looked

    @property
    def sheet(self) -> World:
        """The world as it should be."""
        return self.places.world

    @property
    def copy(self) -> Array:
        """Where the part of this work offset lies from the first one, mm in W."""
        return np.array(self.sheet.kit.setup.shifts.get(self.looked.offset, (0.0, 0.0, 0.0)))

    def tip(self, point: Array) -> Array:
        """The tip over the part of this work offset when the control shows `point`, mm in W from that part's own zero."""
        return tip_in_work(self.world, point, station=self.looked.station, offset=self.looked.offset) - self.copy

    def display(self, point_in_work: Array) -> Array:
        """What the control shows in the work offset when the spindle's axis stands over a point of its part (X and Y)."""
        registers = _held(self.world, self.looked.station)
        at = registers.offsets.get(self.looked.offset, WorkOffset())
        machine = self.world.truth.machine_from_work.points(point_in_work + self.copy)
        return turned_about_z(-at.rotation).points(machine - np.array([at.x, at.y, at.z]) - np.array(registers.external))


def tip_in_work(world: World, point: Array, *, station: int, offset: str) -> Array:
    """Where the tip stands over the part (mm, W) when the control shows `point` in the work offset with the tool's length
    applied."""
    registers = _held(world, station)
    at = registers.offsets.get(offset, WorkOffset())
    gauge = turned_about_z(at.rotation).points(point) + np.array([at.x, at.y, at.z]) + np.array(registers.external)
    gauge[2] += _length_applied(world, registers, station) - world.truth.lengths.get(station, 0.0)
    return world.truth.machine_from_work.inverse().points(gauge)


def _length_applied(world: World, registers: Registers, station: int) -> float:
    if world.kit.setup.lengths != "registers":
        return 0.0  # the zero is set with each tool's own tip
    tool = _stated(world, station)
    return registers.lengths.get(length_register(tool), 0.0) if tool else 0.0


def _held(world: World, station: int) -> Registers:
    held = world.held
    return held.own.get(station, held.registers)


def _stated(world: World, station: int) -> SetupTool | None:
    return next((tool for tool in world.kit.setup.tool if tool.station == station), None)


# --- places of the part and of the holding -----------------------------------------------------------------------------------


def _above(sheet: Sheet) -> Array:
    return np.asarray(sheet.datum + np.array([0.0, 0.0, sheet.block]))


def _along(features: Mapping[str, Feature], name: str, axis: int) -> float:
    """The coordinate a datum names: a face's, a bore's centre, the middle between two."""
    places = [f.at if isinstance(f, Flat) and f.axis == axis else f.middle[axis] if isinstance(f, Flat) else f.centre[axis]
              for part in joined(name) if (f := features.get(part)) is not None]  # fmt: skip
    return sum(places) / len(places) if places else 0.0


def _moved(world: World, sheet: World, axis: int) -> float:
    """How far the holding stands elsewhere in W than it should, along an axis."""
    mine, theirs = _holding(world), _holding(sheet)
    if mine is None or theirs is None:
        return 0.0
    return float(mine.bounds()[0][axis] - theirs.bounds()[0][axis])


def _holding(world: World) -> Body | None:
    """The piece of the holding that everything is measured from: fixed jaw, plate, else the first."""
    held = {body.name: body for body in world.kit.placement.bodies if body.role is BodyRole.HOLDING}
    return held.get("fixed jaw") or held.get("fixture plate") or next(iter(held.values()), None)


def _datum_now(view: View, axis: int) -> float:
    """Where the datum's face or bore really is along an axis of W."""
    at = float(view.places.datum[axis])
    if view.places.on_holding[axis]:
        return at + _moved(view.world, view.sheet, axis)
    if axis == 2 and view.sheet.kit.setup.datum.z.face == "top":
        return at + _top(view.world) - _top(view.sheet)
    return at


def _top(world: World) -> float:
    return float(world.kit.extent[1][2])


# --- the tip over the part ---------------------------------------------------------------------------------------------------


def _over_datum(axis: int) -> Callable[[View], Seen]:
    def seen(view: View) -> Seen:
        point = _above(view.places)
        tip = view.tip(point)
        return float(tip[axis]) - _datum_now(view, axis)

    return seen


def _over_corner(axis: int) -> Callable[[View], Seen]:
    def seen(view: View) -> Seen:
        if not _cornered(view.sheet):
            return None
        point, side = _corner(view.places)
        tip = view.tip(point)
        return float(tip[axis] - view.world.kit.extent[side[axis]][axis])

    return seen


def _cornered(world: World) -> bool:
    return world.kit.setup.blank.cylinder is None


def _corner(sheet: Sheet) -> tuple[Array, tuple[int, int]]:
    """The corner of the blank farthest from the datum, above its top, and on which side it lies along X and Y."""
    ends, datum = np.array(sheet.world.kit.extent), sheet.datum
    side = tuple(int(abs(ends[1][axis] - datum[axis]) >= abs(ends[0][axis] - datum[axis])) for axis in (0, 1))
    return np.array([ends[side[0]][0], ends[side[1]][1], ends[1][2] + sheet.block]), (side[0], side[1])


def _over_top(view: View) -> Seen:
    low, high = view.sheet.kit.extent
    point = np.array([(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, high[2] + view.places.block])
    return float(view.tip(point)[2]) - _top(view.world)


def _over_height_face(view: View) -> Seen:
    """Only where the height is taken from the holding; the blank's top is another sight."""
    if not view.places.on_holding[2]:
        return None
    point = _above(view.places)
    return float(view.tip(point)[2]) - _datum_now(view, 2)


def _datum_again(axis: int) -> Callable[[View], Seen]:
    def seen(view: View) -> Seen:
        return float(view.display(np.array([_datum_now(view, a) for a in range(3)]))[axis])

    return seen


def _opposite(axis: int) -> Callable[[View], Seen]:
    def seen(view: View) -> Seen:
        side = _free_side(view.sheet, axis)
        if side is None:
            return None
        point = np.array([view.places.datum[0], view.places.datum[1], _top(view.sheet)])
        point[axis] = view.world.kit.extent[side][axis]
        return float(view.display(point)[axis])

    return seen


def _free_side(sheet: World, axis: int) -> int | None:
    """The side of the blank (0 low, 1 high) that neither datum, jaw nor stop takes; None for a round blank."""
    setup = sheet.kit.setup
    if not _cornered(sheet):
        return None
    names = (("left", "right"), ("front", "back"))[axis]
    against = [found.against for found in (setup.holding.fixed_jaw, setup.holding.end_stop) if found is not None]
    taken = [*joined((setup.datum.x, setup.datum.y)[axis]), *against]
    return next((side for side in (1, 0) if names[side] not in taken), None)


def _turn(view: View) -> Seen:
    """How far an indicator moves when it is run along the part's longer side, mm."""
    low, high = view.sheet.kit.extent
    along = float(max(high[0] - low[0], high[1] - low[1]))
    turn = view.world.truth.machine_from_work.rotation
    return math.atan2(float(turn[1, 0]), float(turn[0, 0])) * along


def _at_hold(axis: int) -> Callable[[View], Seen]:
    def seen(view: View) -> Seen:
        hold = view.looked.hold
        if hold is None or hold.offset not in _held(view.sheet, view.looked.station).offsets:
            return None
        now, right = (_tip_at(each, hold)[axis] for each in (view.world, view.sheet))
        if axis < 2:
            return float(now - right)
        surface = _top(view.world) - _top(view.sheet) if hold.made_by is None else _cut_lower(view.world, view.sheet, hold)
        return float(hold.height + now - right - surface)

    return seen


def _tip_at(world: World, hold: HoldPoint) -> Array:
    return tip_in_work(world, np.array(hold.at), station=hold.station, offset=hold.offset)


def _cut_lower(world: World, sheet: World, hold: HoldPoint) -> float:
    """How much higher the face below the tip lies because the tool that cut it stood higher."""
    maker = hold.made_by if hold.made_by is not None else hold.station
    now, right = (tip_in_work(each, np.array(hold.at), station=maker, offset=hold.offset)[2] for each in (world, sheet))
    return float(now - right)


# --- by rule, caliper and micrometer -----------------------------------------------------------------------------------------


def _stickout(view: View) -> Seen:
    hung = view.world.kit.tools.get(view.looked.station)
    return hung.stickout if hung else None


def _length(view: View) -> Seen:
    return view.world.truth.lengths.get(view.looked.station)


def _diameter(view: View) -> Seen:
    hung = view.world.kit.tools.get(view.looked.station)
    return 2.0 * hung.radius if hung else None


def _size(axis: int) -> Callable[[View], Seen]:
    return lambda view: float(view.world.kit.extent[1][axis] - view.world.kit.extent[0][axis])


def _top_over(view: View) -> Seen:
    body = _holding(view.world)
    return None if body is None else _top(view.world) - float(body.bounds()[1][2])


def _end_over(axis: int) -> Callable[[View], Seen]:
    """How far the blank's end lies from the end of jaw or plate: along the jaws only, where there are jaws."""

    def seen(view: View) -> Seen:
        body, setup = _holding(view.world), view.sheet.kit.setup
        jaw = setup.holding.fixed_jaw
        if body is None or not _cornered(view.sheet):
            return None
        if body.name == "fixed jaw" and (1 if jaw is None or jaw.against in ("back", "front") else 0) == axis:
            return None
        return float(view.world.kit.extent[0][axis] - body.bounds()[0][axis])

    return seen


# --- seen or not seen --------------------------------------------------------------------------------------------------------


def _offset_text(view: View) -> Seen:
    printed = _against_print(view)
    at = printed.offsets.get(view.looked.offset)
    if at is None:
        return None
    step = view.world.kit.machine.control.increment
    x, y, z = (written(value, step) for value in (at.x, at.y, at.z))
    turn = f" turn {math.degrees(at.rotation):.4f}" if at.rotation else ""
    return f"X {x} Y {y} Z {z}{turn}"


def _against_print(view: View) -> Registers:
    """The registers to read: those of the sheet are the printed ones, which a wrong reading has spoilt as well."""
    if view.world is view.sheet and view.looked.printed is not None:
        return view.looked.printed
    return view.world.registers_of(view.looked.station)


def _length_text(view: View) -> Seen:
    tool = _stated(view.world, view.looked.station)
    value = None if tool is None else _against_print(view).lengths.get(length_register(tool))
    return None if value is None else written(value, view.world.kit.machine.control.increment)


def _radius_text(view: View) -> Seen:
    """Only where it is typed: the program compensates with it, or the shop measures it."""
    tool = _stated(view.world, view.looked.station)
    if tool is None or (tool.preset.radius is None and radius_register(tool) not in view.places.radii):
        return None
    value = _against_print(view).radii.get(radius_register(tool))
    double = 2.0 if view.world.kit.machine.control.radius_register == "diameter" else 1.0
    return None if value is None else written(double * value, view.world.kit.machine.control.increment)


def _in_station(view: View) -> Seen:
    hung = view.world.kit.tools.get(view.looked.station)
    return hung.tool.name if hung else "nothing"


def _parallels(view: View) -> Seen:
    below = [body for body in view.world.kit.placement.bodies if body.name.startswith("parallel")]
    if not below:
        return None
    gap = float(view.world.kit.extent[0][2]) - max(float(body.bounds()[1][2]) for body in below)
    return "tight" if abs(gap) <= _LOOSE else "can be moved"


def _lies(view: View) -> Seen:
    """Whether the blank lies as drawn: a shape of the same size can lie the other way round."""
    mine, theirs = view.world.kit.blank, view.sheet.kit.blank
    if mine is None or theirs is None:
        return "as drawn" if view.world.metal is view.sheet.metal else "another way"
    if isinstance(mine.shape, MeshShape) and isinstance(theirs.shape, MeshShape):
        return "as drawn" if mine is theirs or _same_mesh(mine.shape, theirs.shape) else "another way"
    turned = np.abs(np.subtract(*reversed(mine.bounds())) - np.subtract(*reversed(theirs.bounds()))) > _FAR
    return "another way" if turned.sum() > 1 else "as drawn"


def _same_mesh(mine: MeshShape, theirs: MeshShape) -> bool:
    """The same points to a millimetre, wherever the whole lies."""
    if mine.triangles.shape != theirs.triangles.shape:
        return False
    a, b = (np.unique(np.round(points - points.min(axis=0)), axis=0) for shape in (mine, theirs)
            for points in [shape.triangles.reshape(-1, 3)])  # fmt: skip
    return a.shape == b.shape and bool((a == b).all())


def _head(view: View) -> Seen:
    """Names of the programs and what stands in their first comments."""
    said = []
    for name, data in view.world.sources.items():
        lines = data[:4000].decode("utf-8", errors="replace").splitlines()[:_HEAD_LINES]
        said.append(" ".join([name, *(found for line in lines for found in _COMMENT.findall(line))]))
    return " | ".join(said)


def _whole(view: View) -> Seen:
    return " ".join(hashlib.sha256(data).hexdigest()[:12] for data in view.world.sources.values())


def _switch(view: View) -> Seen:
    """Nothing to look at where no block of the program can be skipped."""
    if not any(re.search(rb"(?m)^\s*/", data) for data in view.sheet.sources.values()):
        return None
    return "off" if not view.world.skip_levels else "on: " + " ".join(f"/{level}" for level in sorted(view.world.skip_levels))


def _shifts(view: View) -> Seen:
    step = view.world.kit.machine.control.increment
    values = [*view.world.left_shift, math.degrees(view.world.left_turn), *view.world.registers.external]
    return " ".join([*(written(value, step) for value in values), *([view.world.left_modes] if view.world.left_modes else [])])


def _shown(view: View) -> Seen:
    return None if view.looked.hold is None else display_at(view.world, view.sheet, view.looked.hold)


SIGHTS: Final[Mapping[str, Callable[[View], Seen]]] = {
    "tip over datum, x": _over_datum(0), "tip over datum, y": _over_datum(1),
    "tip over far corner, x": _over_corner(0), "tip over far corner, y": _over_corner(1),
    "tip over top, z": _over_top, "tip over height face, z": _over_height_face,
    "datum touched again, x": _datum_again(0), "datum touched again, y": _datum_again(1),
    "opposite face, x": _opposite(0), "opposite face, y": _opposite(1), "turn of the part": _turn,
    "tip at hold point, x": _at_hold(0), "tip at hold point, y": _at_hold(1), "tip at hold point, z": _at_hold(2),
    "stick-out": _stickout, "tool length": _length, "tool diameter": _diameter,
    "blank size, x": _size(0), "blank size, y": _size(1), "blank size, z": _size(2),
    "top over holding, z": _top_over, "end over holding, x": _end_over(0), "end over holding, y": _end_over(1),
    "offset register": _offset_text, "length register": _length_text, "radius register": _radius_text,
    "tool in station": _in_station, "parallels": _parallels, "how the blank lies": _lies, "program head": _head,
    "program whole": _whole, "block-delete switch": _switch, "shifts in force": _shifts, "display at hold point": _shown,
}  # fmt: skip
"""Every sight by the name a check gives it."""


def spread_of(what: str, sheet: World) -> float:
    """How much a number differs from the sheet in a good setup, beside what the eye or the gauge adds: one standard deviation, mm.

    What the sheet itself does not know (offset, lengths), and what the blank's maker leaves (anything within ± alike).
    """
    truth = sheet.truth
    varies = sheet.kit.setup.blank.varies
    datum = sheet.kit.setup.datum
    loose = {0: varies[0] / _SQRT3, 1: varies[1] / _SQRT3, 2: 0.0 if datum.z.face == "top" else varies[2] / _SQRT3}
    axis = "xyz".find(what[-1]) if ", " in what else -1
    place = truth.u_place[axis] if truth.source == "touch" and axis >= 0 else 0.0
    length = truth.u_length if axis == 2 and truth.source == "touch" else 0.0
    if what.startswith(("tip over far corner", "opposite face", "end over", "top over", "blank size", "tip over top")):
        place = math.hypot(place, varies[2] / _SQRT3 if what in ("blank size, z", "top over holding, z") else loose[axis])
    if what.startswith(("tip", "datum", "opposite")):
        return math.hypot(place, length)
    return place if axis >= 0 else truth.u_length if what == "tool length" else 0.0
