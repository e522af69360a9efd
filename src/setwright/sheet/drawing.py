"""The setup drawn to scale: top view, and under it the front view as the person in front of the machine sees it.

Both views come from the same upright prisms in the work frame W. The nearer body hides the farther; hidden edges of the blank, of
parallels and of features are dashed.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from setwright.sheet.canvas import Canvas, Place, Rectangle, text_width
from setwright.sheet.content import Axis, Body, BodyKind, Contact, Dimension, Point, SheetContent
from setwright.sheet.wording import plain_length

__all__ = ["Drawing", "draw_setup"]

_SCALES: Final = (5.0, 2.0, 1.0, 1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 8, 1 / 10, 1 / 15, 1 / 20, 1 / 50, 1 / 100)
_BARS_MM: Final = (5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
_BARS_INCH: Final = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 40.0)
_LEFT: Final = 12.0
_TOP: Final = 9.5
_TIER: Final = 5.5
_CAPTION: Final = 9.0
_FOOT: Final = 10.0
_AXIS: Final = 8.0
_RIM: Final = 4.0
_LETTER: Final = 3.0
_SMALL_LETTER: Final = 2.4
_FAN_RAD: Final = (0.0, math.pi / 5, -math.pi / 5, 2 * math.pi / 5, -2 * math.pi / 5)
_BALLOON: Final = 2.2
_LOOK: Final[dict[BodyKind, tuple[str, float]]] = {
    BodyKind.BLANK: ("white", 0.7),
    BodyKind.JAW: ("#d6d6d6", 0.35),
    BodyKind.PARALLEL: ("#efefef", 0.25),
    BodyKind.STOP: ("#b0b0b0", 0.35),
    BodyKind.CLAMP: ("#b0b0b0", 0.35),
    BodyKind.FIXTURE: ("#e6e6e6", 0.25),
}
_BEYOND: Final = (BodyKind.FIXTURE, BodyKind.TABLE)
_DASH: Final = "1.6 0.9"


@dataclass(frozen=True, slots=True)
class Drawing:
    """The picture as SVG (one unit = 1 mm on paper), its size on paper in mm, and the scale it is drawn to (paper / real)."""

    svg: str
    width: float
    height: float
    scale: float


@dataclass(frozen=True, slots=True)
class _View:
    """Where a view lies: paper = origin + scale * (across, −up); `up` is 1 (Y, seen from above) or 2 (Z, seen from the front)."""

    up: int
    scale: float
    origin: Place
    frame: Rectangle

    def place(self, point: Point) -> Place:
        return self.origin[0] + self.scale * point[0], self.origin[1] - self.scale * point[self.up]

    def outline(self, body: Body) -> list[Place]:
        solid = body.solid
        if self.up == 1:
            return [self.place((x, y, 0.0)) for x, y in solid.outline]
        low, high = min(x for x, _ in solid.outline), max(x for x, _ in solid.outline)
        corners = ((low, solid.bottom), (high, solid.bottom), (high, solid.top), (low, solid.top))
        return [self.place((x, 0.0, z)) for x, z in corners]

    def nearness(self, body: Body) -> float:
        return body.solid.top if self.up == 1 else -min(y for _, y in body.solid.outline)


def draw_setup(content: SheetContent, *, width: float, height: float) -> Drawing:
    """Draw bodies, datum, contacts and dimensions at the largest scale in use that fits `width` x `height` (paper, mm)."""
    solid = [body for body in content.bodies if body.kind not in (*_BEYOND, BodyKind.FEATURE)] or list(content.bodies)
    if not solid:
        canvas = Canvas(width, 12.0)
        canvas.text("Nothing is known yet that could be drawn.", (width / 2, 6.0))
        return Drawing(canvas.svg(), width, 12.0, 1.0)
    low, high = _extent(content, solid)
    tiers = {axis: sum(d.axis is axis for d in content.dimensions) for axis in Axis}
    right = _RIM + 2.0 + _TIER * max(tiers[Axis.Y], tiers[Axis.Z])
    between = 2 * _RIM + _TIER * tiers[Axis.X] + _AXIS
    room = (width - _LEFT - right, height - _TOP - between - _CAPTION - _FOOT)
    fits = (s for s in _SCALES if s * (high[0] - low[0]) <= room[0] and s * (high[1] - low[1] + high[2] - low[2]) <= room[1])
    scale = next(fits, _SCALES[-1])
    top, front = _views(low, high, scale=scale, left=_LEFT + (room[0] - scale * (high[0] - low[0])) / 2, between=between)
    canvas = Canvas(width, front.frame[3] + _CAPTION + _FOOT)
    for view in (top, front):
        _paint_bodies(canvas, view, content.bodies)
        if content.datum is not None:
            _paint_datum(canvas, view, content.datum)
        _paint_contacts(canvas, view, content.contacts)
        _paint_dimensions(canvas, view, content.dimensions, units=content.units)
    _paint_labels(canvas, (top, front), content.bodies)
    _paint_captions(canvas, (top, front), scale=scale, units=content.units)
    return Drawing(canvas.svg(), canvas.width, canvas.height, scale)


def _extent(content: SheetContent, bodies: list[Body]) -> tuple[Point, Point]:
    """The box around the bodies and contacts, W, mm."""
    spots = [contact.at for contact in content.contacts]
    x = [u for body in bodies for u, _ in body.solid.outline] + [spot[0] for spot in spots]
    y = [v for body in bodies for _, v in body.solid.outline] + [spot[1] for spot in spots]
    z = [end for body in bodies for end in (body.solid.bottom, body.solid.top)] + [spot[2] for spot in spots]
    return (min(x), min(y), min(z)), (max(x), max(y), max(z))


def _views(low: Point, high: Point, *, scale: float, left: float, between: float) -> tuple[_View, _View]:
    across = scale * (high[0] - low[0])
    deep, tall = scale * (high[1] - low[1]), scale * (high[2] - low[2])
    second = _TOP + deep + between
    x = left - scale * low[0]
    top = _View(1, scale, (x, _TOP + scale * high[1]), (left, _TOP, left + across, _TOP + deep))
    front = _View(2, scale, (x, second + scale * high[2]), (left, second, left + across, second + tall))
    return top, front


def _paint_bodies(canvas: Canvas, view: _View, bodies: tuple[Body, ...]) -> None:
    window = f"window-{view.up}"
    left, top, right, bottom = view.frame
    canvas.window(window, (left - _RIM, top - _RIM, right + _RIM, bottom + _RIM))
    for body in sorted((body for body in bodies if body.kind in _LOOK), key=view.nearness):
        fill, width = _LOOK[body.kind]
        cut = window if body.kind in _BEYOND else ""
        canvas.polygon(view.outline(body), fill=fill, width=width, name=body.kind.value, window=cut)
    for body in bodies:
        if body.kind in (BodyKind.PARALLEL, BodyKind.BLANK):
            canvas.polygon(view.outline(body), width=0.2, dash=_DASH, name=f"hidden-{body.kind.value}")
        elif body.kind is BodyKind.FEATURE:
            canvas.polygon(view.outline(body), width=0.3, dash="" if view.up == 1 else _DASH, name="feature", window=window)
        elif body.kind is BodyKind.TABLE:
            _paint_table(canvas, view, body)


def _paint_table(canvas: Canvas, view: _View, table: Body) -> None:
    """Its top face as a heavy line on the ground in the front view; in the top view only edges that cross the picture."""
    left, top, right, bottom = (view.frame[0] - _RIM, view.frame[1] - _RIM, view.frame[2] + _RIM, view.frame[3] + _RIM)
    corners = view.outline(table)
    if view.up == 2:
        height = min(y for _, y in corners)
        if height > bottom:
            return
        left, right = max(left, min(x for x, _ in corners)), min(right, max(x for x, _ in corners))
        canvas.line((left, height), (right, height), width=0.6)
        for step in range(1, int((right - left) / 2.5) + 1):
            canvas.line((left + 2.5 * step, height), (left + 2.5 * step - 1.6, height + 1.6), width=0.18)
        return
    for x in {x for x, _ in corners if left < x < right}:
        canvas.line((x, top), (x, bottom), width=0.6)
    for y in {y for _, y in corners if top < y < bottom}:
        canvas.line((left, y), (right, y), width=0.6)


def _paint_datum(canvas: Canvas, view: _View, datum: Point) -> None:
    """The program's zero: a quartered disc with the two axes of the view."""
    x, y = view.place(datum)
    reach, radius = _AXIS, 1.9
    for tip, name in (((x + reach, y), "X"), ((x, y - reach), "Y" if view.up == 1 else "Z")):
        canvas.arrow((x, y), tip, width=0.35)
        beyond = (tip[0] + 1.8, tip[1]) if name == "X" else (tip[0], tip[1] - 1.8)
        canvas.text(name, beyond, size=2.8, bold=True)
        canvas.take((min(x, beyond[0] - 1.5), min(y, beyond[1] - 1.5), max(x, beyond[0] + 1.5), max(y, beyond[1] + 1.5)))
    canvas.circle((x, y), radius, width=0.35, name="datum")
    for first in (0.0, math.pi):
        turns = [first + k * math.pi / 16 for k in range(9)]
        canvas.polygon([(x, y), *((x + radius * math.cos(t), y - radius * math.sin(t)) for t in turns)], fill="black", width=0)
    canvas.take((x - radius, y - radius, x + radius, y + radius))


