"""The blank: from comments where they say it, else as large as what the program cuts makes plausible.

What rapids do never shapes it: a side that only a guess puts beside a rapid is told with that rapid's line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.moves import MoveKind, Moves, extent_of
from setwright.model.job import BlankFace
from setwright.program.changes import drilled_on
from setwright.program.path import Path
from setwright.start.reading import HOME_ABOVE_ZERO_MM, ProgramReading, motions_of
from setwright.start.stated import Stated, first_of, stated_size, told_zero
from setwright.start.tools import DraftTool
from setwright.start.wording import Evidence, cite, cited, number_text, tidy

__all__ = ["DraftBlank", "Top", "draft_blank", "find_top", "left_over"]

Array = NDArray[np.float64]
_LEVEL_MM = 0.01
_WALL_MM, _CLEAR_MM, _SNAP_MM = 3.0, 1.0, 15.0
_FACING_MM, _SHALLOW_MM = 5.0, 3.0
_BELOW_CUT_MM, _LEAST_THICK_MM = 14.0, 10.0
_WIDEST_IN_VISE_MM, _LONGEST_IN_VISE_MM = 140.0, 400.0
_INSIDE_KINDS: Final = ("drill", "spot drill", "centre drill", "tap", "reamer", "boring bar")
_COVER: Final = 0.8
_LEAST_PASSES = 3
_LEAST_SHEET_MM, _LEAST_GRIPPED_MM = 3.0, 4.0
_WAY_IN = 4
_SHEET_SPARE: Final = 0.1
_TWICE_FACED_MM = 2.0
_FACED_OFF_MM = 0.5
_PART_ALLOWANCE_MM = 5.0
_MOST_BELOW: Final = 3.0
_PLAUSIBLE: Final = 0.5
_MOSTLY: Final = 0.8
_SIDES: Final[tuple[tuple[BlankFace, BlankFace], ...]] = (("left", "right"), ("front", "back"))


@dataclass(frozen=True, slots=True)
class Top:
    """The height of the blank's top face in W, and what that rests on. `bottom` is set where zero is known to lie there.
    `least`, `most`: how low and how high it may lie as well, where the text leaves that open."""

    z: float
    why: Evidence
    bottom: float | None = None
    most: float | None = None
    least: float | None = None


@dataclass(slots=True)
class DraftBlank:
    """The blank as a box in W, mm. `low` and `high` (3,); `fixed` (2, 3): sides that comments settle (low, high).

    `round_size`: diameter and height if it is round. `sheet`: too large for the vise. `why_size`, `why_thick`, `why_place`: what
    the sizes along X and Y, the thickness, and the place rest on. `size_faces`, `thick_faces`: between which coordinates faces may
    lie that these leave open; `place_range`: between which places the least corner may lie. `decides`: the path row of a
    rapid that meets metal only if guessed sides lie further out, and beyond which coordinates.
    """

    low: Array
    high: Array
    fixed: NDArray[np.bool_]
    sheet: bool = False
    round_size: tuple[float, float] | None = None
    why_size: list[Evidence] = field(default_factory=list)
    why_thick: list[Evidence] = field(default_factory=list)
    why_place: list[Evidence] = field(default_factory=list)
    size_faces: dict[BlankFace, tuple[float, float]] = field(default_factory=dict)
    thick_faces: dict[BlankFace, tuple[float, float]] = field(default_factory=dict)
    place_range: tuple[Array, Array] | None = None
    decides: tuple[int, list[tuple[str, float]]] | None = None

    @property
    def size(self) -> Array:
        """Sizes along X, Y, Z."""
        return self.high - self.low

    def corner_limits(self) -> list[tuple[float, float]]:
        """Between which places the least corner may lie, axis by axis; empty where it is known."""
        if self.place_range is None:
            return []
        low, high = (np.where(np.isnan(end), self.low, end) for end in self.place_range)
        return list(zip(low.tolist(), high.tolist(), strict=True))


@dataclass(frozen=True, slots=True)
class _Rows:
    """The feed rows near the part: boxes (n, 3) of the tip, station, radius, path row.

    `enters`: the row belongs to a run that starts below the top without being fed down, as from beside the blank.
    `core_low`, `core_high` (n, 2): the part of the row in X and Y that is no such run's way in or out, nan where nothing is left.
    """

    low: Array
    high: Array
    station: NDArray[np.int64]
    radius: Array
    row: NDArray[np.intp]
    enters: NDArray[np.bool_]
    core_low: Array
    core_high: Array

    def __getitem__(self, chosen: NDArray[np.bool_]) -> _Rows:
        return _Rows(*(getattr(self, name)[chosen] for name in self.__dataclass_fields__))


def _tool_rows(path: Path, tools: Sequence[DraftTool]) -> tuple[NDArray[np.int64], Array]:
    """Station and cutting radius of every row."""
    radii = {tool.station: tool.radius for tool in tools}
    station = np.array([state.tool for state in path.states], np.int64)[path.state]
    return station, np.array([radii.get(one, 0.0) for one in station.tolist()])


def _feed_rows(path: Path, tools: Sequence[DraftTool], *, top: float = -math.inf) -> _Rows:
    low, high = extent_of(motions_of(path))
    station, radius = _tool_rows(path, tools)
    near = (path.kind != MoveKind.RAPID) & (low[:, 2] < HOME_ABOVE_ZERO_MM / 2)
    for holes in drilled_on(path):  # nobody meant them: they show nothing of the blank
        near[holes] = False
    rows = _Rows(low, high, station, radius, np.arange(len(path)), *_from_beside(path, low, high, radius, top))
    return rows[near if near.any() else path.kind != MoveKind.RAPID]


def _from_beside(path: Path, low: Array, high: Array, radius: Array, top: float) -> tuple[NDArray[np.bool_], Array, Array]:
    """Which rows belong to runs of feed moves that start below the top, bool (n,), and what of every row is no way in or out.

    The way in ends where a run that goes round meets it again, else after twice the tool's diameter; so does the way out.
    """
    feed = np.concatenate([[False], path.kind != MoveKind.RAPID, [False]])
    begin, end = np.flatnonzero(feed[1:] & ~feed[:-1]), np.flatnonzero(feed[:-1] & ~feed[1:])
    enters, (core_low, core_high) = np.zeros(len(path), np.bool_), _below(path, low, high, top)
    flat = (high - low)[:, :2].max(axis=1) > _LEVEL_MM if len(path) else enters
    for first, after in zip(begin.tolist(), end.tolist(), strict=True):
        sideways = first + np.flatnonzero(flat[first:after])
        if path.start[first, 2] >= top - _LEVEL_MM or sideways.size == 0:
            continue
        enters[first:after] = True
        closed = _closed_at(path, sideways)
        if closed is not None:
            one, other, meets = closed
            for row, stays in ((one, path.end[one, :2]), (other, path.start[other, :2])):
                core_low[row], core_high[row] = np.minimum(meets, stays), np.maximum(meets, stays)
            core_low[first:one] = core_low[other + 1 : after] = math.nan
        elif sideways.size > 1:
            gone = np.cumsum(np.hypot(*(path.end - path.start)[sideways, :2].T))
            reach = _WAY_IN * radius[sideways[0]]
            stays = (gone > reach) & (np.arange(gone.size) > 0)
            if sideways.size > _LEAST_PASSES:
                stays &= (gone < gone[-1] - reach) & (np.arange(gone.size) < gone.size - 1)
            core_low[first : sideways[stays][0] if stays.any() else after] = math.nan
            core_low[sideways[stays][-1] + 1 if stays.any() else after : after] = math.nan
    return enters, core_low, core_high


def _below(path: Path, low: Array, high: Array, top: float) -> tuple[Array, Array]:
    """The box in X and Y, (n, 2) twice, of that part of every row that lies below the top; arcs as a whole."""
    z = path.start[:, 2], path.end[:, 2]
    crosses = (path.arc < 0) & (np.minimum(*z) < top) & (np.maximum(*z) > top)
    core_low, core_high = low[:, :2].copy(), high[:, :2].copy()
    share = ((top - z[0][crosses]) / (z[1] - z[0])[crosses])[:, None]
    start, end = path.start[crosses, :2], path.end[crosses, :2]
    meets, under = start + share * (end - start), np.where((z[0] < z[1])[crosses, None], start, end)
    core_low[crosses], core_high[crosses] = np.minimum(meets, under), np.maximum(meets, under)
    return core_low, core_high


def _closed_at(path: Path, rows: NDArray[np.intp]) -> tuple[int, int, Array] | None:
    """Where a run that goes round meets its own beginning: an early row, a late row, and the point (2,) they share."""
    for one in rows[:_WAY_IN].tolist():
        for other in rows[: -_WAY_IN - 1 : -1].tolist():
            if other - one < _LEAST_PASSES:
                break
            a, b, c, d = path.start[one, :2], path.end[one, :2], path.start[other, :2], path.end[other, :2]
            if np.abs(b - c).max() <= _LEVEL_MM or np.abs(b - d).max() <= _LEVEL_MM:
                return one, other, b
            if path.arc[one] < 0 and path.arc[other] < 0:
                turn = (b - a)[0] * (d - c)[1] - (b - a)[1] * (d - c)[0]
                if abs(turn) > SAME_PLACE_MM:
                    along = ((c - a)[0] * (d - c)[1] - (c - a)[1] * (d - c)[0]) / turn
                    across = ((c - a)[0] * (b - a)[1] - (c - a)[1] * (b - a)[0]) / turn
                    if SAME_PLACE_MM < along <= 1.0 and 0.0 <= across < 1.0 - SAME_PLACE_MM:  # not where both begin and end
                        return one, other, a + along * (b - a)
    return None


# --- the top ---------------------------------------------------------------------------------------------------------------


def find_top(reading: ProgramReading, tools: Sequence[DraftTool]) -> Top:
    """Where the blank's top lies: by a comment, by a stated thickness, else at Z0; above what is faced in any case."""
    rows = _feed_rows(reading.path, tools)
    level = (rows.high[:, 2] - rows.low[:, 2] <= _LEVEL_MM) & ((rows.high - rows.low)[:, :2].max(axis=1) > _LEVEL_MM)
    faced, zero, told = _faced(rows[level], tools), told_zero(reading), _told_top(reading, rows, rows[level])
    said = zero is not None and (zero[1].z is not None or zero[1].above is not None)
    if faced is None or (said and (faced[0] < told.z - _LEVEL_MM or stated_size(reading).sizes[2] is not None)):
        return told
    z, step = faced
    at, more = (number_text(value, inch=reading.inch) for value in faced)
    shown = f"faced at Z{at}, so metal stands above that: {more} taken"
    return Top(z + step, cite(shown), bottom=told.bottom if said else None, most=z + step + _TWICE_FACED_MM)


