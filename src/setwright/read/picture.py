"""The path as one picture: from above and from the front, feed solid and rapid dotted, as SVG."""

from __future__ import annotations

import math
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from setwright.program.path import MoveKind, Path

__all__ = ["draw_path"]

_SIDE = 620.0
_MARGIN = 46.0
_ARC_STEP = math.radians(5.0)
_MOST_ROWS = 200_000
Array = NDArray[np.float64]


def draw_path(path: Path, *, title: str, units: str = "mm") -> str:
    """An SVG of two views to one scale, in the work coordinates of each row. Motions in machine coordinates are left out.

    A path of more than 200,000 rows is drawn by every n-th row, and the picture says so. Arcs are drawn in steps of 5°.
    """
    own = np.array([frame.offset != "machine" for frame in path.frames], np.bool_)[path.frame]
    rows = np.flatnonzero(own)
    step = -(-rows.size // _MOST_ROWS)
    rows = rows[:: max(step, 1)]
    lines = [(path.kind[row] == MoveKind.RAPID, _points(path, row)) for row in rows.tolist()]
    cutting = [points for rapid, points in lines if not rapid] or [points for _, points in lines] or [np.zeros((1, 3))]
    low, high = np.min([p.min(axis=0) for p in cutting], axis=0), np.max([p.max(axis=0) for p in cutting], axis=0)
    scale = _SIDE / max(float((high - low)[:2].max()), float(high[2] - low[2]), 1.0)
    heights = [float(high[1] - low[1]) * scale, float(high[2] - low[2]) * scale]
    width, height = _SIDE + 2 * _MARGIN, sum(heights) + 4 * _MARGIN
    per, unit = (25.4, "in") if units in ("in", "inch") else (1.0, "mm")
    size = f'viewBox="0 0 {width:.0f} {height:.0f}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="sans-serif" font-size="13">',
        f"<title>{escape(title)}</title>", '<rect width="100%" height="100%" fill="white"/>',
        _view(lines, (0, 1), low, high, scale, _MARGIN, f"from above (X right, Y away){_thinned(step)}", per, unit),
        _view(lines, (0, 2), low, high, scale, 3 * _MARGIN + heights[0], "from the front (X right, Z up)", per, unit),
        "</svg>",
    ]  # fmt: skip
    return "\n".join(parts) + "\n"


def _thinned(step: int) -> str:
    return "" if step <= 1 else f", one motion in {step} drawn"


def _points(path: Path, row: int) -> Array:
    """A row as points, float64 (m, 3)."""
    number = int(path.arc[row])
    if number < 0:
        return np.array([path.start[row], path.end[row]])
    axis = int(path.arc_axis[number])
    a, b = (axis + 1) % 3, (axis + 2) % 3
    sweep, centre = float(path.arc_sweep[number]), path.arc_centre[number]
    share = np.linspace(0.0, 1.0, max(2, math.ceil(abs(sweep) / _ARC_STEP) + 1))
    points: Array = path.start[row] + share[:, None] * (path.end[row] - path.start[row])
    u, v = path.start[row, a] - centre[a], path.start[row, b] - centre[b]
    points[:, a] = centre[a] + u * np.cos(sweep * share) - v * np.sin(sweep * share)
    points[:, b] = centre[b] + u * np.sin(sweep * share) + v * np.cos(sweep * share)
    return points


def _view(
    lines: list[tuple[bool, Array]], axes: tuple[int, int], low: Array, high: Array, scale: float, top: float, name: str,
    per: float, unit: str,
) -> str:  # fmt: skip
    """One view: the motions, a frame around the cutting ones, and the numbers at its corners."""
    a, b = axes
    wide, tall = float(high[a] - low[a]) * scale, float(high[b] - low[b]) * scale

    def place(points: Array) -> str:
        x = np.clip(_MARGIN + (points[:, a] - low[a]) * scale, 2.0, _SIDE + 2 * _MARGIN - 2.0)
        y = np.clip(top + tall - (points[:, b] - low[b]) * scale, top - _MARGIN + 18.0, top + tall + _MARGIN - 4.0)
        return " ".join(f"{u:.1f},{v:.1f}" for u, v in zip(x.tolist(), y.tolist(), strict=True))

    border = f'x="{_MARGIN}" y="{top:.1f}" width="{wide:.1f}" height="{tall:.1f}"'
    drawn = [f'<text x="{_MARGIN}" y="{top - _MARGIN + 14:.1f}">{name}</text>',
             f'<rect {border} fill="none" stroke="#999" stroke-width="0.5"/>']  # fmt: skip
    for rapid, style in ((True, 'stroke="#555" stroke-dasharray="1 3"'), (False, 'stroke="black"')):
        parts = " ".join(f"M{place(points)}" for kind, points in lines if bool(kind) == rapid)
        drawn.append(f'<path d="{parts}" fill="none" stroke-width="0.8" {style}/>')
    labels = ((_MARGIN, top + tall + 14.0, f"{'XYZ'[a]} {low[a] / per:.4g}", "start"),
              (_MARGIN + wide, top + tall + 14.0, f"{high[a] / per:.4g} {unit}", "end"),
              (_MARGIN - 4.0, top + tall, f"{'XYZ'[b]} {low[b] / per:.4g}", "end"),
              (_MARGIN - 4.0, top + 12.0, f"{high[b] / per:.4g}", "end"))  # fmt: skip
    drawn += [f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{side}" font-size="11">{text}</text>' for x, y, text, side in labels]
    return "\n".join(drawn)
