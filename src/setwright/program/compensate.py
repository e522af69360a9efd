"""Cutter compensation in the plane: the offset of a contour of lines and arcs, corner by corner.

Left and right are seen along the direction of travel. An outside corner is rounded by an arc about the corner, or closed by
lengthening both lines; an inside corner is where the two offset curves meet. Where the radius does not fit (an inside arc or an
inside corner too tight), the offset is not defined: the ends of the offset elements are then joined straight, and the element is
reported. Neighbours only are looked at: a slot narrower than the tool shows in the proof of the metal, not here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from setwright.base.tolerance import SAME_ANGLE_RAD, SAME_PLACE_MM

__all__ = ["Contour", "Element", "offset_contour"]

Pair = tuple[float, float]
_TURN = 2.0 * math.pi


@dataclass(slots=True)
class Element:
    """A line (centre None) or an arc with signed sweep (rad), from start to end (mm)."""

    start: Pair
    end: Pair
    centre: Pair | None = None
    sweep: float = 0.0

    def direction(self, *, at_end: bool) -> Pair:
        """Unit vector of travel at the start or end."""
        if self.centre is None:
            du, dv = self.end[0] - self.start[0], self.end[1] - self.start[1]
        else:
            p = self.end if at_end else self.start
            sign = 1.0 if self.sweep > 0.0 else -1.0
            du, dv = -sign * (p[1] - self.centre[1]), sign * (p[0] - self.centre[0])
        length = math.hypot(du, dv)
        return du / length, dv / length


@dataclass(frozen=True, slots=True)
class Contour:
    """The offset elements, one per element; `corners[i]` is the arc that leads to element i (None: they meet, or a straight joint).

    `tight` names the elements whose inside arc is smaller than the radius, `cramped` those whose inside corner does not fit, `back`
    those that run straight back from where the one before ends.
    """

    elements: list[Element]
    corners: list[Element | None]
    tight: list[int]
    cramped: list[int]
    back: list[int]


def offset_contour(elements: list[Element], radius: float, *, left: bool, corner_by_arc: bool = True) -> Contour:
    """The path of the tool's centre along elements of non-zero length, each starting where the one before ends.

    `radius` mm > 0. Exact for lines and arcs up to round-off.
    """
    side = 1.0 if left else -1.0
    moved: list[Element] = []
    tight: list[int] = []
    for i, element in enumerate(elements):
        piece, fits = _offset(element, radius * side)
        moved.append(piece)
        if not fits:
            tight.append(i)
    before = [_copy(piece) for piece in moved]
    corners: list[Element | None] = [None] * len(elements)
    joined = [True] * len(elements)
    for i in range(1, len(elements)):
        corners[i], joined[i] = _join((elements[i - 1], elements[i]), (moved[i - 1], moved[i]), side, corner_by_arc=corner_by_arc)
    cramped = [i for i in range(len(elements)) if not joined[i] or not _still_runs(before[i], moved[i])]
    for i in cramped:
        moved[i].start, moved[i].end, moved[i].sweep = before[i].start, before[i].end, before[i].sweep
    for piece in moved:
        if piece.centre is not None:
            piece.sweep = _turn(piece)
    back = [i for i in range(1, len(elements)) if _turns_back(elements[i - 1], elements[i])]
    return Contour(moved, corners, tight, [i for i in cramped if i not in tight], back)


def _copy(e: Element) -> Element:
    return Element(e.start, e.end, e.centre, e.sweep)


def _offset(e: Element, amount: float) -> tuple[Element, bool]:
    """The element shifted to its left by `amount`; False where an arc would turn inside out (then a straight joint)."""
    ds, de = e.direction(at_end=False), e.direction(at_end=True)
    start = e.start[0] - amount * ds[1], e.start[1] + amount * ds[0]
    end = e.end[0] - amount * de[1], e.end[1] + amount * de[0]
    if e.centre is None:
        return Element(start, end), True
    radius = math.hypot(e.start[0] - e.centre[0], e.start[1] - e.centre[1])
    if radius - math.copysign(amount, amount * e.sweep) < SAME_PLACE_MM:
        return Element(start, end), False
    return Element(start, end, e.centre, e.sweep), True


def _join(written: tuple[Element, Element], moved: tuple[Element, Element], side: float, *,
          corner_by_arc: bool) -> tuple[Element | None, bool]:  # fmt: skip
    """Join two offset neighbours in place; (corner arc if one is needed, whether the corner fits)."""
    (a, b), (oa, ob) = written, moved
    da, db = a.direction(at_end=True), b.direction(at_end=False)
    cross, dot = da[0] * db[1] - da[1] * db[0], da[0] * db[0] + da[1] * db[1]
    turn = math.atan2(cross, dot)
    if abs(turn) <= SAME_ANGLE_RAD or math.dist(oa.end, ob.start) <= SAME_PLACE_MM:
        ob.start = oa.end
        return None, True
    back = _turns_back(a, b)
    if turn * side < 0.0 or back:
        sweep = -side * math.pi if back else turn
        if not corner_by_arc and not back and a.centre is None and b.centre is None:
            meeting = _nearest(_meetings(oa, ob), b.start)
            if meeting is not None:
                oa.end = ob.start = meeting
                return None, True
        return Element(oa.end, ob.start, b.start, sweep), True
    meeting = _nearest(_meetings(oa, ob), b.start)
    if meeting is None:
        return None, False
    oa.end = ob.start = meeting
    return None, True


def _turns_back(a: Element, b: Element) -> bool:
    """Whether `b` leaves in the direction from which `a` came."""
    da, db = a.direction(at_end=True), b.direction(at_end=False)
    turn = math.atan2(da[0] * db[1] - da[1] * db[0], da[0] * db[0] + da[1] * db[1])
    return math.pi - abs(turn) <= SAME_ANGLE_RAD


def _still_runs(before: Element, after: Element) -> bool:
    """Whether a trimmed element still runs in its own direction."""
    if before.centre is None:
        du, dv = before.end[0] - before.start[0], before.end[1] - before.start[1]
        return (after.end[0] - after.start[0]) * du + (after.end[1] - after.start[1]) * dv >= -SAME_PLACE_MM * math.hypot(du, dv)
    return abs(_turn(after)) <= abs(before.sweep) + SAME_ANGLE_RAD + SAME_PLACE_MM


def _turn(e: Element) -> float:
    """The sweep that the ends of a trimmed arc give, turning its own way and nearest to its former sweep."""
    assert e.centre is not None
    a0, a1 = e.start[0] - e.centre[0], e.start[1] - e.centre[1]
    b0, b1 = e.end[0] - e.centre[0], e.end[1] - e.centre[1]
    angle = math.atan2(a0 * b1 - a1 * b0, a0 * b0 + a1 * b1)
    return angle + _TURN * round((e.sweep - angle) / _TURN)


def _nearest(points: list[Pair], to: Pair) -> Pair | None:
    return min(points, key=lambda p: math.dist(p, to), default=None)


def _meetings(a: Element, b: Element) -> list[Pair]:
    """Where the full lines and circles of two elements meet."""
    if a.centre is None and b.centre is None:
        return _two_lines(a, b)
    if a.centre is None:
        return _line_circle(a, b)
    return _line_circle(b, a) if b.centre is None else _two_circles(a, b)


def _two_lines(a: Element, b: Element) -> list[Pair]:
    au, av = a.end[0] - a.start[0], a.end[1] - a.start[1]
    bu, bv = b.end[0] - b.start[0], b.end[1] - b.start[1]
    cross = au * bv - av * bu
    if abs(cross) <= SAME_ANGLE_RAD * math.hypot(au, av) * math.hypot(bu, bv):
        return []
    t = ((b.start[0] - a.start[0]) * bv - (b.start[1] - a.start[1]) * bu) / cross
    return [(a.start[0] + t * au, a.start[1] + t * av)]


def _line_circle(line: Element, arc: Element) -> list[Pair]:
    assert arc.centre is not None
    if math.dist(line.start, line.end) <= SAME_PLACE_MM:
        return []  # a joint that stands for an arc of just the tool's radius runs nowhere
    radius = math.dist(arc.start, arc.centre)
    du, dv = line.direction(at_end=False)
    along = (arc.centre[0] - line.start[0]) * du + (arc.centre[1] - line.start[1]) * dv
    foot = line.start[0] + along * du, line.start[1] + along * dv
    return _across(foot, (du, dv), radius * radius - math.dist(foot, arc.centre) ** 2, radius)


def _two_circles(a: Element, b: Element) -> list[Pair]:
    assert a.centre is not None
    assert b.centre is not None
    ra, rb, apart = math.dist(a.start, a.centre), math.dist(b.start, b.centre), math.dist(a.centre, b.centre)
    if apart <= SAME_PLACE_MM:
        return []
    du, dv = (b.centre[0] - a.centre[0]) / apart, (b.centre[1] - a.centre[1]) / apart
    along = (apart * apart + ra * ra - rb * rb) / (2.0 * apart)
    foot = a.centre[0] + along * du, a.centre[1] + along * dv
    return _across(foot, (-dv, du), ra * ra - along * along, max(ra, rb))


def _across(foot: Pair, direction: Pair, square: float, size: float) -> list[Pair]:
    if square < -SAME_PLACE_MM * size:
        return []
    half = math.sqrt(max(square, 0.0))
    return [(foot[0] + s * half * direction[0], foot[1] + s * half * direction[1]) for s in (1.0, -1.0)]