def _told_top(reading: ProgramReading, rows: _Rows, levels: _Rows) -> Top:
    zero = told_zero(reading)
    least = float(rows.low[:, 2].min())
    highest = float(levels.high[:, 2].max(initial=-math.inf))
    stated = stated_size(reading)
    thick = stated.sizes[2]
    if zero is not None and zero[1].above is not None:
        return Top(zero[1].above, cited(zero[0], first_of(reading.hints[zero[0]].zeros, "above")))
    if zero is not None and zero[1].z == "bottom":
        return Top(max(highest, 0.0) if thick is None else thick, cited(*zero), bottom=0.0)
    if zero is not None and zero[1].z == "top":
        return Top(0.0, cited(*zero))
    if thick is not None and highest > thick / 2 - _LEVEL_MM and least > -thick / 4:
        shown = f"Z{number_text(highest, inch=reading.inch)} to Z{number_text(least, inch=reading.inch)}"
        return Top(max(thick, highest), cite(f"the cuts lie from {shown}: zero is taken as the underside"), bottom=0.0)
    if least >= -_LEVEL_MM and _SHALLOW_MM < highest < math.inf:
        return Top(highest, cite(f"everything is cut from Z{number_text(highest, inch=reading.inch)} down to Z0"), bottom=0.0,
                   most=highest + _TWICE_FACED_MM, least=_mostly_below(levels, highest))  # fmt: skip
    if least >= -_LEVEL_MM and highest > _LEVEL_MM:
        return Top(highest, cite(f"highest cut, Z{number_text(highest, inch=reading.inch)}"), most=highest + _TWICE_FACED_MM,
                   least=_mostly_below(levels, highest))  # fmt: skip
    if stated.every_side > 0.0:
        more = number_text(stated.every_side, inch=reading.inch)
        why = f"{more} more on every side, and nothing says whether Z0 is the blank's top or the part's; the part's taken"
        return Top(stated.every_side, cite(why), least=0.0, most=stated.every_side)
    return Top(0.0, cite("nothing tells the blank's top; Z0 taken"), most=max(_TWICE_FACED_MM, stated.more_thick))


