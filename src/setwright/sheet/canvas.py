"""A small SVG writer in paper millimetres, Y down, that remembers which places are taken."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Final

__all__ = ["FAMILY", "Canvas", "Place", "Rectangle", "text_width"]

Place = tuple[float, float]
Rectangle = tuple[float, float, float, float]
"""Left, top, right, bottom on paper, mm."""

FAMILY: Final = "Inter"
_WIDTH_PER_HEIGHT: Final = 0.6
_HEAD: Final = (1.9, 0.55)


def text_width(text: str, size: float) -> float:
    """About how wide a text prints, mm: a little more than the font's mean, so that texts kept apart by it stay apart."""
    return _WIDTH_PER_HEIGHT * size * len(text)


@dataclass(slots=True)
class Canvas:
    """Collects elements in drawing order; `taken` holds the rectangles that texts keep clear of."""

    width: float
    height: float
    elements: list[str] = field(default_factory=list)
    taken: list[Rectangle] = field(default_factory=list)

    def line(self, start: Place, end: Place, *, width: float = 0.25, dash: str = "") -> None:
        """A straight stroke."""
        self._add("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], stroke="black", stroke_width=width, stroke_dasharray=dash)

    def window(self, name: str, rectangle: Rectangle) -> None:
        """Define a rectangle that outlines can be cut to."""
        left, top, right, bottom = rectangle
        inside = f'<rect x="{left:.4f}" y="{top:.4f}" width="{right - left:.4f}" height="{bottom - top:.4f}"/>'
        self.elements.append(f'<clipPath id="{name}">{inside}</clipPath>')

    def polygon(
        self, points: Iterable[Place], *, fill: str = "none", width: float = 0.25, dash: str = "", name: str = "", window: str = ""
    ) -> None:
        """A closed outline. `name` becomes the element's class, for whoever looks into the file; `window` cuts it."""
        corners = " ".join(f"{x:.4f},{y:.4f}" for x, y in points)
        stroke = "black" if width else "none"
        self._add("polygon", points=corners, fill=fill, stroke=stroke, stroke_width=width, stroke_dasharray=dash,
                  stroke_linejoin="round", class_=name, clip_path=f"url(#{window})" if window else "")  # fmt: skip

    def circle(self, centre: Place, radius: float, *, fill: str = "white", width: float = 0.25, name: str = "") -> None:
        """A circle."""
        self._add("circle", cx=centre[0], cy=centre[1], r=radius, fill=fill, stroke="black", stroke_width=width, class_=name)

    def text(
        self, words: str, at: Place, *, size: float = 3.0, anchor: str = "middle", bold: bool = False, upright: bool = True
    ) -> None:
        """A text whose middle height is at `at`, on a white halo; not `upright` reads from the right, as dimensions do."""
        middle = at[1] + 0.36 * size
        turn = "" if upright else f"rotate(-90 {at[0]:.4f} {at[1]:.4f})"
        self._add("text", words, x=at[0], y=middle, font_family=FAMILY, font_size=size, text_anchor=anchor, transform=turn,
                  font_weight="bold" if bold else "normal", fill="black", stroke="white", stroke_width=0.7,
                  stroke_linejoin="round", paint_order="stroke")  # fmt: skip

    def arrow(self, tail: Place, tip: Place, *, width: float = 0.25) -> None:
        """A stroke with a filled head at its tip."""
        length = math.dist(tail, tip)
        if length == 0.0:
            return
        along = ((tip[0] - tail[0]) / length, (tip[1] - tail[1]) / length)
        foot = (tip[0] - _HEAD[0] * along[0], tip[1] - _HEAD[0] * along[1])
        side = (-along[1] * _HEAD[1], along[0] * _HEAD[1])
        self.line(tail, foot, width=width)
        self.polygon([tip, (foot[0] + side[0], foot[1] + side[1]), (foot[0] - side[0], foot[1] - side[1])], fill="black", width=0)

    def take(self, rectangle: Rectangle) -> None:
        """Mark a place as taken."""
        self.taken.append(rectangle)

    def free(self, rectangle: Rectangle) -> bool:
        """Whether a rectangle lies on the paper and clear of everything taken."""
        left, top, right, bottom = rectangle
        if left < 0.0 or top < 0.0 or right > self.width or bottom > self.height:
            return False
        return all(right <= a or c <= left or bottom <= b or d <= top for a, b, c, d in self.taken)

    def label(self, words: str, middles: Sequence[Place], *, size: float = 3.0) -> bool:
        """Write a text at the first of the places that is free; whether there was one."""
        half = (text_width(words, size) / 2.0, 0.65 * size)
        for x, y in middles:
            around = (x - half[0], y - half[1], x + half[0], y + half[1])
            if self.free(around):
                self.take(around)
                self.text(words, (x, y), size=size)
                return True
        return False

    def svg(self) -> str:
        """The finished picture; one user unit is one millimetre on paper."""
        size = f'width="{self.width:g}mm" height="{self.height:g}mm" viewBox="0 0 {self.width:g} {self.height:g}"'
        return "\n".join([f'<svg xmlns="http://www.w3.org/2000/svg" {size}>', *self.elements, "</svg>\n"])

    def _add(self, tag: str, words: str = "", **attributes: float | str) -> None:
        shown = []
        for name, value in attributes.items():
            if value != "":
                text = f"{value:.4f}" if isinstance(value, float) else value
                shown.append(f'{name.rstrip("_").replace("_", "-")}="{text}"')
        self.elements.append(f"<{tag} {' '.join(shown)}>{escape(words)}</{tag}>")
