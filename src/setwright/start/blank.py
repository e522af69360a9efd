"""The blank: from comments where they say it, else from what the program cuts, so that no rapid of a sane program hits metal."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import BoxShape
from setwright.geometry.moves import MoveKind, Moves, extent_of
from setwright.geometry.pieces import PieceTable, Role
from setwright.geometry.profile import assemble
from setwright.model.job import BlankFace
from setwright.program.hints import BlankHint, ZeroHint
from setwright.program.path import Path
from setwright.removal.cut import cut
from setwright.removal.field import field_of
from setwright.start.reading import HOME_ABOVE_ZERO_MM, ProgramReading, motions_of
from setwright.start.tools import DraftTool
from setwright.start.wording import Evidence, cite, cited, number_text, tidy

__all__ = ["DraftBlank", "Top", "draft_blank", "find_top"]

Array = NDArray[np.float64]
_LEVEL_MM = 0.01
_WALL_MM = 3.0
_CLEAR_MM = 1.0
_SNAP_MM = 15.0
_FACING_MM = 5.0
_SHALLOW_MM = 3.0
_BELOW_CUT_MM = 14.0
_LEAST_THICK_MM = 10.0
_WIDEST_IN_VISE_MM = 140.0
_LONGEST_IN_VISE_MM = 400.0
_INSIDE_KINDS: Final = ("drill", "spot drill", "centre drill", "tap", "reamer", "boring bar")
_ROUNDS = 8
_CELLS = 150.0
_FINEST_MM, _COARSEST_MM = 0.3, 3.0
_LEAST_LEFT: Final = 0.4
_COVER: Final = 0.8


@dataclass(frozen=True, slots=True)
class Top:
    """The height of the blank's top face in W, and what that rests on. `bottom` is set where zero is known to lie there."""

    z: float
    why: Evidence
    bottom: float | None = None


@dataclass(slots=True)
class DraftBlank:
    """The blank as a box in W, mm. `low` and `high` (3,); `fixed` (2, 3): sides that comments settle (low, high).

    `round_size`: diameter and height if it is round. `why_size`, `why_place`: what sizes and place rest on. `thick`: whether the
    thickness is known; `sheet`: taken as sheet, because it is too large for the vise. `size_faces`, `place_faces`: between which
    coordinates faces may lie that the size, and the place of zero, leave open.
    """

    low: Array
    high: Array
    fixed: NDArray[np.bool_]
    thick: bool = False
    sheet: bool = False
    round_size: tuple[float, float] | None = None
    why_size: list[Evidence] = field(default_factory=list)
    why_place: list[Evidence] = field(default_factory=list)
    size_faces: dict[BlankFace, tuple[float, float]] = field(default_factory=dict)
    place_faces: dict[BlankFace, tuple[float, float]] = field(default_factory=dict)

    @property
    def size(self) -> Array:
        """Sizes along X, Y, Z."""
        return self.high - self.low


@dataclass(frozen=True, slots=True)
class _Rows:
    """The feed rows near the part: boxes (n, 3) of the tip, station, radius."""

    low: Array
    high: Array
    station: NDArray[np.int64]
    radius: Array

    def __getitem__(self, chosen: NDArray[np.bool_]) -> _Rows:
        return _Rows(self.low[chosen], self.high[chosen], self.station[chosen], self.radius[chosen])


def _feed_rows(path: Path, tools: Sequence[DraftTool]) -> _Rows:
    low, high = extent_of(motions_of(path))
    station = np.array([state.tool for state in path.states], np.int64)[path.state]
    radii = {tool.station: tool.radius for tool in tools}
    radius = np.array([radii.get(int(s), 0.0) for s in station])
    near = (path.kind != MoveKind.RAPID) & (low[:, 2] < HOME_ABOVE_ZERO_MM / 2)
    return _Rows(low, high, station, radius)[near if near.any() else path.kind != MoveKind.RAPID]


# --- the top ---------------------------------------------------------------------------------------------------------------