def _paint_contacts(canvas: Canvas, view: _View, contacts: tuple[Contact, ...]) -> None:
    """An arrow to where the finder touched, and beyond it the contact's number. The top view shows them all: a touch straight
    down is a cross there. The front view shows those along X or Z."""
    for contact in contacts:
        size = math.hypot(*contact.toward)
        if size == 0.0:
            continue
        across, up = contact.toward[0] / size, contact.toward[view.up] / size
        x, y = view.place(contact.at)
        seen = math.hypot(across, up)
        if seen > 0.5:
            along = (across / seen, -up / seen)
            canvas.arrow((x - 5.0 * along[0], y - 5.0 * along[1]), (x, y), width=0.4)
        elif view.up == 1:
            along = (math.sqrt(0.5), -math.sqrt(0.5))
            canvas.line((x - 1.0, y - 1.0), (x + 1.0, y + 1.0), width=0.4)
            canvas.line((x - 1.0, y + 1.0), (x + 1.0, y - 1.0), width=0.4)
        else:
            continue
        _paint_balloon(canvas, contact, (x, y), along)


def _paint_balloon(canvas: Canvas, contact: Contact, spot: Place, along: Place) -> None:
    """The number in a circle, at the nearest place along, or fanned out from there, that covers nothing already numbered; struck
    through if left out."""
    r = _BALLOON
    heading = math.atan2(along[1], along[0])
    fan = ((2.0 * r + 1.1 * r * step, heading + turn) for step in range(16) for turn in _FAN_RAD)
    places = [(spot[0] + away * math.cos(t), spot[1] + away * math.sin(t)) for away, t in fan]
    x, y = next((place for place in places if canvas.free((place[0] - r, place[1] - r, place[0] + r, place[1] + r))), places[0])
    canvas.line(spot, (x, y), width=0.18)
    canvas.circle((x, y), r, width=0.35, name="contact")
    canvas.text(str(contact.number), (x, y), size=2.9, bold=True)
    if contact.left_out:
        canvas.line((x - r, y + r), (x + r, y - r), width=0.35)
    canvas.take((x - r, y - r, x + r, y + r))