def _mostly_below(levels: _Rows, highest: float) -> float | None:
    """The level at or below which four fifths of what is fed sideways lie, where that is not the highest: so little may be fed
    through air, and the top lie there."""
    order = np.argsort(levels.high[:, 2])
    length = np.cumsum((levels.high - levels.low)[order, :2].sum(axis=1))
    level = float(levels.high[order[int(np.searchsorted(length, _MOSTLY * length[-1]))], 2])
    return level if level < highest - _LEVEL_MM else None


def _faced(levels: _Rows, tools: Sequence[DraftTool]) -> tuple[float, float] | None:
    """The highest level at or above zero that is faced, and how much is taken off there: the step to the next level, if the same is
    cut again further down. Whatever a face mill does is facing; of another tool what it does alike at three levels."""
    found, near = [], levels[(levels.high[:, 2] >= -_LEVEL_MM) & (levels.high[:, 2] <= _FACING_MM)]
    for tool in tools:
        steps = _alike(near[near.station == tool.station])
        if steps and (tool.tool.kind == "face mill" or len(steps) >= _LEAST_PASSES):
            found.append((steps[0], steps[0] - steps[1] if len(steps) > 1 else _FACED_OFF_MM))
    return max(found, default=None)


def _alike(levels: _Rows) -> list[float]:
    """Levels from the highest down at which the same is cut as at the highest: in X and Y the same box."""
    boxes: dict[float, Array] = {}
    for z in sorted(dict.fromkeys(levels.high[:, 2].round(3).tolist()), reverse=True):
        own = levels[np.abs(levels.high[:, 2] - z) <= _LEVEL_MM]
        boxes[z] = np.concatenate([own.low[:, :2].min(axis=0), own.high[:, :2].max(axis=0)])
    return [z for z, box in boxes.items() if np.abs(box - next(iter(boxes.values()))).max() <= _LEVEL_MM]