def find_top(reading: ProgramReading, tools: Sequence[DraftTool]) -> Top:
    """Where the blank's top lies: by a comment, by facing passes above zero, else at Z0."""
    rows = _feed_rows(reading.path, tools)
    zero = _zero(reading)
    level = (rows.high[:, 2] - rows.low[:, 2] <= _LEVEL_MM) & ((rows.high - rows.low)[:, :2].max(axis=1) > _LEVEL_MM)
    levels = rows[level]
    least = float(rows.low[:, 2].min())
    faced = _faced_above_zero(levels, rows, tools)
    if zero is not None and zero[1].z == "bottom":
        written = [h.size[2] for h in _blank_hints(reading) if len(h.size) == 3]
        written += [h.round[1] for h in _blank_hints(reading) if len(h.round) == 2]
        height = max([float(levels.high[:, 2].max(initial=0.0)), *written])
        return Top(height, cited(*zero), bottom=0.0)
    if faced > 0.0:
        return Top(faced, cite(f"highest facing pass, Z{number_text(faced, inch=reading.inch)}"))
    if zero is not None and zero[1].z == "top":
        return Top(0.0, cited(*zero))
    highest = float(levels.high[:, 2].max(initial=-math.inf))
    if least >= -_LEVEL_MM and _SHALLOW_MM < highest < math.inf:
        return Top(highest, cite(f"everything is cut from Z{number_text(highest, inch=reading.inch)} down to Z0"), bottom=0.0)
    if least >= -_LEVEL_MM and highest > _LEVEL_MM:
        return Top(highest, cite(f"highest cut, Z{number_text(highest, inch=reading.inch)}"))
    return Top(0.0, cite("nothing tells the blank's top; Z0 taken"))


def _faced_above_zero(levels: _Rows, rows: _Rows, tools: Sequence[DraftTool]) -> float:
    """The highest level above zero at which a tool that only faces cuts; 0 if there is none."""
    best = 0.0
    for tool in tools:
        own = levels[levels.station == tool.station]
        if not _only_faces(tool, rows) or not len(own.low):
            continue
        z = own.high[:, 2]
        near = z[(z > _LEVEL_MM) & (z <= _FACING_MM)]
        best = max(best, float(near.max(initial=0.0)))
    return best


def _only_faces(tool: DraftTool, rows: _Rows) -> bool:
    own = rows.low[rows.station == tool.station, 2]
    return tool.tool.kind == "face mill" and own.size > 0


# --- the box -----------------------------------------------------------------------------------------------------------------


def draft_blank(reading: ProgramReading, path: Path, tools: Sequence[DraftTool], top: Top) -> DraftBlank:
    """The blank around what the program cuts. `path`: with cutter compensation at the tools' radii."""
    rows = _feed_rows(path, tools)
    low, high, cuts = _cut_box(rows, tools, top.z)
    blank = DraftBlank(np.array([*low, 0.0]), np.array([*high, top.z]), np.zeros((2, 3), bool))
    blank.fixed[1, 2] = True
    hint = _one_size(reading, blank)
    _place_sideways(reading, blank, cuts, hint)
    _set_bottom(blank, rows, top, hint, inch=reading.inch)
    if hint is not None and hint[1].round:
        _make_round(blank, hint[1], cuts)
    if not blank.fixed[:, :2].all():
        _clear_rapids(blank, motions_of(path, order=_rows_of(tools), rapid=reading.profile.rapid), tools)
        _round_sides(blank, inch=reading.inch)
    if not (blank.fixed[0, :2] | blank.fixed[1, :2]).all() or not blank.why_size:
        blank.why_size.insert(0, cite("drawn around what the program cuts, measure yours"))
    blank.why_place = list(dict.fromkeys([*blank.why_place, top.why]))  # one comment may place both
    return blank


