"""What is true in a setup, and what the control must hold so that the tip goes where the program says.

Every convention of tool lengths keeps one sum: offset Z + length register = (machine Z of the datum) + (gauge line to tip).
They differ only in how it is split; see `control_registers`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from setwright.base.errors import InputRefused
from setwright.geometry.frames import Transform
from setwright.kit.station import Kit
from setwright.model.finding import Finding
from setwright.model.job import SetupTool
from setwright.model.reading import Registers as Stated
from setwright.program.registers import Registers, WorkOffset

__all__ = ["Truth", "control_registers", "length_register", "nominal_truth", "radius_register",
           "radius_registers_named"]


@dataclass(frozen=True, slots=True)
class Truth:
    """Where things really are, as far as is known.

    `machine_from_work`: for the setup's own work offset. `lengths`, `radii` by station, mm. `source`: "kit" or "touch".
    `u_place` (x, y, z), `u_length`: one standard deviation, mm, of the place and of the length of the tool that is known worst;
    `u_lengths`: of each tool, by station. `unmeasured`: stations whose length nobody has measured. `doubts`: what the readings it
    comes from leave in doubt. `u_angle`: one standard deviation of the part's direction, rad.
    """

    machine_from_work: Transform
    lengths: Mapping[int, float]
    radii: Mapping[int, float]
    source: str
    u_place: tuple[float, float, float] = (0.0, 0.0, 0.0)
    u_length: float = 0.0
    unmeasured: tuple[int, ...] = ()
    doubts: tuple[Finding, ...] = field(default=(), repr=False)
    u_angle: float = 0.0
    u_lengths: Mapping[int, float] = field(default_factory=dict)

    def u_length_of(self, station: int) -> float:
        """One standard deviation of a tool's length, mm; that of the tool known worst where nothing is said of this one."""
        return self.u_lengths.get(station, self.u_length)


def nominal_truth(kit: Kit) -> Truth:
    """The truth as the kit states it: the holding at its expected place, tools at their preset or nominal lengths."""
    lengths = {station: assembly.length for station, assembly in kit.tools.items()}
    radii = {station: assembly.radius for station, assembly in kit.tools.items()}
    varies = kit.placement.varies
    u_lengths = {tool.station: tool.preset.varies for tool in kit.setup.tool}
    unmeasured = tuple(tool.station for tool in kit.setup.tool if tool.preset.length is None)
    return Truth(kit.placement.machine_from_work, lengths, radii, "kit", (varies, varies, varies),
                 max(u_lengths.values(), default=0.0), unmeasured, u_lengths=u_lengths)  # fmt: skip


def length_register(tool: SetupTool) -> int:
    """The register of the tool's length: as stated, else the station's number."""
    return tool.station if tool.length_register is None else tool.length_register


def radius_register(tool: SetupTool) -> int:
    """The register of the tool's radius: as stated, else the station's number."""
    return tool.station if tool.radius_register is None else tool.radius_register


_COMMENT = re.compile(rb"\([^)\n]*(?:\)|$)|;.*$", re.MULTILINE)
_COMPENSATED = re.compile(rb"G\s*4[12](?!\d|\.)", re.IGNORECASE)
_NAMED = re.compile(rb"(?<![A-Z])D\s*(\d+)", re.IGNORECASE)


def radius_registers_named(sources: Mapping[str, bytes]) -> frozenset[int]:
    """The radius registers that programs with cutter compensation name in their text; they must be right before the first cut."""
    found: set[int] = set()
    for data in sources.values():
        text = _COMMENT.sub(b"", data)
        if _COMPENSATED.search(text):
            found |= {int(number) for number in _NAMED.findall(text)}
    return frozenset(found - {0})


def control_registers(kit: Kit, truth: Truth, *, touched_off: int | None = None) -> Registers:
    """The registers that fit the truth, in the machine's convention, overruled by what the control is stated to hold.

    (a) "from gauge line": offset Z is the datum's machine Z for the gauge point, the register the length from gauge line to tip.
    (b) "tip on datum": offset Z = 0, the register the machine Z at which the tip stands on the datum.
    (c) "reference tool": offset Z includes the reference tool's length, registers are differences to it.
    `touched_off`: the station whose own tip the zero was set with, where the program applies no lengths; offset Z then includes it.
    A turn of the part against the axes is not put into a register: the control follows its axes unless told otherwise.
    """
    shift = truth.machine_from_work.shift
    base = _offset_z_of_length(kit, truth) if touched_off is None else truth.lengths[touched_off]
    z = float(shift[2]) + base
    offsets = {}
    for name, at in {kit.setup.offset: (0.0, 0.0, 0.0), **kit.setup.shifts}.items():
        x, y, dz = truth.machine_from_work.points(np.array(at)).tolist()
        offsets[name] = WorkOffset(x, y, z + dz - float(shift[2]))
    lengths = {length_register(t): truth.lengths[t.station] - base for t in kit.setup.tool}
    radii = {radius_register(t): truth.radii[t.station] for t in kit.setup.tool}
    references = {1: kit.machine.home, 2: kit.machine.second_home}
    fitting = Registers(offsets=offsets, lengths=lengths, radii=radii, references=references)
    stated = kit.folder.job.registers
    return fitting if stated.setup not in (None, kit.setup.name) else _overruled(fitting, stated, kit)


def _offset_z_of_length(kit: Kit, truth: Truth) -> float:
    """How much of the length is carried by the offset's Z."""
    control = kit.machine.control
    if control.lengths == "from gauge line":
        return 0.0
    if control.lengths == "tip on datum":
        return -float(truth.machine_from_work.shift[2])
    if control.reference_tool is None or control.reference_tool not in truth.lengths:
        said = f"lengths are differences to a reference tool, but tool {control.reference_tool} is not in the kit"
        remedy = "write control.reference_tool in the machine's file and put that tool under [[setup.tool]]"
        raise InputRefused.because(said, remedy=remedy)
    return truth.lengths[control.reference_tool]


def _overruled(fitting: Registers, stated: Stated, kit: Kit) -> Registers:
    offsets = dict(fitting.offsets) | {
        name: WorkOffset(value.x, value.y, value.z, value.rotation) for name, value in stated.offset.items()
    }
    lengths, radii = dict(fitting.lengths), dict(fitting.radii)
    halved = 0.5 if kit.machine.control.radius_register == "diameter" else 1.0
    for name, row in stated.tool.items():
        number = int(name) if name.isdigit() else -1
        if number < 0:
            raise InputRefused.because(f'"{name}" is not the number of a tool register', remedy="write [tool.1], [tool.2] ...",
                                       key=f"registers.toml: tool.{name}")  # fmt: skip
        if row.length is not None:
            lengths[number] = row.length
        if row.radius is not None:
            radii[number] = row.radius * halved
        lengths[number] = lengths.get(number, 0.0) + row.length_wear
        radii[number] = radii.get(number, 0.0) + row.radius_wear * halved
    external = (stated.external.x, stated.external.y, stated.external.z)
    return replace(fitting, offsets=offsets, lengths=lengths, radii=radii, external=external)