# --- the box -----------------------------------------------------------------------------------------------------------------


def draft_blank(reading: ProgramReading, path: Path, tools: Sequence[DraftTool], top: Top) -> DraftBlank:
    """The blank around what the program cuts. `path`: with cutter compensation at the tools' radii."""
    rows = _feed_rows(path, tools, top=top.z)
    low, high, cuts, least = _cut_box(rows, tools, top.z)
    blank = DraftBlank(np.array([*low, 0.0]), np.array([*high, top.z]), np.zeros((2, 3), bool))
    blank.fixed[1, 2] = True
    stated = stated_size(reading)
    blank.why_size += stated.why
    blank.why_place += stated.why_place
    _place_sideways(reading, blank, cuts, stated)
    _set_bottom(reading, blank, path, rows, tools, top, stated)
    if stated.diameter is not None:
        _make_round(blank, stated.diameter, cuts)
    moves = motions_of(path, rapid=reading.profile.rapid)
    _ranges(blank, rows, least, moves, _tool_rows(path, tools)[1][moves.ident])
    if blank.size_faces:
        stop = reading.interpreted.stopped_at
        upto = f" up to line {stop.line}, where the reading stops; the rest may reach further" if stop is not None else ""
        blank.why_size.insert(0, cite(f"drawn around what the program cuts{upto}, measure yours"))
        _round_sides(blank, inch=reading.inch)
    if blank.decides is not None:
        blank.why_size.append(_decided(blank, path, inch=reading.inch))
    if stated.part_only:
        _may_be_larger(blank)
    for end, height in enumerate((top.least, top.most)):
        if height is not None:
            blank.place_range = blank.place_range or (np.full(3, math.nan), np.full(3, math.nan))
            blank.place_range[end][2] = blank.low[2] + height - top.z
    blank.why_place = list(dict.fromkeys([*blank.why_place, top.why]))  # one comment may place both
    return blank