def _cut_box(rows: _Rows, tools: Sequence[DraftTool], top: float) -> tuple[Array, Array, tuple[Array, Array]]:
    """Sides of a blank around the cuts, (2,) each, and the box of the tool's centre in them."""
    facing = np.isin(rows.station, [tool.station for tool in tools if tool.tool.kind == "face mill"])
    cutting = rows.low[:, 2] < top - _LEVEL_MM
    inner, outer = rows[cutting & ~facing], rows[facing & (rows.low[:, 2] <= top + _FACING_MM)]
    if len(inner.low):
        reach = inner.radius[:, None]
        low, high = (inner.low[:, :2] - reach - _WALL_MM).min(axis=0), (inner.high[:, :2] + reach + _WALL_MM).max(axis=0)
        centre = inner.low[:, :2].min(axis=0), inner.high[:, :2].max(axis=0)
        if len(outer.low):
            # a facing pass covers the whole top: the blank ends there, unless a tool that cuts inside it goes further
            face_low, face_high = _faced_box(outer)
            drilling = np.isin(inner.station, [tool.station for tool in tools if tool.tool.kind in _INSIDE_KINDS])[:, None]
            inward = np.where(drilling, -reach - _WALL_MM, reach)
            low = np.minimum(face_low, (inner.low[:, :2] + inward).min(axis=0))
            high = np.maximum(face_high, (inner.high[:, :2] - inward).max(axis=0))
    elif len(outer.low):
        low, high = _faced_box(outer)
        centre = outer.low[:, :2].min(axis=0), outer.high[:, :2].max(axis=0)
    else:
        low, high = (rows.low[:, :2] - rows.radius[:, None]).min(axis=0), (rows.high[:, :2] + rows.radius[:, None]).max(axis=0)
        centre = rows.low[:, :2].min(axis=0), rows.high[:, :2].max(axis=0)
    low, high = np.where((low > 0.0) & (low <= _SNAP_MM), 0.0, low), np.where((high < 0.0) & (high >= -_SNAP_MM), 0.0, high)
    return low, high, centre


def _faced_box(rows: _Rows) -> tuple[Array, Array]:
    """What facing passes cover: they run out beyond the metal along the pass, and overlap it across."""
    length = (rows.high - rows.low)[:, :2]
    low, high, radius = rows.low[:, :2].min(axis=0), rows.high[:, :2].max(axis=0), float(rows.radius.max())
    along = length.sum(axis=0) >= length.sum(axis=0).max() - SAME_PLACE_MM
    inner_low, inner_high = low + radius + _CLEAR_MM, high - radius - _CLEAR_MM
    runs_out = along & (inner_high - inner_low > (high - low) / 3)
    cover = np.where(along, 0.0, _COVER * radius)
    return np.where(runs_out, inner_low, low - cover), np.where(runs_out, inner_high, high + cover)


# --- what comments say ---------------------------------------------------------------------------------------------------------


def _zero(reading: ProgramReading) -> tuple[str, ZeroHint] | None:
    """The first comment on where zero lies, unless comments contradict each other."""
    name = reading.names[0]
    said = reading.hints[name]
    if not said.zeros or any(one.what == "where zero lies" for one in said.contradictions):
        return None
    merged = said.zeros[0]
    for hint in said.zeros[1:]:
        merged = replace(merged, x=merged.x or hint.x, y=merged.y or hint.y, z=merged.z or hint.z)
    return name, merged


def _blank_hints(reading: ProgramReading) -> list[BlankHint]:
    return list(reading.hints[reading.names[0]].blanks)


def _one_size(reading: ProgramReading, blank: DraftBlank) -> tuple[str, BlankHint] | None:
    """The comment on the blank's size, unless comments contradict each other."""
    name = reading.names[0]
    said = reading.hints[name]
    for one in said.contradictions:
        if one.what in ("the blank", "where zero lies"):
            texts = ", ".join(f'"({text})"' for text in dict.fromkeys(one.texts))
            said_so = cite(f"comments on {one.what} contradict each other in {name}: {texts}; several clampings in one program?")
            (blank.why_size if one.what == "the blank" else blank.why_place).append(said_so)
    if any(one.what == "the blank" for one in said.contradictions):
        return None
    sized = [hint for hint in said.blanks if hint.size or hint.round]
    best = max(sized, key=lambda hint: len(hint.size), default=None)
    if best is None:
        return None
    blank.why_size.append(cited(name, best))
    return name, best


