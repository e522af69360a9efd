"""From the part's place and the tools' lengths to what is typed into the control, and back.

Every convention keeps one sum, offset Z + length register = machine Z of the datum + gauge line to tip:
    from gauge line   offset Z = z             length = L
    tip on datum      offset Z = 0             length = z + L
    reference tool    offset Z = z + L_ref     length = L − L_ref
An external offset is taken off the work offsets, wear off the tool registers; a radius register may hold the diameter.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from setwright.base.errors import InputRefused
from setwright.base.units import written
from setwright.estimate.distribution import Rectangular
from setwright.kit.registers import length_register, radius_register
from setwright.kit.station import Kit
from setwright.model.reading import Readings, ToolRegister
from setwright.model.reading import Registers as Stated
from setwright.touch.diameters import nominal_radii, tool_radii
from setwright.touch.solution import Estimate, Solution

__all__ = ["CONVENTIONS", "Entry", "convert_lengths", "entries", "g10_block", "mixed_conventions", "read_back"]

CONVENTIONS = ("from gauge line", "tip on datum", "reference tool")
_NO_WEAR = ToolRegister()


@dataclass(frozen=True, slots=True)
class Entry:
    """One number to type. `register` "G54" or "length 3"; `axis` "X", "Y", "Z" or ""; `step`: the register's increment, mm.

    `weights`: the unknowns it is the sum of, with their factors. `now`: what the control holds, if read off; `station`: of the
    tool, for tool registers.
    """

    register: str
    axis: str
    estimate: Estimate
    step: float
    weights: tuple[tuple[str, float], ...]
    now: float | None = None
    station: int | None = None

    @property
    def name(self) -> str:
        """"G54 X"."""
        return f"{self.register} {self.axis}".strip()

    @property
    def rounded(self) -> float:
        """The value to the register's increment, mm."""
        return round(self.estimate.value / self.step) * self.step

    def text(self, units: str = "mm") -> str:
        """The digits to type."""
        return written(self.estimate.value, self.step, units)

    def say(self, units: str = "mm") -> str:
        """"type X = -312.447 into G54"."""
        return f"type {self.axis or 'it'} = {self.text(units)} into {self.register}"


def entries(kit: Kit, solution: Solution, stated: Stated, *, radii: Mapping[int, Estimate] | None = None) -> list[Entry]:
    """Every register to type: the work offset and its pallet copies, then the registers of tools that are known.

    `radii`: of tools that were measured or preset, by station (mm); those of the preset list where it is not given. A tool whose
    register the program compensates with is typed with its nominal radius where nobody has measured it.
    """
    known = {**nominal_radii(kit), **(tool_radii(kit, Readings()) if radii is None else radii)}
    return [*_offsets(kit, solution, stated), *_lengths(kit, solution, stated), *_radii(kit, stated, known)]


def _base(kit: Kit, solution: Solution) -> dict[str, float]:
    """Which unknowns carry the share of the length that the offset's Z takes over."""
    control = kit.machine.control
    if control.lengths == "from gauge line":
        return {}
    if control.lengths == "tip on datum":
        return {"z": -1.0}
    name = f"length of tool {control.reference_tool}"
    if solution.unknowns.row(name) is None:
        raise InputRefused.because(
            f"lengths are differences to tool {control.reference_tool}, and nothing is known of its length",
            remedy="touch the datum with the reference tool, or write it under [[setup.tool]] with its preset length",
        )
    return {name: 1.0}


def _offsets(kit: Kit, solution: Solution, stated: Stated) -> list[Entry]:
    step = kit.machine.control.increment
    rounding = Rectangular(0.0, 0.5 * step)
    turn, _ = solution.machine_from_work
    found = []
    for name, shift in {kit.setup.offset: (0.0, 0.0, 0.0), **kit.setup.shifts}.items():
        away = turn @ np.array(shift)
        held = stated.offset.get(name)
        sums: tuple[tuple[str, dict[str, float], float], ...] = (
            ("x", {"x": 1.0, "angle": -float(away[1])}, float(away[0]) - stated.external.x),
            ("y", {"y": 1.0, "angle": float(away[0])}, float(away[1]) - stated.external.y),
            ("z", _sum({"z": 1.0}, _base(kit, solution)), float(away[2]) - stated.external.z),
        )
        for axis, weights, constant in sums:
            # the angle enters as a small turn: its own value is already in `away`
            fixed = constant - weights.get("angle", 0.0) * solution.value("angle")
            exact = axis == "z" and kit.machine.control.lengths == "tip on datum"
            estimate = solution.estimate(weights, constant=fixed, rounding=None if exact else rounding)
            now = None if held is None else getattr(held, axis)
            found.append(Entry(name, axis.upper(), estimate, step, tuple(weights.items()), now))
    return found


def _sum(*weights: Mapping[str, float]) -> dict[str, float]:
    total: dict[str, float] = {}
    for part in weights:
        for name, weight in part.items():
            total[name] = total.get(name, 0.0) + weight
    return {name: weight for name, weight in total.items() if weight != 0.0}


def _lengths(kit: Kit, solution: Solution, stated: Stated) -> list[Entry]:
    step = kit.machine.control.increment
    found = []
    for tool in kit.setup.tool:
        name = f"length of tool {tool.station}"
        if solution.unknowns.row(name) is None:
            continue
        weights = _sum({name: 1.0}, {other: -factor for other, factor in _base(kit, solution).items()})
        register = length_register(tool)
        held = stated.tool.get(str(register), _NO_WEAR)
        rounding = Rectangular(0.0, 0.5 * step) if weights else None
        estimate = solution.estimate(weights, constant=-held.length_wear, rounding=rounding)
        found.append(Entry(f"length {register}", "", estimate, step, tuple(weights.items()), held.length, tool.station))
    return found