def _may_be_larger(blank: DraftBlank) -> None:
    """A blank of which only the part's sizes are known may reach further on every side but the top, which its place tells."""
    for axis, (lower, upper) in enumerate(_SIDES):
        blank.size_faces[lower] = (float(blank.low[axis]) - _PART_ALLOWANCE_MM, float(blank.low[axis]))
        blank.size_faces[upper] = (float(blank.high[axis]), float(blank.high[axis]) + _PART_ALLOWANCE_MM)


def left_over(path: Path, tools: Sequence[DraftTool], blank: DraftBlank) -> Array:
    """Sizes (3,) of what the cuts leave of a blank: as high as the deepest level faced all over, else as it was."""
    rows = _feed_rows(path, tools, top=float(blank.high[2]))
    faces = np.isin(rows.station, [tool.station for tool in tools if tool.tool.kind == "face mill"])
    rows = rows[(faces | _faces_like(rows, float(blank.high[2]))) & (rows.high[:, 2] - rows.low[:, 2] <= _LEVEL_MM)]
    top = float(blank.high[2])
    for level in np.unique(np.round(rows.high[:, 2], 3)).tolist():
        at = rows[np.abs(rows.high[:, 2] - level) <= _LEVEL_MM]
        reach = at.radius[:, None] + _CLEAR_MM
        covers = ((at.low[:, :2] - reach).min(axis=0) <= blank.low[:2]) & ((at.high[:, :2] + reach).max(axis=0) >= blank.high[:2])
        if level < top and covers.all():
            top = level
            break
    return np.array([*blank.size[:2], top - blank.low[2]])


def _cut_box(rows: _Rows, tools: Sequence[DraftTool], top: float) -> tuple[Array, Array, tuple[Array, Array], tuple[Array, Array]]:
    """Sides of a blank around the cuts, (2,) each, the box of the tool's centre in them, and the least box that has something to be
    cut everywhere: of what comes in from beside the blank only the tool's inner side need meet it."""
    faces = np.isin(rows.station, [tool.station for tool in tools if tool.tool.kind == "face mill"])
    faces = (faces & (rows.low[:, 2] <= top + _FACING_MM)) | _faces_like(rows, top)
    cutting = (rows.low[:, 2] < top - _LEVEL_MM) & ~faces
    core = cutting & ~np.isnan(rows.core_low[:, 0])
    inner, outer = rows[core if core.any() else cutting], rows[faces]
    if len(inner.low):
        reach = inner.radius[:, None]
        inner_low, inner_high = (inner.core_low, inner.core_high) if core.any() else (inner.low[:, :2], inner.high[:, :2])
        # what comes in from beside the blank cuts its edge: the metal reaches to the tool's axis at least; all else stays inside
        beside = np.where(inner.enters[:, None], 0.0, reach + _WALL_MM)
        low, high = (inner_low - beside).min(axis=0), (inner_high + beside).max(axis=0)
        centre = inner_low.min(axis=0), inner_high.max(axis=0)
        inside = np.where(inner.enters[:, None], reach, 0.0)
        least = (inner_low + inside).min(axis=0), (inner_high - inside).max(axis=0)
        if len(outer.low):
            # a facing pass covers the whole top: the blank ends there, unless a tool that cuts inside it goes further
            face_low, face_high = _faced_box(outer)
            drilling = np.isin(inner.station, [tool.station for tool in tools if tool.tool.kind in _INSIDE_KINDS])[:, None]
            inward = np.where(drilling, -reach - _WALL_MM, reach)
            low = np.minimum(face_low, (inner_low + inward).min(axis=0))
            high = np.maximum(face_high, (inner_high - inward).max(axis=0))
    elif len(outer.low):
        low, high = _faced_box(outer)
        least = centre = outer.low[:, :2].min(axis=0), outer.high[:, :2].max(axis=0)
    else:
        low, high = (rows.low[:, :2] - rows.radius[:, None]).min(axis=0), (rows.high[:, :2] + rows.radius[:, None]).max(axis=0)
        least = centre = rows.low[:, :2].min(axis=0), rows.high[:, :2].max(axis=0)
    low, high = np.where((low > 0.0) & (low <= _SNAP_MM), 0.0, low), np.where((high < 0.0) & (high >= -_SNAP_MM), 0.0, high)
    return low, high, centre, least