def _paint_dimensions(canvas: Canvas, view: _View, dimensions: tuple[Dimension, ...], *, units: str) -> None:
    _, _, right, bottom = view.frame
    mine = [d for d in dimensions if (d.axis is Axis.X and view.up == 1) or d.axis is (Axis.Y if view.up == 1 else Axis.Z)]
    used = {Axis.X: 0, Axis.Y: 0, Axis.Z: 0}
    for dimension in sorted(mine, key=lambda d: d.high - d.low):
        used[dimension.axis] += 1
        words = f"{plain_length(dimension.high - dimension.low, units)} {dimension.note}".strip()
        away = _RIM - 1.0 + _TIER * used[dimension.axis]
        if dimension.axis is Axis.X:
            ends = [(view.place((u, 0.0, 0.0))[0], bottom + away) for u in (dimension.low, dimension.high)]
            starts = [(x, bottom + 0.8) for x, _ in ends]
        else:
            ends = [(right + away, view.place((0.0, v, v))[1]) for v in (dimension.low, dimension.high)]
            starts = [(right + 0.8, y) for _, y in ends]
        _paint_dimension(canvas, words, starts, ends, level=dimension.axis is Axis.X)


def _paint_dimension(canvas: Canvas, words: str, starts: list[Place], ends: list[Place], *, level: bool) -> None:
    """Extension lines, the dimension line, its two heads and the words; heads and words outside (to the right of a level
    dimension, under an upright one) where there is no room."""
    past = (0.0, 1.0) if level else (1.0, 0.0)
    for start, end in zip(starts, ends, strict=True):
        canvas.line(start, (end[0] + past[0], end[1] + past[1]), width=0.13)
    low, high = ends
    length, wide = math.dist(low, high), text_width(words, _LETTER)
    along = ((high[0] - low[0]) / length, (high[1] - low[1]) / length) if length else (1.0, 0.0)
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    if length > wide + 6.0:
        gap = wide / 2 + 0.6
        canvas.arrow((middle[0] - gap * along[0], middle[1] - gap * along[1]), low, width=0.18)
        canvas.arrow((middle[0] + gap * along[0], middle[1] + gap * along[1]), high, width=0.18)
    else:
        canvas.line(low, high, width=0.18)
        for end, sense in ((low, -1.0), (high, 1.0)):
            canvas.arrow((end[0] + 4.0 * sense * along[0], end[1] + 4.0 * sense * along[1]), end, width=0.18)
        beyond = 5.0 + wide / 2
        middle = (high[0] + beyond, high[1]) if level else (low[0], low[1] + beyond)
    canvas.text(words, middle, upright=level)


