"""Kit: one setup put together from what the shop has: machine, holding, blank, tools as they hang in the spindle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape, MeshShape
from setwright.geometry.frames import quarter_turns
from setwright.geometry.meshes import read_mesh
from setwright.geometry.profile import Assembly, assemble
from setwright.jobfolder.load import JobFolder
from setwright.kit.placement import Placement, place_kit
from setwright.model.job import Blank, Setup
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
    placement = place_kit(setup, holding, machine, _with_copies(extent, setup), folder.meshes)
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
                                           radius=hung.preset.radius, nose=machine.spindle.nose)  # fmt: skip
        except InputRefused as refusal:
            first = refusal.problems[0]
            raise folder.refuse(first.what, at=("setup", number, "tool", row), remedy=first.remedy, why=first.why) from refusal
    return tools