def _faces_like(rows: _Rows, top: float) -> NDArray[np.bool_]:
    """Rows near the top that run to and fro across the whole of it, coming in from beside the blank: bool (n,)."""
    found = np.zeros(len(rows.low), np.bool_)
    near = rows.enters & (rows.high[:, 2] < top - _LEVEL_MM) & (rows.low[:, 2] > top - _FACING_MM)
    size = (rows.high - rows.low)[:, :2]
    for station in np.unique(rows.station[near]).tolist():
        own = near & (rows.station == station)
        for axis in range(2):
            along = own & (size[:, axis] > _LEVEL_MM) & (size[:, 1 - axis] <= _LEVEL_MM)
            if np.count_nonzero(along) < _LEAST_PASSES or np.ptp(rows.low[along, 1 - axis]) < rows.radius[along].max():
                continue
            longest = float(size[along, axis].max())
            if (size[along, axis] >= longest * _COVER).sum() >= np.count_nonzero(along) - 2 and not (
                own & (size.min(axis=1) > _LEVEL_MM)
            ).any():
                found |= own
    return found


def _faced_box(rows: _Rows) -> tuple[Array, Array]:
    """What facing passes cover: they run out beyond the metal along the pass, overlap it across, and turn round beside it."""
    straight = (rows.high - rows.low)[:, :2].min(axis=1) <= _LEVEL_MM
    rows = rows[straight] if straight.any() else rows
    length = (rows.high - rows.low)[:, :2]
    low, high, radius = rows.low[:, :2].min(axis=0), rows.high[:, :2].max(axis=0), float(rows.radius.max())
    along = length.sum(axis=0) >= length.sum(axis=0).max() - SAME_PLACE_MM
    inner_low, inner_high = low + radius + _CLEAR_MM, high - radius - _CLEAR_MM
    runs_out = along & (inner_high - inner_low > (high - low) / 3)
    cover = np.where(along, 0.0, _COVER * radius)
    return np.where(runs_out, inner_low, low - cover), np.where(runs_out, inner_high, high + cover)


# --- where it lies ----------------------------------------------------------------------------------------------------------------


def _place_sideways(reading: ProgramReading, blank: DraftBlank, cuts: tuple[Array, Array], stated: Stated) -> None:
    """Sides along X and Y from where zero lies and how large the blank is."""
    zero = told_zero(reading)
    if zero is not None and (zero[1].x or zero[1].y):
        blank.why_place.append(cited(*zero))
    longer = 0 if cuts[1][0] - cuts[0][0] >= cuts[1][1] - cuts[0][1] else 1
    sizes = list(stated.sizes)
    for axis, size in ((longer, stated.length), (1 - longer, stated.width)):
        sizes[axis] = size if sizes[axis] is None else sizes[axis]
    for axis, places in enumerate(_SIDES):
        size = sizes[axis]
        middle = float(cuts[0][axis] + cuts[1][axis]) / 2
        side = getattr(zero[1], "xy"[axis]) if zero is not None else None
        if side is not None and not _agrees(side, middle, places, size):
            blank.why_place.append(cite(f"the comment puts zero {side}, but the cuts lie on its other side; the cuts are followed"))
            side = None
        if side is None and size is None:
            continue
        if side is None:
            side = _likeliest(float(cuts[0][axis]), float(cuts[1][axis]), float(size or 0.0), places)
            _place_open(blank, axis, cuts, float(size or 0.0), side, places)
        low, high = blank.low[axis], blank.high[axis]
        reach = size if size is not None else max(high, -low) * (2.0 if side == "centre" else 1.0)
        low = {places[0]: 0.0, places[1]: -reach, "centre": -reach / 2}[side]
        if stated.every_side > 0.0 and side != "centre":  # zero may be the blank's side or the part's
            low += stated.every_side * (-1.0 if side == places[0] else 1.0)
            _also_at(blank, axis, (low, low - stated.every_side * (-1.0 if side == places[0] else 1.0)))
        blank.low[axis], blank.high[axis] = low, low + reach
        blank.fixed[:, axis] = (side == places[0] or size is not None, side == places[1] or size is not None)


def _agrees(side: str, middle: float, places: tuple[str, str], size: float | None) -> bool:
    slack = (size or 0.0) / 10
    return (side == "centre") or (middle >= -slack if side == places[0] else middle <= slack)