def _paint_labels(canvas: Canvas, views: tuple[_View, _View], bodies: tuple[Body, ...]) -> None:
    """Names of the bodies, the blank's first, where there is room for them; what is crowded out goes without: a name over another
    name would tell nothing. Several of a family ("stop, left", "stop, back") bear the family's word alone."""
    family = [re.split(r",| at ", body.label)[0].strip() for body in bodies]
    importance = list(BodyKind)
    for word, body in sorted(zip(family, bodies, strict=True), key=lambda pair: importance.index(pair[1].kind)):
        if not body.label:
            continue
        words = word if family.count(word) > 1 else body.label
        view = views[1] if body.kind in (BodyKind.PARALLEL, *_BEYOND) else views[0]
        corners = view.outline(body)
        left, right = min(x for x, _ in corners), max(x for x, _ in corners)
        top, bottom = min(y for _, y in corners), max(y for _, y in corners)
        if body.kind in _BEYOND:
            left, right = max(left, view.frame[0] - _RIM), min(right, view.frame[2] + _RIM)
            top, bottom = max(top, view.frame[1] - _RIM), min(bottom, view.frame[3] + _RIM)
            if top >= bottom or left >= right:
                continue
        for size in (_LETTER, _SMALL_LETTER):
            spots = _spots((left, top, right, bottom), words, size, middle=body.kind is not BodyKind.BLANK)
            if canvas.label(words, spots, size=size):
                break


def _spots(place: Rectangle, words: str, size: float, *, middle: bool) -> list[Place]:
    """Where a body's name may stand: inside in the middle (unless that is where the zero is) or in a corner, else beside it."""
    left, top, right, bottom = place
    half = text_width(words, size) / 2 + 0.6
    rows, columns = [top + size, bottom - size], [left + half, right - half]
    if middle:
        rows, columns = [(top + bottom) / 2, *rows], [(left + right) / 2, *columns]
    fits = right - left > 2 * half and bottom - top > 1.2 * size
    inside = [(x, y) for y in rows for x in columns] if fits else []
    return inside + [(x, y) for y in rows for x in (left - half, right + half)]


def _paint_captions(canvas: Canvas, views: tuple[_View, _View], *, scale: float, units: str) -> None:
    top, front = views
    middle = (top.frame[0] + top.frame[2]) / 2
    canvas.text("from above", (middle, top.frame[1] - _RIM - 2.6), bold=True)
    canvas.text("from the front, where you stand", (middle, front.frame[3] + _RIM + 2.8), bold=True)
    inch = units in ("in", "inch")
    unit = 25.4 if inch else 1.0
    bars = [bar for bar in (_BARS_INCH if inch else _BARS_MM) if bar * unit * scale <= 45.0]
    bar = bars[-1] if bars else (_BARS_INCH if inch else _BARS_MM)[0]
    left, height, half = 0.5 + 2.0, canvas.height - 3.6, bar * unit * scale / 2
    for fill, x in (("black", left), ("white", left + half)):
        canvas.polygon([(x, height), (x + half, height), (x + half, height + 1.6), (x, height + 1.6)], fill=fill, name="scale-bar")
    canvas.text("0", (left, height - 1.9), size=2.4)
    ratio = f"{scale:g}:1" if scale >= 1.0 else f"1:{round(1 / scale)}"
    canvas.text(f"{bar:g} {'in' if inch else 'mm'}", (left + 2 * half, height - 1.9), size=2.4)
    canvas.text(f"scale {ratio}, printed at 100 %", (left + 2 * half + 4.0, height + 0.8), anchor="start")
