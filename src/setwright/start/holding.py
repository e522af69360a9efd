"""The holding and the machine of a draft: a vise on parallels if it can grip the blank clear of every motion, else a plate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.moves import MoveKind, extent_of
from setwright.model.holding import Plate, Vise
from setwright.program.path import Path
from setwright.start.blank import DraftBlank
from setwright.start.reading import HOME_ABOVE_ZERO_MM, motions_of
from setwright.start.tools import DraftTool
from setwright.start.wording import Evidence, cite, number_text

__all__ = ["DEFAULT_VISE", "DraftHolding", "DraftMachine", "choose_holding", "choose_machine"]

Array = NDArray[np.float64]
DEFAULT_VISE: Final = Vise(jaw_width=150.0, jaw_height=40.0, jaw_thickness=20.0, opening=150.0, bed_height=60.0, body_length=310.0)
_PARALLEL_THICKNESS = 8.0
_LEAST_GRIP_MM, _MOST_GRIP_MM = 3.0, 20.0
_CLEAR_MM = 1.0
_PLATE_THICKNESS, _PLATE_BORDER = 20.0, 50.0
_SAMPLE_MM = 2.0
_MOST_SAMPLES = 400_000
_TRAVEL: Final = (800.0, 500.0, 500.0)
_SPARE_MM = 50.0
_TABLE_BELOW = 650.0


@dataclass(frozen=True, slots=True)
class DraftHolding:
    """How the blank is held: a vise with the fixed jaw against `jaw` and parallels, or a plate with the blank `gap` above it.

    `reference`: the point of W that the holding's place in M refers to; `height`: the blank's underside above the table, mm.
    `parallels_range`: between which heights the parallels (or spacers) may be: the higher the jaws stand, the less.
    """

    vise: Vise | None
    plate: Plate | None
    jaw: str
    parallels: float
    corner: tuple[float, float] | None
    reference: tuple[float, float]
    height: float
    why: Evidence
    parallels_range: tuple[float, float]


@dataclass(frozen=True, slots=True)
class DraftMachine:
    """The stated default machine: travel and table large enough, and where W's zero stands in it (machine X, Y)."""

    travel: tuple[tuple[float, float], tuple[float, float], tuple[float, float]]
    table_z: float
    zero_in_machine: tuple[float, float]
    max_speed: float
    max_feed: float
    home: tuple[float, float, float]
    why: Evidence


@dataclass(frozen=True, slots=True)
class _Samples:
    """Points of the tip along every motion near the part, with the tool's radius there."""

    point: Array
    radius: Array
    row: NDArray[np.intp]

    def lowest_over(self, low: Array, high: Array) -> tuple[float, int]:
        """The lowest tip whose cutting circle reaches over a rectangle (its own square around it), and its path row; inf and -1 if
        none does."""
        xy, reach = self.point[:, :2], self.radius[:, None]
        over = np.flatnonzero(((xy + reach > low) & (xy - reach < high)).all(axis=1))
        if over.size == 0:
            return math.inf, -1
        at = over[self.point[over, 2].argmin()]
        return float(self.point[at, 2]), int(self.row[at])

    def least_over(self, low: Array, high: Array) -> float:
        """The lowest tip whose cutting circle reaches over a rectangle; inf if none does."""
        return self.lowest_over(low, high)[0]


def _samples(path: Path, tools: Sequence[DraftTool], rapid: str) -> _Samples:
    moves = motions_of(path, rapid=rapid)
    low, high = extent_of(moves)
    near = np.flatnonzero(low[:, 2] < HOME_ABOVE_ZERO_MM / 2)
    length = np.linalg.norm(high - low, axis=1)[near]
    spacing = max(_SAMPLE_MM, float(length.sum()) / _MOST_SAMPLES)
    count = np.maximum(np.ceil(length / spacing).astype(np.int64), 1) + 1
    row = np.repeat(near, count)
    first = np.repeat(np.cumsum(count) - count, count)
    share = (np.arange(row.size) - first) / np.repeat(count - 1, count)
    point = moves.start[row] + share[:, None] * (moves.end - moves.start)[row]
    on = np.flatnonzero(moves.kind[row] == MoveKind.ARC)
    arc, each = row[on], np.arange(on.size)
    a, b = (moves.axis[arc] + 1) % 3, (moves.axis[arc] + 2) % 3
    turn = share[on] * moves.sweep[arc]
    u, v = moves.start[arc, a] - moves.centre[arc, a], moves.start[arc, b] - moves.centre[arc, b]
    point[on, a] = moves.centre[arc][each, a] + u * np.cos(turn) - v * np.sin(turn)
    point[on, b] = moves.centre[arc][each, b] + u * np.sin(turn) + v * np.cos(turn)
    radii = {tool.station: tool.radius for tool in tools}
    radius = np.array([radii.get(state.tool, 0.0) for state in path.states])
    return _Samples(point, radius[path.state[moves.ident[row]]], moves.ident[row].astype(np.intp))


