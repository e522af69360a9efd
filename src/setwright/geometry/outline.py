"""The outline of a turned body from a drawing or a solid: radius over height, from the lowest point upward.

Read are drawings in the open DXF text form (LINE, ARC and LWPOLYLINE of its ENTITIES section, in the XY plane: X is the radius,
Y the height, drawn on one side of the axis or on both) and solids as STL, 3MF, OBJ, PLY, OFF or STEP (axis along Z through X0 Y0).
What turns fills the largest radius that the body has at a height, so that is what counts; flutes are filled by turning. Arcs
become chords within CHORD_SAGITTA_MM; between two heights at which the body has a corner the outline is straight and nowhere
inside it.
Source of the text form: the published description of the DXF group codes.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.base.tolerance import CHORD_SAGITTA_MM, SAME_PLACE_MM
from setwright.geometry.meshes import read_mesh

__all__ = ["Outline", "outline_of"]

_READ: Final = ("LINE", "ARC", "LWPOLYLINE")
_DXF_UNIT_MM: Final = {"1": 25.4, "4": 1.0, "5": 10.0, "6": 1000.0}
_OFF_AXIS: Final = 0.01
"""A body counts as centred on its axis within this share of its width; a drawing as the same on both sides likewise."""

Segments = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Outline:
    """Radius and height of each corner, mm, from the tip (height 0) upward; a step has two corners of one height. `unread`: kinds
    of things in the file that were not read, with their number. `unit_stated`: whether the file says its unit."""

    points: tuple[tuple[float, float], ...]
    unread: dict[str, int] = field(default_factory=dict)
    unit_stated: bool = True

    @property
    def steps(self) -> tuple[tuple[float, float, float], ...]:
        """Lower diameter, upper diameter and length of each step."""
        return tuple((2.0 * r0, 2.0 * r1, z1 - z0) for (r0, z0), (r1, z1) in pairwise(self.points) if z1 - z0 > SAME_PLACE_MM)


def outline_of(data: bytes, *, name: str, millimetres: float = 1.0) -> Outline:
    """The outline in a file. `millimetres`: the size of its unit where it does not state one.

    Raises InputRefused for what cannot be read, for a drawing without an outline, and for a body that is not centred on its axis.
    """
    if name.lower().endswith(".dxf"):
        segments, unread, stated = _of_drawing(data, name, millimetres)
    else:
        triangles = read_mesh(data, name=name, millimetres=millimetres)
        segments, unread = _of_solid(triangles, name), {}
        stated = name.lower().endswith((".step", ".stp", ".3mf"))
    points = _envelope(segments)
    if len(points) < 2 or max(r for r, _ in points) <= SAME_PLACE_MM:
        raise InputRefused.because("there is no outline in this file",
                                   why=_said(unread) or "nothing in it has a height and a width",
                                   remedy="draw it with lines and arcs, X as radius and Y as height", span=Span(name))  # fmt: skip
    return Outline(points, unread, stated)


def _said(unread: dict[str, int]) -> str:
    return f"not read: {', '.join(f'{count} {kind}' for kind, count in unread.items())}" if unread else ""


# --- a drawing ---------------------------------------------------------------------------------------------------------------


def _of_drawing(data: bytes, name: str, millimetres: float) -> tuple[Segments, dict[str, int], bool]:
    pairs = _pairs(data, name)
    unit = next((after[1] for before, after in pairwise(pairs) if before == ("9", "$INSUNITS")), "0")
    factor = _DXF_UNIT_MM.get(unit)
    found, unread = [], Counter[str]()
    for kind, groups in _entities(pairs):
        if kind not in _READ:
            unread[kind] += 1
            continue
        try:
            found += _drawn(kind, groups)
        except (KeyError, ValueError, IndexError) as error:
            raise InputRefused.because(f"a {kind} in this drawing cannot be read", why=str(error), remedy="export it again as text",
                                       span=Span(name)) from error  # fmt: skip
    segments = np.array(found, np.float64).reshape(-1, 2, 2) * (millimetres if factor is None else factor)
    if segments.size and segments[..., 0].min() < -SAME_PLACE_MM < SAME_PLACE_MM < segments[..., 0].max():
        _refuse_lopsided(segments, name)
    return np.abs(segments * (1.0, 0.0)) + segments * (0.0, 1.0), dict(unread), factor is not None


def _refuse_lopsided(segments: Segments, name: str) -> None:
    """A drawing of both sides shows the same outline on each."""
    left, right = -float(segments[..., 0].min()), float(segments[..., 0].max())
    if abs(left - right) > _OFF_AXIS * max(left, right):
        raise InputRefused.because(f"the outline reaches X-{left:g} and X{right:g}", span=Span(name),
                                   why="its axis is X0, and both sides are not alike",
                                   remedy="move it so that the axis lies on X0")  # fmt: skip


def _pairs(data: bytes, name: str) -> list[tuple[str, str]]:
    """Group codes with their values."""
    if data.startswith(b"AutoCAD Binary DXF"):
        raise InputRefused.because("this drawing is in the binary form", remedy="export it in the text form", span=Span(name))
    lines = [line.strip() for line in data.decode("utf-8", errors="replace").splitlines()]
    pairs = list(zip(lines[::2], lines[1::2], strict=False))
    if not any(pair == ("2", "ENTITIES") for pair in pairs):
        raise InputRefused.because("this is no drawing in the DXF text form", why="it has no ENTITIES section",
                                   remedy="export it again as DXF text", span=Span(name))  # fmt: skip
    return pairs


def _entities(pairs: list[tuple[str, str]]) -> list[tuple[str, list[tuple[str, str]]]]:
    """Kind and groups of everything in the ENTITIES section."""
    begin = pairs.index(("2", "ENTITIES")) + 1
    found: list[tuple[str, list[tuple[str, str]]]] = []
    for code, value in pairs[begin:]:
        if code == "0" and value == "ENDSEC":
            break
        if code == "0":
            found.append((value, []))
        elif found:
            found[-1][1].append((code, value))
    return found


def _drawn(kind: str, groups: list[tuple[str, str]]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """The straight pieces of one entity."""
    value = dict(groups)
    if kind == "LINE":
        return [((float(value["10"]), float(value["20"])), (float(value["11"]), float(value["21"])))]
    if kind == "ARC":
        begin, end = math.radians(float(value["50"])), math.radians(float(value["51"]))
        sweep = (end - begin) % (2.0 * math.pi) or 2.0 * math.pi
        return _chords((float(value["10"]), float(value["20"])), float(value["40"]), begin, sweep)
    corners: list[list[float]] = []
    for code, text in groups:
        if code == "10":
            corners.append([float(text), 0.0, 0.0])
        elif code == "20":
            corners[-1][1] = float(text)
        elif code == "42":
            corners[-1][2] = float(text)
    if int(value.get("70", "0")) & 1 and corners:
        corners.append(corners[0])
    return [piece for a, b in pairwise(corners) for piece in _bulged((a[0], a[1]), (b[0], b[1]), a[2])]


def _bulged(a: tuple[float, float], b: tuple[float, float], bulge: float) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """A piece of a polyline; the bulge is the tangent of a quarter of the arc's angle, counter-clockwise if positive."""
    if bulge == 0.0:
        return [(a, b)]
    chord = math.dist(a, b)
    sweep = 4.0 * math.atan(bulge)
    radius = chord / 2.0 / math.sin(abs(sweep) / 2.0)
    # the centre lies on the chord's halving line, to its left for a counter-clockwise arc of less than half a turn
    away = math.copysign(radius * math.cos(sweep / 2.0), bulge)
    nx, ny = -(b[1] - a[1]) / chord, (b[0] - a[0]) / chord
    centre = (a[0] + b[0]) / 2.0 + nx * away, (a[1] + b[1]) / 2.0 + ny * away
    return _chords(centre, radius, math.atan2(a[1] - centre[1], a[0] - centre[0]), sweep)


