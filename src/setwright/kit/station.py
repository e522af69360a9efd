"""Kit: one setup put together from what the shop has: machine, holding, blank, tools as they hang in the spindle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape, MeshShape
from setwright.geometry.frames import quarter_turns
from setwright.geometry.meshes import read_mesh
from setwright.geometry.profile import Assembly, assemble
from setwright.jobfolder.load import JobFolder
from setwright.kit.placement import Placement, place_kit
from setwright.model.job import BOX_FACES, Blank, Setup
from setwright.model.machine import Machine

__all__ = ["Kit", "blank_extent", "kit"]

Corner = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Kit:
    """One setup, put together.

    `blank`: the blank's solid in W, None when it is the simulated part of an earlier setup. `extent`: its least and greatest
    corner in W. `tools`: assemblies by station. `copies`: shifts (mm, in W) of the parts of a pallet, the first one zero.
    """

    folder: JobFolder
    setup: Setup
    machine: Machine
    placement: Placement
    blank: Body | None
    extent: tuple[Corner, Corner]
    tools: Mapping[int, Assembly]
    copies: tuple[tuple[float, float, float], ...]

    @property
    def sides_vary(self) -> NDArray[np.float64]:
        """How far the blank's sides may lie from where they are stated, as zero finds them: float64 (axis, least or greatest side),
        mm. A side that zero is taken from lies where it was touched, and all that the blank varies along that axis is at the other
        one; between two sides that zero is taken from in the middle each has half."""
        varies = np.repeat(np.array(self.setup.blank.varies)[:, None], 2, axis=1)
        for axis, names in self.setup.datum_names.items():
            sides = {side for name in names if (side := self.side_of(name, axis)) is not None}
            if len(sides) == 2:
                varies[axis] /= 2.0
            for side in sides if len(sides) == 1 else ():
                varies[axis, side] = 0.0
        return varies

    def side_of(self, name: str, axis: int) -> int | None:
        """Which of the blank's two sides across an axis a face lies on (0: the least): its own name, the jaw tops by which it lies,
        or a flat face that is there before the program; None for any other."""
        name = "bottom" if name == "jaw top" else name
        if name in BOX_FACES:
            along, side = divmod(BOX_FACES.index(name), 2)
            return side if along == axis else None
        flat = next((face.flat for face in self.setup.face if face.name == name and not face.made), None)
        if flat is None or flat.facing[1] != "XYZ"[axis]:
            return None
        side = int(flat.facing[0] == "+")
        return side if abs(flat.at[axis] - self.extent[side][axis]) <= SAME_PLACE_MM else None

    def holding_varies(self, body: Body) -> NDArray[np.float64]:
        """How far a body of the holding may stand off as zero finds it, either way, float64 (3,), mm: what the holding varies, and
        what the side of the blank varies that it sits against. What sits against none goes with whichever varies more; in height
        all but a clamp stands where the blank lies."""
        found, varies = np.array(self.setup.holding.varies), self.sides_vary
        for axis in range(3):
            side = self._sits_against(body, axis)
            found[axis] += varies[axis].max() if side is None else varies[axis, side]
        return np.asarray(found)

    def _sits_against(self, body: Body, axis: int) -> int | None:
        if axis == 2:
            clamp = any(body.name in (one.name, *(f"{one.name}, {part}" for part in ("heel", "bolt", "nut")))
                        for one in self.setup.holding.clamps)  # fmt: skip
            return None if clamp else 0
        holding = self.setup.holding
        jaw, stop = holding.fixed_jaw.against if holding.fixed_jaw else "back", holding.end_stop
        against = {"fixed jaw": jaw, "moving jaw": jaw, "end stop": stop.against if stop else ""}.get(body.name, "")
        if against not in BOX_FACES or BOX_FACES.index(against) // 2 != axis:
            return None
        return (BOX_FACES.index(against) % 2) ^ (body.name == "moving jaw")

    @property
    def texts(self) -> dict[str, bytes]:
        """What the setup runs of its programs, by file name: lines that belong to other setups are empty."""
        found = {name: self.folder.sources[name] for name in self.setup.programs}
        name = self.setup.programs[0]
        others = [other.lines for other in self.folder.job.setup if other.programs[0] == name and other.lines is not None]
        if self.setup.lines is not None:
            own = range(self.setup.lines[0], self.setup.lines[1] + 1)
            lines = found[name].splitlines(keepends=True)
            found[name] = b"".join(
                b"\n" if number not in own and any(first <= number <= last for first, last in others) else line
                for number, line in enumerate(lines, 1)
            )
        return found


def kit(folder: JobFolder, setup: Setup, *, extent: tuple[Corner, Corner] | None = None) -> Kit:
    """Put a setup together; raises InputRefused naming every part that does not go.

    `extent`: least and greatest corner in W of a blank that an earlier setup left, once that is known; without it the box that
    setup started from stands for it.
    """
    machine = folder.job.shop.machines[setup.machine]
    blank = _blank(setup.blank, folder)
    if blank is not None:
        extent = blank.bounds()
    elif extent is None:
        extent = blank_extent(folder, setup)
    holding = folder.job.shop.holding[setup.holding.use]
    placement = place_kit(setup, holding, machine, _with_copies(extent, setup), folder.meshes, units=folder.units)
    copies = ((0.0, 0.0, 0.0), *setup.shifts.values())
    return Kit(folder, setup, machine, placement, blank, extent, _tools(folder, setup, machine), copies)


def _with_copies(extent: tuple[Corner, Corner], setup: Setup) -> tuple[Corner, Corner]:
    shifts = np.array([(0.0, 0.0, 0.0), *setup.shifts.values()])
    return extent[0] + shifts.min(axis=0), extent[1] + shifts.max(axis=0)


def _blank(blank: Blank, folder: JobFolder) -> Body | None:
    """The blank as a solid in W; None when it comes from an earlier setup."""
    low = np.array(blank.corner)
    if blank.box is not None:
        return _named(BoxShape(blank.corner, _three(low + blank.box)))
    if blank.cylinder is not None:
        radius = blank.cylinder.diameter / 2
        return _named(CylinderShape((blank.corner[0] + radius, blank.corner[1] + radius), radius, blank.corner[2],
                                    blank.corner[2] + blank.cylinder.height))  # fmt: skip
    if blank.mesh is not None:
        triangles = read_mesh(folder.meshes[blank.mesh], name=blank.mesh, millimetres=25.4 if blank.mesh_units == "in" else 1.0)
        return _named(MeshShape(triangles + (low - triangles.reshape(-1, 3).min(axis=0))))
    return None


def _named(shape: BoxShape | CylinderShape | MeshShape) -> Body:
    return Body("blank", BodyRole.BLANK, shape)


def _three(values: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return x, y, z


def blank_extent(folder: JobFolder, setup: Setup) -> tuple[Corner, Corner]:
    """Least and greatest corner in W of the blank's box, followed back through the setups it comes from."""
    blank = setup.blank
    low = np.array(blank.corner)
    if blank.from_ is None:
        solid = _blank(blank, folder)
        if solid is None:
            raise AssertionError("a blank that comes from nowhere passed validation")
        return solid.bounds()
    before = blank_extent(folder, folder.job.setup_named(blank.from_))
    size = np.abs(quarter_turns(blank.turned) @ (before[1] - before[0]))
    return low, low + size


def _tools(folder: JobFolder, setup: Setup, machine: Machine) -> dict[int, Assembly]:
    tools: dict[int, Assembly] = {}
    number = [s.name for s in folder.job.setup].index(setup.name)
    for row, hung in enumerate(setup.tool):
        try:
            tools[hung.station] = assemble(folder.job.shop.tools[hung.use], stickout=hung.stickout, length=hung.preset.length,
                                           radius=hung.preset.radius, nose=machine.spindle.nose, units=folder.units)  # fmt: skip
        except InputRefused as refusal:
            first = refusal.problems[0]
            raise folder.refuse(first.what, at=("setup", number, "tool", row), remedy=first.remedy, why=first.why) from refusal
    return tools