# --- the holding -----------------------------------------------------------------------------------------------------------------


def choose_holding(
    blank: DraftBlank,
    path: Path,
    tools: Sequence[DraftTool],
    shifts: Sequence[tuple[float, float, float]],
    *,
    rapid: str,
    inch: bool,
) -> DraftHolding:
    """The vise if it grips at least 3 mm below every motion beside the blank and nothing reaches the parallels; else the plate."""
    samples = _samples(path, tools, rapid)
    if not shifts and not blank.sheet:
        for jaw, axis in (("back", 1), ("left", 0)):
            held = _in_vise(blank, samples, path, jaw, axis, inch=inch)
            if held is not None:
                return held
    return _on_plate(blank, samples, shifts)


def _in_vise(blank: DraftBlank, samples: _Samples, path: Path, jaw: str, axis: int, *, inch: bool) -> DraftHolding | None:
    vise, along = DEFAULT_VISE, 1 - axis
    if blank.size[axis] > vise.opening or blank.size[along] > 2.5 * vise.jaw_width:
        return None
    start = float(blank.low[along] + blank.high[along] - vise.jaw_width) / 2
    beside, row = min(samples.lowest_over(*_strip(blank, axis, along, start, side, vise.jaw_thickness)) for side in (0, 1))
    height = float(blank.size[2])
    jaw_top = min(beside - _CLEAR_MM, float(blank.high[2]) - min(height / 4, _CLEAR_MM))
    grip = math.floor(min(jaw_top - float(blank.low[2]), _MOST_GRIP_MM, max(height / 2, _LEAST_GRIP_MM)))
    inward = min(_PARALLEL_THICKNESS, float(blank.size[axis]) / 4)
    under = min(samples.least_over(*_strip(blank, axis, along, start, side, -inward)) for side in (0, 1))
    parallels = vise.jaw_height - grip
    bed = float(blank.low[2]) - parallels
    deepest = float(samples.point[:, 2].min())
    if grip < _LEAST_GRIP_MM or under < blank.low[2] - SAME_PLACE_MM or deepest < bed + _CLEAR_MM:
        return None
    fixed_face = float(blank.high[1] if axis == 1 else blank.low[0])
    reference = (start, fixed_face) if axis == 1 else (fixed_face, start)
    text, file, line = f"default vise; grips {grip} mm, jaw tops below every motion beside the blank", "", 0
    if row >= 0 and beside < float(blank.high[2]):
        file, line = path.files[int(path.file[row])], int(path.line[row])
        text += f": line {line} goes down to Z{number_text(beside, inch=inch)} there"
    limits = vise.jaw_height - max(_MOST_GRIP_MM, grip), vise.jaw_height - min(_LEAST_GRIP_MM, grip)
    why = cite(text, file=file, line=line)
    return DraftHolding(vise, None, jaw, float(parallels), None, reference, vise.bed_height + parallels, why, limits)


def _strip(blank: DraftBlank, axis: int, along: int, start: float, side: int, outward: float) -> tuple[Array, Array]:
    """The rectangle along a clamped face: `outward` mm beyond it (negative: under the blank), as long as the jaw."""
    low, high = np.zeros(2), np.zeros(2)
    face = float(blank.low[axis] if side == 0 else blank.high[axis])
    low[axis], high[axis] = sorted((face, face - outward if side == 0 else face + outward))
    low[along], high[along] = start, start + DEFAULT_VISE.jaw_width
    return low, high