def _chords(
    centre: tuple[float, float], radius: float, begin: float, sweep: float
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """An arc as chords that nowhere lie farther inside it than CHORD_SAGITTA_MM."""
    if not radius > 0.0:
        raise ValueError(f"an arc of radius {radius:g}")
    step = 2.0 * math.acos(max(1.0 - CHORD_SAGITTA_MM / radius, 0.0))
    count = max(4, math.ceil(abs(sweep) / step))
    turns = [begin + sweep * k / count for k in range(count + 1)]
    points = [(centre[0] + radius * math.cos(turn), centre[1] + radius * math.sin(turn)) for turn in turns]
    return list(pairwise(points))


# --- a solid -----------------------------------------------------------------------------------------------------------------


def _of_solid(triangles: NDArray[np.float64], name: str) -> Segments:
    """The edges of a solid as radius over height; refused where Z is not its axis."""
    low, high = triangles.reshape(-1, 3).min(axis=0), triangles.reshape(-1, 3).max(axis=0)
    for axis in range(2):
        if abs(low[axis] + high[axis]) > 2.0 * _OFF_AXIS * (high[axis] - low[axis]):
            x, y = (f"{'XY'[k]} {low[k]:g} to {high[k]:g}" for k in range(2))
            raise InputRefused.because(f"the body is not centred on X0 Y0 (it reaches from {x}, {y})",
                                       why="a tool turns about Z through X0 Y0",
                                       remedy="export it with its axis there", span=Span(name))  # fmt: skip
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    return np.stack([np.hypot(edges[..., 0], edges[..., 1]), edges[..., 2]], axis=-1)


# --- both -------------------------------------------------------------------------------------------------------------------


def _envelope(segments: Segments) -> tuple[tuple[float, float], ...]:
    """The greatest radius over height: corners from height 0 upward."""
    if not segments.size:
        return ()
    lowest = segments[..., 1].min()
    ordered = np.take_along_axis(segments, segments[..., 1].argsort(axis=1)[..., None], axis=1)
    steep = ordered[ordered[:, 1, 1] - ordered[:, 0, 1] > SAME_PLACE_MM]
    levels = np.unique(np.round(segments[..., 1], 7))
    levels = levels[np.concatenate([[True], np.diff(levels) > SAME_PLACE_MM])]
    points: list[tuple[float, float]] = []
    for low, high in pairwise(levels.tolist()):
        here = steep[(steep[:, 0, 1] <= low + SAME_PLACE_MM) & (steep[:, 1, 1] >= high - SAME_PLACE_MM)]
        if not len(here):
            continue
        rise = here[:, 1, 1] - here[:, 0, 1]
        ends = [here[:, 0, 0] + (here[:, 1, 0] - here[:, 0, 0]) * (z - here[:, 0, 1]) / rise for z in (low, high)]
        points += [(float(ends[0].max()), low - lowest), (float(ends[1].max()), high - lowest)]
    return _plain(points)


def _plain(points: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Without corners that are none, to a tenth of the chords' own error."""
    kept: list[tuple[float, float]] = []
    for point in points:
        if kept and math.dist(kept[-1], point) <= SAME_PLACE_MM:
            continue
        while len(kept) > 1 and _beside(kept[-2], kept[-1], point) <= CHORD_SAGITTA_MM / 10.0:
            kept.pop()
        kept.append(point)
    return tuple((round(float(r), 6), round(float(z), 6)) for r, z in kept)


def _beside(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    """How far b lies beside the line from a to c; far for a corner that is no rise."""
    length = math.dist(a, c)
    if length <= SAME_PLACE_MM or not a[1] <= b[1] <= c[1]:
        return math.inf
    return abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / length