def _radii(kit: Kit, stated: Stated, radii: Mapping[int, Estimate]) -> list[Entry]:
    """Radius registers of tools whose radius was measured or preset, and of those that the program compensates with."""
    double = 2.0 if kit.machine.control.radius_register == "diameter" else 1.0
    step = kit.machine.control.increment
    found = []
    for tool in kit.setup.tool:
        known = radii.get(tool.station)
        if known is None:
            continue
        register = radius_register(tool)
        held = stated.tool.get(str(register), _NO_WEAR)
        lines = tuple(replace(line, standard=double * line.standard) for line in known.contributions)
        estimate = replace(known, value=double * known.value - held.radius_wear, standard=double * known.standard,
                           expanded=double * known.expanded, contributions=lines)  # fmt: skip
        found.append(Entry(f"radius {register}", "", estimate, step, (), held.radius, tool.station))
    return found


def convert_lengths(
    offset_z: float, lengths: Mapping[int, float], *, have: str, want: str, known: tuple[int, float] | None = None,
    reference: int | None = None,
) -> tuple[float, dict[int, float]]:
    """Offset Z and length registers (mm, by tool) from one convention into another; the sums stay.

    From "tip on datum" or "reference tool" into "from gauge line" one true length is needed: `known` = (tool, gauge line to tip).
    Into "reference tool" the `reference` tool is. Refuses when that is missing.

    >>> convert_lengths(-400.0, {1: 120.0, 2: 95.5}, have="from gauge line", want="tip on datum")
    (0.0, {1: -280.0, 2: -304.5})
    """
    sums = {tool: offset_z + length for tool, length in lengths.items()}
    if want == have:
        return offset_z, dict(lengths)
    if want == "tip on datum":
        return 0.0, sums
    tool = reference if want == "reference tool" else (known[0] if known else None)
    if tool is None or tool not in sums:
        missing = "the reference tool" if want == "reference tool" else "one true length from gauge line to tip"
        raise InputRefused.because(f'lengths "{have}" cannot become "{want}"', why=f"{missing} is not known",
                                   remedy=f"give {missing}")  # fmt: skip
    base = sums[tool] - (known[1] if want == "from gauge line" and known else 0.0)
    return base, {each: total - base for each, total in sums.items()}


def mixed_conventions(kit: Kit, solution: Solution, stated: Stated, *, within: float = 2.0) -> list[str]:
    """Sentences about length registers that fit another convention than the machine's (each to `within` mm)."""
    z = solution.value("z")
    held = stated.offset.get(kit.setup.offset)
    said = []
    for tool in kit.setup.tool:
        row = stated.tool.get(str(length_register(tool)))
        name = f"length of tool {tool.station}"
        if row is None or row.length is None or solution.unknowns.row(name) is None or held is None:
            continue
        length = solution.value(name)
        if abs(held.z + row.length + row.length_wear - z - length) <= within:
            continue
        here = kit.machine.control.lengths
        for which, value in (("from gauge line", length), ("tip on datum", z + length)):
            if which != here and abs(row.length - value) <= within:
                said.append(f'length {length_register(tool)} holds {written(row.length, 0.001)}: that is a length "{which}", '
                            f'but this machine holds lengths "{here}"')  # fmt: skip
    return said


def g10_block(numbers: Sequence[Entry], *, units: str = "mm", extended: str = "G10 L20") -> str:
    """The work offsets as blocks to run by hand or at a program's head; "" when an offset has no number that G10 can name.

    `extended`: the words before the number of an extended offset, "" on a control that has none.
    """
    inch = units in ("in", "inch")
    lines = ["(offsets from touch-off: read them back before the first cut)", "G20" if inch else "G21"]
    names = list(dict.fromkeys(entry.register for entry in numbers if entry.axis))
    for name in names:
        plain, further = re.fullmatch(r"G5([4-9])", name), re.fullmatch(r"G54\.1 P(\d+)", name)
        if plain is None and (further is None or not extended):
            return ""
        words = " ".join(f"{entry.axis}{entry.text(units)}" for entry in numbers if entry.register == name)
        place = f"G10 L2 P{int(plain[1]) - 3}" if plain else f"{extended} P{further[1]}" if further else ""
        lines.append(f"G90 {place} {words}")
    return "\n".join(lines)


def read_back(entry: Entry, *, units: str = "mm") -> str:
    """What is wrong with the number in the control, digit by digit; "" when it is right or was not read."""
    if entry.now is None:
        return ""
    shown, wanted = written(entry.now, entry.step, units), entry.text(units)
    if shown == wanted:
        return ""
    return f"{entry.name} holds {shown}, should be {wanted}: {_difference(shown, wanted)}"


def _difference(shown: str, wanted: str) -> str:
    if shown.lstrip("-") == wanted.lstrip("-"):
        return "the sign is wrong"
    if shown.replace(".", "").strip("-0") == wanted.replace(".", "").strip("-0"):
        return "the decimal point is in the wrong place"
    if len(shown) == len(wanted):
        wrong = [i for i, (a, b) in enumerate(zip(shown, wanted, strict=True)) if a != b]
        if len(wrong) == 2 and shown[wrong[0]] == wanted[wrong[1]] and shown[wrong[1]] == wanted[wrong[0]]:
            return f"{wanted[wrong[0]]} and {wanted[wrong[1]]} are exchanged"
        if len(wrong) == 1:
            return f"{shown[wrong[0]]} stands where {wanted[wrong[0]]} should be"
    return f"off by {float(shown) - float(wanted):+.4f}".rstrip("0")
