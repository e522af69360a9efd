"""The moves made while cutter compensation is on, gathered until the whole contour is known, then written as rows."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM, SAME_PLACE_MM
from setwright.program.arc import PLANES
from setwright.program.compensate import Contour, Element, offset_contour
from setwright.program.path import Event, MoveKind
from setwright.program.remark import Severity

if TYPE_CHECKING:
    from setwright.program.machine import Machine

__all__ = ["Chain", "ChainMove"]

Triple = tuple[float, float, float]


@dataclass(slots=True)
class ChainMove:
    """One move as programmed, in work coordinates, with what its row will carry."""

    kind: MoveKind
    start: Triple
    end: Triple
    feed: float
    centre: Triple | None
    sweep: float
    axis: int
    line: int
    state: int
    frame: int
    file: int


@dataclass(slots=True)
class Chain:
    """A contour in the making. `leaving` is set by G40: the next move in the plane is the way off."""

    plane: int
    radius: float
    left: bool
    corner_by_arc: bool = True
    leaving: bool = False
    moves: list[ChainMove] = field(default_factory=list)
    events: list[tuple[int, Event]] = field(default_factory=list)

    def planar(self, move: ChainMove) -> bool:
        """Whether the move goes anywhere in the plane."""
        first, second, normal = PLANES[self.plane]
        if move.centre is not None:
            return move.axis == normal
        return math.hypot(move.end[first] - move.start[first], move.end[second] - move.start[second]) > SAME_PLACE_MM

    def last(self) -> tuple[Triple, float]:
        """Start and feed of the last move."""
        return self.moves[-1].start, self.moves[-1].feed

    def end_last_at(self, end: Triple) -> None:
        """Let the last move, a line, end elsewhere; it goes altogether where that is its start."""
        self.moves[-1].end = end
        if math.dist(self.moves[-1].start, end) <= COORDINATE_ROUND_OFF_MM:
            self.moves.pop()

    def resolve(self, machine: Machine, *, leaves: bool) -> Triple:
        """Write the rows; returns where the tool is afterwards (work coordinates)."""
        return _Writer(self, machine, leaves=leaves).write()


class _Writer:
    """Turns one chain into rows."""

    def __init__(self, chain: Chain, machine: Machine, *, leaves: bool) -> None:
        self.chain, self.machine = chain, machine
        self.first, self.second, self.normal = PLANES[chain.plane]
        self.planar = [i for i, move in enumerate(chain.moves) if chain.planar(move)] if chain.radius > 0.0 else []
        self.entry = self.planar[0] if self.planar else -1
        self.exit = self.planar[-1] if leaves and len(self.planar) > 1 and chain.planar(chain.moves[-1]) else -1
        self.contour_moves = [i for i in self.planar if i not in (self.entry, self.exit)]
        self.place = {i: k for k, i in enumerate(self.contour_moves)}
        self.contour = self._offset()
        self.at: Triple = chain.moves[0].start if chain.moves else machine.at

    def _pair(self, p: Triple) -> tuple[float, float]:
        return p[self.first], p[self.second]

    def _point(self, pair: tuple[float, float], height: float) -> Triple:
        p = [0.0, 0.0, 0.0]
        p[self.first], p[self.second], p[self.normal] = pair[0], pair[1], height
        return p[0], p[1], p[2]

    def _offset(self) -> Contour:
        elements = []
        for i in self.contour_moves:
            move = self.chain.moves[i]
            centre = None if move.centre is None else self._pair(move.centre)
            elements.append(Element(self._pair(move.start), self._pair(move.end), centre, move.sweep))
        contour = offset_contour(elements, self.chain.radius, left=self.chain.left, corner_by_arc=self.chain.corner_by_arc)
        radius, shown = self.chain.radius, self.machine.shown
        for k in contour.tight:
            element = elements[k]
            arc = math.dist(element.start, element.centre or element.start)
            self._say(self.contour_moves[k], "radius too large for an arc", Severity.DANGER,
                      f"The tool radius {shown(radius)} does not fit the inside arc of radius {shown(arc)}.",
                      "Use a smaller tool, or check the D register.")  # fmt: skip
        for k in contour.cramped:
            self._say(self.contour_moves[k], "radius too large for a corner", Severity.DANGER,
                      f"The tool radius {shown(radius)} does not fit the inside corners here: the tool cuts into the part.",
                      "Use a smaller tool, check the D register, or move the start of the contour.")  # fmt: skip
        for k in contour.back:
            self._say(self.contour_moves[k], "compensation turned back", Severity.WARNING,
                      "The contour runs straight back here with cutter compensation on: the tool goes round its end and returns on "
                      f"the other side, {shown(2.0 * radius)} beside its way there.",
                      "Take compensation off (G40) before the way back, or draw the contour on.")  # fmt: skip
        return contour

    def _say(self, move: int, slug: str, severity: Severity, text: str, remedy: str) -> None:
        self.machine.remark(slug, severity, text, remedy, line=self.chain.moves[move].line, value=self.chain.radius, unit="mm")

    def write(self) -> Triple:
        chain, machine = self.chain, self.machine
        events = iter([*chain.events, (len(chain.moves) + 1, None)])
        index, event = next(events)
        self._check_entry()
        for i, move in enumerate(chain.moves):
            while index <= i and event is not None:
                machine.events.append(replace(event, before=len(machine.rows)))
                index, event = next(events)
            self._write_move(i, move)
        while event is not None:
            machine.events.append(replace(event, before=len(machine.rows)))
            index, event = next(events)
        return self.at

    def _check_entry(self) -> None:
        if self.entry < 0:
            return
        move = self.chain.moves[self.entry]
        if move.centre is not None:
            raise self.machine.stop("cutter compensation begins on an arc",
                                    why="the tool has no straight line to move over to the contour on",
                                    remedy="turn it on in a G0 or G1 move before the arc")  # fmt: skip
        length = math.dist(self._pair(move.start), self._pair(move.end))
        if length < self.chain.radius - COORDINATE_ROUND_OFF_MM and self.contour_moves:
            self._say(self.entry, "lead-in shorter than the radius", Severity.WARNING,
                      f"The lead-in of {self.machine.shown(length)} is shorter than the tool radius "
                      f"{self.machine.shown(self.chain.radius)}.",
                      "Start farther away, so that the tool does not cut into the contour or raise an alarm.")  # fmt: skip

    def _write_move(self, i: int, move: ChainMove) -> None:
        height = move.end[self.normal]
        if self.chain.radius <= 0.0 or (i not in self.place and i == self.exit):
            self._row(move, move.end, move.centre, move.sweep)
        elif i in self.place:
            k = self.place[i]
            piece, corner = self.contour.elements[k], self.contour.corners[k]
            low = self.at[self.normal]
            if corner is not None and math.dist(self._pair(self.at), corner.start) <= SAME_PLACE_MM:
                self._row(move, self._point(corner.end, low), self._point(corner.centre or corner.start, low), corner.sweep)
            else:
                self._row(move, self._point(piece.start, low), None, 0.0)
            centre = None if piece.centre is None else self._point(piece.centre, low)
            self._row(move, self._point(piece.end, height), centre, piece.sweep)
        elif i == self.entry:
            target = self.contour.elements[0].start if self.contour.elements else self._pair(move.end)
            self._row(move, self._point(target, height), None, 0.0)
        else:
            self._row(move, self._point(self._pair(self.at), height), None, 0.0)

    def _row(self, move: ChainMove, end: Triple, centre: Triple | None, sweep: float) -> None:
        if centre is None and math.dist(self.at, end) <= COORDINATE_ROUND_OFF_MM:
            return
        rows = self.machine.rows
        kind = move.kind if centre is not None or move.kind is not MoveKind.ARC else MoveKind.LINE
        if centre is not None:
            kind = MoveKind.ARC
        number = -1 if centre is None else rows.add_arc(centre, sweep, move.axis if move.centre is not None else self.normal)
        feed = move.feed
        rows.add((self.at, end, feed, number, move.line, move.state, move.frame, move.file, int(kind)))
        self.at = end