def _on_plate(blank: DraftBlank, samples: _Samples, shifts: Sequence[tuple[float, float, float]]) -> DraftHolding:
    moved = np.array([(0.0, 0.0, 0.0), *shifts])
    low, high = blank.low[:2] + moved[:, :2].min(axis=0), blank.high[:2] + moved[:, :2].max(axis=0)
    size = np.ceil((high - low + 2 * _PLATE_BORDER) / 10.0) * 10.0
    corner = (low + high - size) / 2
    deepest = samples.least_over(corner, corner + size)
    gap = max(0.0, math.ceil(float(blank.low[2]) - deepest + _CLEAR_MM)) if deepest < blank.low[2] - SAME_PLACE_MM else 0.0
    raised = f" on spacers {gap:g} mm high, because the program cuts below its underside" if gap else ""
    why = cite(f"no 150 mm vise holds it clear of every motion; a default plate{raised}. Clamps are not drawn: add yours")
    x, y = np.round(corner, 3).tolist()
    plate = Plate(size=(float(size[0]), float(size[1])), thickness=_PLATE_THICKNESS)
    return DraftHolding(None, plate, "", gap, (x, y), (x, y), _PLATE_THICKNESS + gap, why, (0.0, gap))


# --- the machine -----------------------------------------------------------------------------------------------------------------


def choose_machine(path: Path, tools: Sequence[DraftTool], blank: DraftBlank, holding: DraftHolding,
                   shifts: Sequence[tuple[float, float, float]]) -> DraftMachine:  # fmt: skip
    """A machine with travel for every motion, the part in its middle. Moves to the machine's home are within any travel."""
    moved = np.array([(0.0, 0.0, 0.0), *shifts])
    ends, reach = _away_from_home(path), max(tool.stickout + sum(step.length for step in tool.tool.holder) for tool in tools)
    low, high = ends[0][:2] + moved[:, :2].min(axis=0), ends[1][:2] + moved[:, :2].max(axis=0)
    low, high = np.minimum(low, blank.low[:2]), np.maximum(high, blank.high[:2] + moved[:, :2].max(axis=0))
    span = [max(usual, math.ceil((b - a + 2 * _SPARE_MM) / 50.0) * 50.0) for usual, a, b in zip(_TRAVEL, low, high, strict=False)]
    zero = [-length / 2 - (a + b) / 2 for length, a, b in zip(span, low, high, strict=True)]
    above = float(ends[1][2]) + reach + holding.height - float(blank.low[2])
    table = -max(_TABLE_BELOW, math.ceil((above + _SPARE_MM) / 10.0) * 10.0)
    shortest = min(tool.stickout + sum(step.length for step in tool.tool.holder) for tool in tools)
    lowest = table + holding.height - float(blank.low[2]) + float(ends[0][2]) + shortest
    bottom = min(-_TRAVEL[2], math.floor((lowest - _CLEAR_MM) / 10.0) * 10.0)
    speeds = [abs(state.spindle_rpm) for state in path.states]
    feeds = path.feed[np.isfinite(path.feed)]
    return DraftMachine(
        ((-span[0], 0.0), (-span[1], 0.0), (bottom, 0.0)), table, (round(zero[0], 3), round(zero[1], 3)),
        max(10_000.0, max(speeds, default=0.0)), max(10_000.0, float(feeds.max(initial=0.0))), (0.0, 0.0, 0.0),
        cite("default machine, travel large enough for every motion; replace it by your machine's file"),
    )  # fmt: skip


def _away_from_home(path: Path) -> tuple[Array, Array]:
    """Least and greatest work coordinates, axis by axis, of everything but places at the machine's home."""
    low, high = extent_of(motions_of(path))
    shift = np.array([frame.shift for frame in path.frames])[path.frame]
    least, most = np.zeros(3), np.zeros(3)
    for axis in range(3):
        lower, upper = low[:, axis] + shift[:, axis], high[:, axis] + shift[:, axis]
        from_home = (np.abs(upper) <= SAME_PLACE_MM) | (np.abs(lower) <= SAME_PLACE_MM)
        near = np.where(np.abs(upper) <= SAME_PLACE_MM, low[:, axis], high[:, axis])[from_home]
        values = np.concatenate([low[~from_home, axis], high[~from_home, axis], near])
        least[axis], most[axis] = values.min(), values.max()
    return least, most