def _spans(size: float, places: tuple[str, str]) -> dict[str, tuple[float, float]]:
    """Where a blank of that size lies along an axis, for each of the three usual places of zero."""
    return {places[0]: (0.0, size), places[1]: (-size, 0.0), "centre": (-size / 2, size / 2)}


def _likeliest(low: float, high: float, size: float, places: tuple[str, str]) -> str:
    """Which of the three usual places of zero puts most of the cuts on the blank."""
    spans = _spans(size, places)

    def covered(name: str) -> float:
        return min(high, spans[name][1]) - max(low, spans[name][0]) - abs(sum(spans[name]) - low - high) / 8

    return max(spans, key=covered)


def _place_open(blank: DraftBlank, axis: int, cuts: tuple[Array, Array], size: float, side: str, places: tuple[str, str]) -> None:
    """Nothing says where zero lies along an axis: the other usual places that leave half of the cuts on the blank stay possible."""
    low, high = float(cuts[0][axis]), float(cuts[1][axis])
    spans = _spans(size, places)
    on = {name: (min(high, b) - max(low, a)) >= _PLAUSIBLE * (high - low) for name, (a, b) in spans.items()}
    _also_at(blank, axis, [spans[name][0] for name, fits in on.items() if fits or name == side])
    text = f"nothing says where zero lies along {'XY'[axis]}; the {side} taken, where most of the cuts lie on it"
    blank.why_place.append(cite(text))


def _also_at(blank: DraftBlank, axis: int, corners: Sequence[float]) -> None:
    """The least corner may lie at these places along an axis as well."""
    low, high = blank.place_range or (np.full(3, math.nan), np.full(3, math.nan))
    low[axis], high[axis] = np.fmin(low[axis], min(corners)), np.fmax(high[axis], max(corners))
    blank.place_range = low, high


def _set_bottom(
    reading: ProgramReading, blank: DraftBlank, path: Path, rows: _Rows, tools: Sequence[DraftTool], top: Top, stated: Stated
) -> None:
    """The bottom: from the thickness a comment gives, from zero at the bottom, else well below the deepest cut."""
    inch = reading.inch
    if stated.sizes[2] is not None and stated.why_thick is not None:
        blank.low[2] = top.z - stated.sizes[2]
        blank.why_thick.append(stated.why_thick)
        blank.fixed[0, 2] = True
        return
    deepest = int(rows.low[:, 2].argmin())
    depth = top.z - float(rows.low[deepest, 2])
    line, file = int(path.line[rows.row[deepest]]), path.files[int(path.file[rows.row[deepest]])]
    if top.bottom is not None:
        blank.low[2] = min(top.bottom, top.z - 1.0)
        blank.fixed[0, 2] = True
        blank.why_thick.append(cite("the underside lies at zero"))
        return
    small = sorted(blank.size[:2].tolist())
    if small[0] <= _WIDEST_IN_VISE_MM and small[1] <= _LONGEST_IN_VISE_MM:
        thick = max(depth + _BELOW_CUT_MM, _LEAST_THICK_MM)
        why = "thick enough to grip 12 mm below the deepest cut"
    else:
        blank.sheet = True
        thick = max(depth + max(depth * _SHEET_SPARE, _CLEAR_MM), _LEAST_SHEET_MM)
        why = "too large for the vise, taken as sheet, thicker than the deepest cut"
    blank.low[2] = top.z - tidy(thick, inch=inch)
    if depth > _LEVEL_MM:
        why += f", {number_text(depth, inch=inch)} below its top in line {line}; a thinner one is cut through"
    blank.why_thick.append(cite(why, file=file, line=line))
    thinnest = max(depth - _CLEAR_MM, depth / 2) if depth > _LEVEL_MM else _CLEAR_MM
    if not blank.sheet:  # a vise needs something to grip below all that is milled
        milled = top.z - rows.low[~np.isin(rows.station, [t.station for t in tools if t.tool.kind in _INSIDE_KINDS]), 2]
        thinnest = max(thinnest, float(milled.max(initial=0.0)) + _LEAST_GRIPPED_MM)
    blank.thick_faces["bottom"] = (top.z - _MOST_BELOW * float(blank.size[2]), top.z - min(thinnest, float(blank.size[2])))


