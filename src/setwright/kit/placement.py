"""How the kit goes together: blank, vise or plate, parallels, stops and table as bodies in the setup's work frame W.

The blank is stated in W, and the holding by how it meets the blank; so W is where everything is put first. Where W itself
stands in the machine follows from where the holding stands on the table (a prior) until readings say better.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.units import format_apart, format_size
from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape, MeshShape
from setwright.geometry.frames import Transform, shifted
from setwright.geometry.meshes import read_mesh
from setwright.kit.clamping import clamps_and_stops
from setwright.model.holding import Against, BoxBody, CylinderBody, Holding, MeshBody, Plate, SetupHolding, Vise
from setwright.model.job import Setup
from setwright.model.machine import Machine

__all__ = ["Placement", "place_kit"]

_STOP = 12.0
Corner = NDArray[np.float64]
_SIDES = {"back": (1, 1), "front": (1, -1), "right": (0, 1), "left": (0, -1)}
"""Side of the blank → axis of its normal, and which way it looks."""


@dataclass(frozen=True, slots=True)
class Placement:
    """Bodies in W, and where W stands in M by the kit alone.

    `varies`: one standard deviation of that place along x and y, mm; `placed`: false when nothing was said about the place, so
    that machine positions (overtravel) cannot be judged.
    """

    bodies: tuple[Body, ...]
    machine_from_work: Transform
    varies: float
    placed: bool


def place_kit(
    setup: Setup, holding: Holding, machine: Machine, blank: tuple[Corner, Corner], meshes: Mapping[str, bytes], *,
    units: str = "mm"
) -> Placement:  # fmt: skip
    """Put the holding around the blank. `blank`: least and greatest corner of its box in W, mm; `units`: of what is refused.

    Raises InputRefused when the pieces do not go together (the blank wider than the vise opens, a face that does not exist).
    """
    stated = setup.holding
    if holding.vise is not None:
        bodies, origin, height = _vise(holding.vise, stated, blank, units)
    elif holding.plate is not None:
        bodies, origin, height = _plate(holding.plate, stated, blank)
    else:
        bodies, origin, height = [], np.array([0.0, 0.0]), stated.parallels
    bodies += _listed(holding.boxes, holding.cylinders, holding.meshes, meshes)
    bodies += clamps_and_stops(stated, blank, units)
    bodies += _listed(stated.boxes, stated.cylinders, stated.meshes, meshes)
    place = stated.place
    x, y = (place.x, place.y) if place else _table_middle(machine)
    # the holding's own reference point lies at `origin` in W and at (x, y) in M; the blank's underside `height` over the table
    machine_from_work = shifted(x - origin[0], y - origin[1], machine.table.z + height - blank[0][2])
    table = _table(machine).moved(machine_from_work.inverse())
    return Placement((*bodies, table), machine_from_work, place.varies if place else 0.0, place is not None)


def _table_middle(machine: Machine) -> tuple[float, float]:
    return sum(machine.table.x) / 2, sum(machine.table.y) / 2


def _table(machine: Machine) -> Body:
    top, (x0, x1), (y0, y1) = machine.table.z, machine.table.x, machine.table.y
    return Body("table", BodyRole.TABLE, BoxShape((x0, y0, top - machine.table.thickness), (x1, y1, top)))


def _box(name: str, low: Corner, high: Corner) -> Body:
    x0, y0, z0 = low.tolist()
    x1, y1, z1 = high.tolist()
    return Body(name, BodyRole.HOLDING, BoxShape((x0, y0, z0), (x1, y1, z1)))


def _side(against: Against, what: str) -> tuple[int, int]:
    if against.against not in _SIDES:
        raise InputRefused.because(f'{what} cannot sit against "{against.against}"', remedy="write one of back, front, left, right",
                                   key=f"holding.{what}.against")  # fmt: skip
    return _SIDES[against.against]


def _vise(vise: Vise, stated: SetupHolding, blank: tuple[Corner, Corner], units: str) -> tuple[list[Body], Corner, float]:
    """Bodies of a vise around the blank; the reference point (end of the fixed jaw's face, least coordinate along it) in W; the
    height of the blank's underside above the table."""
    low, high = blank
    axis, way = _side(stated.fixed_jaw or Against(against="back"), "fixed_jaw")
    along = 1 - axis
    width = high[axis] - low[axis]
    if width > vise.opening:
        opens, wide = format_apart((vise.opening, float(width)), units)
        raise InputRefused.because(f"the vise opens {opens} but the blank is {wide} wide between the jaws",
                                   remedy="turn the blank, or take another vise", key="holding.use")  # fmt: skip
    grip = vise.jaw_height - stated.parallels
    if grip <= 0:
        raise InputRefused.because(
            f"parallels {format_size(stated.parallels, units)} high stand above jaws {format_size(vise.jaw_height, units)} high",
            why="nothing would be gripped", remedy="take lower parallels", key="holding.parallels",
        )  # fmt: skip
    bed = low[2] - stated.parallels
    start = _jaw_start(vise, stated, low, high, along)
    frame = _JawFrame(axis, along, start, vise.jaw_width)
    fixed_face, moving_face = (high[axis], low[axis]) if way > 0 else (low[axis], high[axis])
    jaw_top = bed + vise.jaw_height
    fixed = frame.box("fixed jaw", fixed_face, fixed_face + way * vise.jaw_thickness, bed, jaw_top)
    moving = frame.box("moving jaw", moving_face, moving_face - way * vise.jaw_thickness, bed, jaw_top)
    body_end = fixed_face + way * vise.jaw_thickness
    body = frame.box("vise body", body_end, body_end - way * vise.body_length, bed - vise.bed_height, bed)
    bodies = [fixed, moving, body, *_parallels(frame, stated, fixed_face, moving_face, way, bed)]
    if stated.end_stop is not None:
        bodies.append(_stop(stated.end_stop, frame, low, high, bed, jaw_top))
    reference = np.zeros(2)
    reference[axis], reference[along] = fixed_face, start
    return bodies, reference, vise.bed_height + stated.parallels


@dataclass(frozen=True, slots=True)
class _JawFrame:
    """Boxes across the jaws: `axis` is the clamping direction, `along` the jaws' length."""

    axis: int
    along: int
    start: float
    length: float

    def box(self, name: str, a: float, b: float, bottom: float, top: float) -> Body:
        low, high = np.zeros(3), np.zeros(3)
        low[self.axis], high[self.axis] = min(a, b), max(a, b)
        low[self.along], high[self.along] = self.start, self.start + self.length
        low[2], high[2] = bottom, top
        return _box(name, low, high)


def _jaw_start(vise: Vise, stated: SetupHolding, low: Corner, high: Corner, along: int) -> float:
    """Coordinate of the jaw's beginning along its length: from the stop's place, else the blank sits in the middle of the jaw."""
    stop = stated.end_stop
    if stop is not None and stop.at is not None:
        axis, way = _side(stop, "end_stop")
        if axis != along:
            raise InputRefused.because(f'the end stop cannot sit against "{stop.against}"', why="that face is between the jaws",
                                       remedy="name the face at the jaw's end", key="holding.end_stop.against")  # fmt: skip
        face = low[along] if way < 0 else high[along]
        return float(face - stop.at)
    return float((low[along] + high[along] - vise.jaw_width) / 2)


def _parallels(frame: _JawFrame, stated: SetupHolding, fixed: float, moving: float, way: int, bed: float) -> list[Body]:
    if stated.parallels <= 0:
        return []
    top = bed + stated.parallels
    thickness = min(stated.parallel_thickness, abs(fixed - moving) / 4)
    return [
        frame.box("parallel at fixed jaw", fixed, fixed - way * thickness, bed, top),
        frame.box("parallel at moving jaw", moving, moving + way * thickness, bed, top),
    ]


def _stop(stop: Against, frame: _JawFrame, low: Corner, high: Corner, bed: float, jaw_top: float) -> Body:
    """A stop against the blank's end, in the middle of the clamped width, from the bed to half a grip below the jaws."""
    _, way = _side(stop, "end_stop")
    face = low[frame.along] if way < 0 else high[frame.along]
    middle = (low[frame.axis] + high[frame.axis]) / 2
    a, b = np.zeros(3), np.zeros(3)
    a[frame.along], b[frame.along] = sorted((face, face + way * _STOP))
    a[frame.axis], b[frame.axis] = middle - _STOP / 2, middle + _STOP / 2
    a[2], b[2] = bed, (low[2] + jaw_top) / 2
    return _box("end stop", a, b)


def _plate(plate: Plate, stated: SetupHolding, blank: tuple[Corner, Corner]) -> tuple[list[Body], Corner, float]:
    low, high = blank
    size = np.array(plate.size)
    corner = np.array(stated.corner) if stated.corner is not None else (low[:2] + high[:2] - size) / 2
    top = low[2] - stated.parallels
    body = _box("fixture plate", np.array([*corner, top - plate.thickness]), np.array([*(corner + size), top]))
    return [body], corner, plate.thickness + stated.parallels


def _listed(
    boxes: tuple[BoxBody, ...], cylinders: tuple[CylinderBody, ...], meshes: tuple[MeshBody, ...], files: Mapping[str, bytes]
) -> list[Body]:
    """Bodies written one by one, in W."""
    found = [_box(box.name, np.array(box.corner), np.array(box.corner) + box.size) for box in boxes]
    for cylinder in cylinders:
        x, y, z = cylinder.centre
        shape = CylinderShape((x, y), cylinder.diameter / 2, z, z + cylinder.height)
        found.append(Body(cylinder.name, BodyRole.HOLDING, shape))
    for mesh in meshes:
        triangles = read_mesh(files[mesh.mesh], name=mesh.mesh, millimetres=25.4 if mesh.units == "in" else 1.0)
        found.append(Body(mesh.name, BodyRole.HOLDING, MeshShape(triangles + np.array(mesh.shift))))
    return found