def _place_sideways(
    reading: ProgramReading, blank: DraftBlank, cuts: tuple[Array, Array], hint: tuple[str, BlankHint] | None
) -> None:
    """Sides along X and Y from where zero lies and how large the blank is."""
    zero = _zero(reading)
    if zero is not None and (zero[1].x or zero[1].y):
        blank.why_place.append(cited(*zero))
    for axis, places in enumerate((("left", "right"), ("front", "back"))):
        size = hint[1].size[axis] if hint is not None and len(hint[1].size) > axis else None
        middle = float(cuts[0][axis] + cuts[1][axis]) / 2
        side = getattr(zero[1], "xy"[axis]) if zero is not None else None
        if side is not None and not _agrees(side, middle, places, size):
            blank.why_place.append(cite(f"the comment puts zero {side}, but the cuts lie on its other side; the cuts are followed"))
            side = None
        if side is None and size is None:
            continue
        if side is None:
            side = _likeliest(cuts[0][axis], cuts[1][axis], float(size or 0.0), places)
        low, high = blank.low[axis], blank.high[axis]
        reach = size if size is not None else max(high, -low) * (2.0 if side == "centre" else 1.0)
        low = {places[0]: 0.0, places[1]: -reach, "centre": -reach / 2}[side]
        blank.low[axis], blank.high[axis] = low, low + reach
        blank.fixed[:, axis] = (side == places[0] or size is not None, side == places[1] or size is not None)


def _agrees(side: str, middle: float, places: tuple[str, str], size: float | None) -> bool:
    slack = (size or 0.0) / 10
    return (side == "centre") or (middle >= -slack if side == places[0] else middle <= slack)


def _likeliest(low: float, high: float, size: float, places: tuple[str, str]) -> str:
    """Which of the three usual places of zero puts most of the cuts on the blank."""
    spans = {places[0]: (0.0, size), places[1]: (-size, 0.0), "centre": (-size / 2, size / 2)}

    def covered(name: str) -> float:
        return min(high, spans[name][1]) - max(low, spans[name][0]) - abs(sum(spans[name]) - low - high) / 8

    return max(spans, key=covered)


def _set_bottom(blank: DraftBlank, rows: _Rows, top: Top, hint: tuple[str, BlankHint] | None, *, inch: bool) -> None:
    """The bottom: from the thickness a comment gives, from zero at the bottom, else below the deepest cut."""
    thickness = None
    if hint is not None:
        thickness = hint[1].size[2] if len(hint[1].size) == 3 else hint[1].round[1] if len(hint[1].round) == 2 else None
    if thickness is not None:
        blank.low[2], blank.thick = top.z - thickness, True
        blank.fixed[0, 2] = True
    elif top.bottom is not None:
        blank.low[2] = min(top.bottom, top.z - 1.0)
    else:
        deepest = float(rows.low[:, 2].min())
        small = sorted((blank.high - blank.low)[:2].tolist())
        if small[0] <= _WIDEST_IN_VISE_MM and small[1] <= _LONGEST_IN_VISE_MM:
            blank.low[2] = top.z - tidy(max(top.z - deepest + _BELOW_CUT_MM, _LEAST_THICK_MM), inch=inch)
            blank.why_size.append(cite("thick enough to grip 12 mm below the deepest cut"))
            blank.size_faces["bottom"] = (top.z - 3 * (top.z - float(blank.low[2])), min(deepest, top.z - 1.0))
        else:
            blank.low[2] = min(deepest, top.z - _LEAST_THICK_MM) if top.z - deepest < 1.0 else deepest
            blank.sheet = True
            blank.why_size.append(cite("as thick as the deepest cut: too large for the vise, taken as sheet"))