def _make_round(blank: DraftBlank, diameter: float, cuts: tuple[Array, Array]) -> None:
    middle = (cuts[0] + cuts[1]) / 2
    centre = np.where(np.abs(middle) <= diameter / 2, 0.0, middle)
    blank.low[:2], blank.high[:2] = centre - diameter / 2, centre + diameter / 2
    blank.fixed[:, :2] = True
    blank.round_size = (diameter, float(blank.high[2] - blank.low[2]))


def _round_sides(blank: DraftBlank, *, inch: bool) -> None:
    """Guessed sides outward to a tenth of a mm (a hundredth of an inch)."""
    step = 0.254 if inch else 0.1
    for axis in range(2):
        if not blank.fixed[0, axis]:
            blank.low[axis] = math.floor(blank.low[axis] / step + SAME_PLACE_MM) * step
        if not blank.fixed[1, axis]:
            blank.high[axis] = math.ceil(blank.high[axis] / step - SAME_PLACE_MM) * step


# --- what the guess of a side decides ----------------------------------------------------------------------------------------


def _ranges(blank: DraftBlank, rows: _Rows, inner: tuple[Array, Array], moves: Moves, radii: Array) -> None:
    """How far every guessed side may lie: least at `inner`, where every cut still meets something, most around everything that
    moves below the top.

    The first rapid that meets metal only if a side lies further out is told with its line.
    """
    low, high = extent_of(moves)
    reach = radii[:, None] + _CLEAR_MM
    below = (moves.kind == MoveKind.RAPID) & (low[:, 2] < blank.high[2] - _LEVEL_MM)
    outermost = np.concatenate([rows.low[:, :2] - rows.radius[:, None], (low[:, :2] - reach)[below]]).min(axis=0)
    furthest = np.concatenate([rows.high[:, :2] + rows.radius[:, None], (high[:, :2] + reach)[below]]).max(axis=0)
    for axis, (lower, upper) in enumerate(_SIDES):
        if not blank.fixed[0, axis]:
            least = min(float(outermost[axis]) - _WALL_MM, float(blank.low[axis]))
            blank.size_faces[lower] = (least, max(float(inner[0][axis]), float(blank.low[axis])))
        if not blank.fixed[1, axis]:
            most = max(float(furthest[axis]) + _WALL_MM, float(blank.high[axis]))
            blank.size_faces[upper] = (min(float(inner[1][axis]), float(blank.high[axis])), most)
    if not blank.size_faces:
        return
    xy_low, xy_high = blank.low[:2].copy(), blank.high[:2].copy()
    for axis, (lower, upper) in enumerate(_SIDES):
        xy_low[axis] = blank.size_faces.get(lower, (xy_low[axis], 0.0))[0]
        xy_high[axis] = blank.size_faces.get(upper, (0.0, xy_high[axis]))[1]
    over = (high[:, :2] + radii[:, None] > xy_low).all(axis=1) & (low[:, :2] - radii[:, None] < xy_high).all(axis=1)
    hit = (high[:, :2] + radii[:, None] > blank.low[:2]).all(axis=1) & (low[:, :2] - radii[:, None] < blank.high[:2]).all(axis=1)
    first = np.flatnonzero(below & over & ~hit)
    if first.size:
        row = int(first[0])
        near, far = low[row, :2] - radii[row], high[row, :2] + radii[row]
        beyond = [(axis, far[axis] if far[axis] <= blank.low[axis] else near[axis]) for axis in range(2)
                  if far[axis] <= blank.low[axis] or near[axis] >= blank.high[axis]]  # fmt: skip
        blank.decides = int(moves.ident[row]), [("XY"[axis], float(value)) for axis, value in beyond]


def _decided(blank: DraftBlank, path: Path, *, inch: bool) -> Evidence:
    """What a rapid beside the blank means for its sides."""
    assert blank.decides is not None
    row, beyond = blank.decides
    file, line = path.files[int(path.file[row])], int(path.line[row])
    sides = " and ".join(f"{axis}{number_text(value, inch=inch)}" for axis, value in beyond)
    return cite(f"the rapid of line {line} runs into it if it reaches beyond {sides}", file=file, line=line)