def _make_round(blank: DraftBlank, hint: BlankHint, cuts: tuple[Array, Array]) -> None:
    diameter = hint.round[0]
    middle = (cuts[0] + cuts[1]) / 2
    centre = np.where(np.abs(middle) <= diameter / 2, 0.0, middle)
    blank.low[:2], blank.high[:2] = centre - diameter / 2, centre + diameter / 2
    blank.fixed[:, :2] = True
    blank.round_size = (diameter, float(blank.high[2] - blank.low[2]))


# --- no rapid into the metal ---------------------------------------------------------------------------------------------------


def _rows_of(tools: Sequence[DraftTool]) -> dict[int, int]:
    return {tool.station: row for row, tool in enumerate(tools)}


def _clear_rapids(blank: DraftBlank, moves: Moves, tools: Sequence[DraftTool]) -> None:
    """Move sides that are only guessed until no rapid of the cutting part runs into metal, as far as that leaves a blank."""
    moves = moves[moves.tool >= 0]
    if not _may_hit(blank, moves):
        return
    assemblies = [assemble(tool.tool, stickout=tool.stickout) for tool in tools]
    pieces = PieceTable.of([[piece for piece in one.pieces if piece.role is Role.CUTTING] for one in assemblies])
    radii = np.array([tool.radius for tool in tools])
    start = blank.size[:2].copy()
    for _ in range(_ROUNDS):
        pitch = min(max(float(blank.size.max()) / _CELLS, _FINEST_MM), _COARSEST_MM)
        field_before = field_of([_shape(blank)], pitch_mm=pitch)
        touched = [touch for touch in cut(field_before, moves, pieces).contacts if moves.kind[touch.row] == MoveKind.RAPID]
        moved = [_step_aside(blank, moves[touch.row : touch.row + 1], radii, start) for touch in touched]
        if not any(moved):
            return


def _may_hit(blank: DraftBlank, moves: Moves) -> bool:
    """Whether any rapid below the top does more than rise: only then is it worth trying the motions on the metal."""
    low, high = extent_of(moves)
    below = (moves.kind == MoveKind.RAPID) & (low[:, 2] < blank.high[2] - _LEVEL_MM)
    rises = (high - low)[:, :2].max(axis=1) <= SAME_PLACE_MM
    rises &= moves.end[:, 2] > moves.start[:, 2]
    return bool((below & ~rises).any())


def _shape(blank: DraftBlank) -> BoxShape:
    (x0, y0, z0), (x1, y1, z1) = blank.low.tolist(), blank.high.tolist()
    return BoxShape((x0, y0, z0), (x1, y1, z1))


def _step_aside(blank: DraftBlank, move: Moves, radii: Array, start: Array) -> bool:
    """Move the nearest free side out of a rapid's way; False where no side can."""
    low, high = extent_of(move)
    reach = float(radii[int(move.tool[0])]) + _CLEAR_MM
    least, most = low[0, :2] - reach, high[0, :2] + reach
    if (least >= blank.high[:2]).any() or (most <= blank.low[:2]).any():
        return True
    options = sorted(_sides(blank, least, most))
    for cost, axis, side, value in options:
        if blank.size[axis] - cost >= _LEAST_LEFT * start[axis]:
            (blank.low if side == 0 else blank.high)[axis] = value
            return True
    return False


def _sides(blank: DraftBlank, least: Array, most: Array) -> Iterator[tuple[float, int, int, float]]:
    for axis in range(2):
        if not blank.fixed[0, axis]:
            yield float(most[axis] - blank.low[axis]), axis, 0, float(most[axis])
        if not blank.fixed[1, axis]:
            yield float(blank.high[axis] - least[axis]), axis, 1, float(least[axis])


def _round_sides(blank: DraftBlank, *, inch: bool) -> None:
    """Guessed sides to a tenth of a mm (a hundredth of an inch), never outward into a rapid."""
    step = 0.254 if inch else 0.1
    for axis in range(2):
        if not blank.fixed[0, axis]:
            blank.low[axis] = math.ceil(blank.low[axis] / step - SAME_PLACE_MM) * step
        if not blank.fixed[1, axis]:
            blank.high[axis] = math.floor(blank.high[axis] / step + SAME_PLACE_MM) * step
