"""The machine as the control sees it: modal state, where the tool is, and the rows that moves leave behind.

Three positions are kept apart. `prog` is the programmed point (before mirror, scaling, rotation and shifts); `at` is the same
point in work coordinates, rows are written in them; the machine position follows from `at` by the frame.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TypeVar

from setwright.base.errors import Problem
from setwright.base.span import Span
from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.base.units import format_length
from setwright.program.arc import PLANES
from setwright.program.chain import Chain, ChainMove
from setwright.program.corner import Corner, cut_corner
from setwright.program.path import Event, Frame, MoveKind, State
from setwright.program.profile import Profile
from setwright.program.registers import Registers, WorkOffset
from setwright.program.remark import Assumption, Remark, Severity
from setwright.program.rows import Rows
from setwright.program.source import SourceText
from setwright.program.transform import IDENTITY, Transform, build_transform

__all__ = ["INCH", "Machine", "Modal", "Stop", "Triple", "arc_length"]

INCH = 25.4
Triple = tuple[float, float, float]
_MOST_REMARKS = 500
_DIGITS = re.compile(r"[ \t]*\d+(?:[ \t]*\.[ \t]*\d*)?", re.ASCII)
_MOST_GATHERED = 1_000_000
T = TypeVar("T")


class Stop(Exception):
    """Interpretation cannot go on; carries what is wrong."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.what)
        self.problem = problem


@dataclass(slots=True)
class Modal:
    """Everything that stays in force until changed. Codes are G numbers times ten; `unit` is mm per programmed unit."""

    motion: int = -1
    plane: int = 0
    absolute: bool = True
    arc_absolute: bool = False
    unit: float = 1.0
    unit_said: bool = False
    feed_mode: int = 940
    feed: float = math.nan
    offset: str = "G54"
    length_sign: int = 0
    length_register: int = 0
    compensation: int = 0
    radius_register: int = 0
    retract: int = 980
    cycle: dict[str, float] = field(default_factory=dict)
    cycle_initial: float = 0.0
    exact_stop: bool = False
    polar: bool = False
    speed: float = 0.0
    turning: int = 0
    oriented: bool = False
    coolant: frozenset[str] = frozenset()
    tool: int = 0
    next_tool: int | None = None
    tool_register: int = 0
    last_h: int = 0
    last_d: int = 0


class Machine:
    """Where the tool is, in which frame, and what it leaves behind; knows no blocks."""

    def __init__(self, profile: Profile, registers: Registers) -> None:
        self.profile = profile
        self.modal = _first_modes(profile)
        self.offsets = dict(registers.offsets)
        self.external = registers.external
        self.lengths = dict(registers.lengths)
        self.radii = dict(registers.radii)
        self.references = dict(registers.references)
        self.used: dict[str, bool] = {}
        self.transform: Transform = IDENTITY
        self.local: Triple = (0.0, 0.0, 0.0)
        self.preset: Triple = (0.0, 0.0, 0.0)
        self.kept_preset: Triple = (0.0, 0.0, 0.0)
        self.wear: dict[str, float] = {}
        self.rows = Rows()
        self.row_limit = self.single_limit = 0
        self.events: list[Event] = []
        self.states: list[State] = []
        self.frames: list[Frame] = []
        self._state_numbers: dict[State, int] = {}
        self._frame_numbers: dict[Frame, int] = {}
        self._state = -1
        self._frame = -1
        self.chain: Chain | None = None
        self.corner: Corner | None = None
        self.polar_centre = (0.0, 0.0)
        self.polar_angle = 0.0
        self.mirror: dict[int, float] = {}
        self.scale: tuple[Triple, Triple] | None = None
        self.rotation: tuple[int, tuple[float, float], float] | None = None
        self.remarks: dict[tuple[str, int, int], Remark] = {}
        self.said: set[str] = set()
        self.stated: set[str] = set()
        self.moved = False
        self.kept_z: float | None = None
        """Machine Z after the last move that named a machine position of Z, or after the last tool change."""
        self.assumptions: dict[tuple[str, str], Assumption] = {}
        self.sources: list[SourceText] = []
        self.file = 0
        self.line = 0
        self.words_at: dict[str, tuple[int, int]] = {}
        self.at: Triple = (0.0, 0.0, 0.0)
        self.prog: Triple = (0.0, 0.0, 0.0)
        self._place_at_home(self.references.get(1, (0.0, 0.0, 0.0)))

    def restart(self) -> None:
        """A new main program begins: modes as at the start, spindle and coolant off; the tool stays in, the machine where it is."""
        tool, register = self.modal.tool, self.modal.tool_register
        place = self.machine_position(self.at, self.frame())
        self.modal = _first_modes(self.profile)
        self.modal.tool, self.modal.tool_register = tool, register
        self.mirror, self.scale, self.rotation = {}, None, None
        self._state = self._frame = -1
        self.at = self.from_machine(place, self.frame())
        self.shift_changed()

    # --- what is said about it -----------------------------------------------------------------------------------------

    def span(self, key: str = "") -> Span:
        """The place of a word of the current block ("X", "G54.1"), or of the block."""
        column, length = self.words_at.get(key, (0, 1))
        return self.sources[self.file].word_span(self.line, column, length)

    def shown(self, mm: float, *, places: int = 3) -> str:
        """A length as the program writes lengths now, with its unit; `places` of a millimetre, one more of an inch."""
        inch = self.modal.unit == INCH
        return format_length(mm, "in" if inch else "mm", places=places + inch)

    def stop(self, what: str, *, why: str = "", remedy: str = "", key: str = "", behaviour: str = "") -> Stop:
        """The exception to raise where the current block cannot be carried out; `behaviour` of the profile would let it pass."""
        return Stop(Problem(what, why, remedy, self.span(key), behaviour))

    def remark(self, slug: str, severity: Severity, text: str, remedy: str = "", *, key: str = "", line: int = 0,
               value: float | None = None, unit: str = "") -> None:  # fmt: skip
        """Note something, once per kind and line (the current one unless another is given)."""
        place = slug, self.file, line or self.line
        if place not in self.remarks and len(self.remarks) < _MOST_REMARKS:
            span = self.sources[self.file].span(line) if line else self.span(key)
            self.remarks[place] = Remark(slug, text, remedy, span, severity, value, unit)

    def remark_once(self, slug: str, severity: Severity, text: str, remedy: str) -> None:
        """Note something once for the tool in use."""
        if slug not in self.said:
            self.said.add(slug)
            self.remark(slug, severity, text, remedy)

    def check_stated(self) -> None:
        """At the first move: note which modes the program has left to the control's start values."""
        if self.moved:
            return
        self.moved = True
        names = {"plane": "G17", "distance": "G90", "work offset": "G54"}
        missing = [f"{group} ({name} is taken)" for group, name in names.items() if group not in self.stated]
        if missing:
            self.remark("modes not stated", Severity.NOTICE,
                        f"Before its first move the program does not state {', '.join(missing)}.",
                        "Write them in the first block: a control may start with others.")  # fmt: skip
        if "units" not in self.stated:
            self.assume("units", "the program moves before it says G20 or G21")

    def assume(self, behaviour: str, text: str, *, key: str = "") -> None:
        """Note that a behaviour of the profile decided something."""
        known = self.assumptions.get((behaviour, text))
        if known is None:
            reading = str(getattr(self.profile, behaviour))
            self.assumptions[behaviour, text] = Assumption(behaviour, reading, text, self.span(key))
        else:
            self.assumptions[behaviour, text] = replace(known, count=known.count + 1)

    def event(self, kind: str, value: float | str = 0.0) -> None:
        """Note something that is no motion, at this place of the path."""
        event = Event(kind, len(self.rows), self.file, self.line, value)
        if self.chain is not None:
            self.chain.events.append((len(self.chain.moves), event))
        else:
            self.events.append(event)

    # --- frames ----------------------------------------------------------------------------------------------------------

    def offset(self) -> WorkOffset:
        """The active work offset; a register that is not known counts as zero."""
        return self.offsets.get(self.modal.offset, WorkOffset())

    def length(self) -> float:
        """The tool length in force, mm, signed."""
        modal = self.modal
        if not modal.length_sign or not modal.length_register:
            return 0.0
        return modal.length_sign * self.lengths.get(modal.length_register, 0.0)

    def radius(self) -> float:
        """The compensation radius in force, mm, signed."""
        register = self.modal.radius_register
        if register == 0:
            return 0.0
        self.used.setdefault(f"D{register}", register in self.radii)
        return self.radii.get(register, 0.0)

    def frame(self) -> Frame:
        """The frame of the next row."""
        offset, length = self.offset(), self.length()
        e = self.external
        return Frame(self.modal.offset, (offset.x + e[0], offset.y + e[1], offset.z + e[2] + length), length, offset.rotation)

    def frame_number(self) -> int:
        """The index of the current frame; its registers count as used from now on."""
        if self._frame < 0:
            self._frame = _number(self.frame(), self._frame_numbers, self.frames)
            modal = self.modal
            self.used.setdefault(modal.offset, modal.offset in self.offsets)
            if modal.length_sign and modal.length_register:
                self.used.setdefault(f"H{modal.length_register}", modal.length_register in self.lengths)
        return self._frame

    def state_number(self) -> int:
        """The index of the current state."""
        if self._state < 0:
            m = self.modal
            rpm = m.turning * m.speed
            compensation = {410: "left", 420: "right"}.get(m.compensation, "")
            state = State(m.tool, m.length_register if m.length_sign else 0, m.radius_register if compensation else 0, rpm,
                          " and ".join(sorted(m.coolant)), compensation, f"G{m.motion // 10}" if m.motion >= 730 else "",
                          m.exact_stop, {930: "inverse time", 940: "per minute", 950: "per revolution"}[m.feed_mode],
                          m.oriented and m.turning == 0)  # fmt: skip
            self._state = _number(state, self._state_numbers, self.states)
        return self._state

    def state_changed(self) -> None:
        """Some of the modal state that rows name has changed."""
        self._state = -1

    def machine_position(self, point: Triple, frame: Frame | None = None) -> Triple:
        """Machine coordinates of a point in work coordinates (of the frame now in force, if none is given)."""
        frame = frame or self.frames[self.frame_number()]
        s = frame.shift
        if frame.rotation == 0.0:
            return point[0] + s[0], point[1] + s[1], point[2] + s[2]
        c, n = math.cos(frame.rotation), math.sin(frame.rotation)
        return c * point[0] - n * point[1] + s[0], n * point[0] + c * point[1] + s[1], point[2] + s[2]

    def from_machine(self, point: Triple, frame: Frame | None = None) -> Triple:
        """Work coordinates of a point in machine coordinates (of the frame now in force, if none is given)."""
        frame = frame or self.frames[self.frame_number()]
        x, y, z = (point[i] - frame.shift[i] for i in range(3))
        if frame.rotation == 0.0:
            return x, y, z
        c, n = math.cos(frame.rotation), math.sin(frame.rotation)
        return c * x + n * y, c * y - n * x, z

    def change_frame(self, change: Callable[[], None]) -> None:
        """Carry out a change of offset or length: the machine stands still, the coordinates of its place change."""
        before = self.frame()
        change()
        self._frame = -1
        if self.frame() != before:
            self._refuse_corner()
            self.close_chain("the work offset or tool length changes")
            self.at = self.from_machine(self.machine_position(self.at, before), self.frame())
            self.prog = self.transform.backward(self.at)

    def shift_changed(self) -> None:
        """A shift, rotation, scaling or mirror has changed: the tool stands still, its programmed coordinates change."""
        self._refuse_corner()
        self.transform = build_transform(local=self.local, preset=self.preset, mirror=self.mirror, scale=self.scale,
                                         rotation=self.rotation)
        self.prog = self.transform.backward(self.at)

    def _place_at_home(self, machine_point: Triple) -> None:
        self.at = self.prog = self.from_machine(machine_point, self.frame())

    # --- moves ---------------------------------------------------------------------------------------------------------------

    def line_to(self, target: Triple, *, rapid: bool) -> None:
        """A straight move to a programmed point."""
        end = self.transform.forward(target)
        self.prog = target
        self._straight(end, rapid=rapid)

    def move_in_machine(self, target: Triple, *, rapid: bool) -> None:
        """A straight move to a point in machine coordinates (G28, G30, G53)."""
        self._straight(self.from_machine(target), rapid=rapid)
        self.prog = self.transform.backward(self.at)

    def arc_to(self, target: Triple, centre: tuple[float, float], sweep: float, arc_end: Triple) -> None:
        """An arc in the active plane about a programmed centre, then (if `arc_end` is not the target) a short straight line."""
        start = self.prog
        mapped = self.transform.map_arc(start, arc_end, centre, sweep, self.modal.plane)
        if mapped is None:
            raise self.stop("the arc is scaled differently along its axes", why="it would be no arc any more",
                            remedy="scale evenly, or turn scaling off")
        length = 0.0
        for end, middle, axis, turn in mapped:
            length += math.dist(self.at, end) if middle is None else arc_length(self.at, end, middle, axis, turn)
        feed = self._feed(length)
        for end, middle, axis, turn in mapped:
            self._put(MoveKind.LINE if middle is None else MoveKind.ARC, end, feed, middle, turn, axis)
        self.prog = target
        if arc_end != target:
            self._straight(self.transform.forward(target), rapid=False)

    def _straight(self, end: Triple, *, rapid: bool) -> None:
        a = self.at
        length = math.sqrt((end[0] - a[0]) ** 2 + (end[1] - a[1]) ** 2 + (end[2] - a[2]) ** 2)
        if length <= COORDINATE_ROUND_OFF_MM:
            return
        if rapid:
            self._put(MoveKind.RAPID, end, math.nan, None, 0.0, 0)
        else:
            self._put(MoveKind.LINE, end, self._feed(length), None, 0.0, 0)

    def _feed(self, length: float) -> float:
        m = self.modal
        if m.feed_mode == 940:
            return m.feed
        if m.feed_mode == 950:
            return m.feed * abs(m.speed) if m.turning else 0.0
        return m.feed * length

    def _put(self, kind: MoveKind, end: Triple, feed: float, centre: Triple | None, sweep: float, axis: int) -> None:
        if self.corner is not None:
            self._turn_corner(self.corner, kind, end)
            if math.dist(self.at, end) <= COORDINATE_ROUND_OFF_MM:
                self.at = end
                return
        self._add(kind, end, feed, centre, sweep, axis, self.line)

    def _turn_corner(self, corner: Corner, kind: MoveKind, end: Triple) -> None:
        """Cut or round the corner that the last line makes with the line to `end`: the tool stands behind it then."""
        self.corner = None
        first, second, normal = PLANES[self.modal.plane]
        start, feed = self.chain.last() if self.chain is not None else self.rows.last()
        level = self.at[normal]
        if kind is not MoveKind.LINE or max(abs(start[normal] - level), abs(end[normal] - level)) > COORDINATE_ROUND_OFF_MM:
            raise self.stop(f"the corner of ,{corner.letter} in line {corner.line} lies between no two G1 lines of one plane",
                            remedy="write the corner out")  # fmt: skip
        pairs = [(p[first], p[second]) for p in (start, self.at, end)]
        cut = cut_corner(*pairs, letter=corner.letter, size=corner.size)
        if cut is None:
            return
        if cut == math.inf:
            raise self.stop(f"the line after ,{corner.letter} in line {corner.line} goes straight back: there is no corner",
                            remedy=f"take ,{corner.letter} out, or check the line")  # fmt: skip
        if isinstance(cut, float):
            needs, *have = (self.shown(size) for size in (cut, math.dist(*pairs[:2]), math.dist(*pairs[1:])))
            raise self.stop(f"the corner of ,{corner.letter} in line {corner.line} needs {needs} of both lines",
                            why=f"they are {' and '.join(have)} long",
                            remedy="make it smaller, or the lines longer")  # fmt: skip

        def point(pair: tuple[float, float]) -> Triple:
            p = [0.0, 0.0, 0.0]
            p[first], p[second], p[normal] = pair[0], pair[1], level
            return p[0], p[1], p[2]

        self.at = point(cut.first_end)
        (self.rows if self.chain is None else self.chain).end_last_at(self.at)
        bent = cut.centre is not None
        self._add(MoveKind.ARC if bent else MoveKind.LINE, point(cut.second_start), feed, point(cut.centre) if cut.centre else None,
                  cut.sweep, normal, corner.line)  # fmt: skip

    def _refuse_corner(self) -> None:
        """Stop where something between the two lines of a corner changes what their coordinates mean."""
        if self.corner is not None:
            raise self.stop(f"the corner of ,{self.corner.letter} in line {self.corner.line} is still open here",
                            remedy="write the second line of the corner before it")  # fmt: skip

    def _add(self, kind: MoveKind, end: Triple, feed: float, centre: Triple | None, sweep: float, axis: int, line: int) -> None:
        state = self._state if self._state >= 0 else self.state_number()
        frame = self._frame if self._frame >= 0 else self.frame_number()
        if self.chain is not None:
            move = ChainMove(kind, self.at, end, feed, centre, sweep, axis, line, state, frame, self.file)
            self.chain.moves.append(move)
            self.at = end
            if self.chain.leaving and self.chain.planar(move):
                self.close_chain()
            return
        number = -1 if centre is None else self.rows.add_arc(centre, sweep, axis)
        self.rows.add((self.at, end, feed, number, line, state, frame, self.file, int(kind)))
        self.at = end

    def has_moved(self) -> bool:
        """Whether any move has been made."""
        return len(self.rows) > 0 or (self.chain is not None and len(self.chain.moves) > 0)

    # --- cutter compensation ----------------------------------------------------------------------------------------------

    def open_chain(self) -> None:
        """Cutter compensation is turned on: moves are gathered until it is off."""
        self._refuse_corner()
        radius, left = self.radius(), self.modal.compensation == 410
        if self.transform.flips(self.modal.plane) != (radius < 0.0):
            left = not left
        by_arc = self.profile.compensation_corner == "arc"
        self.chain = Chain(self.modal.plane, abs(radius), left, corner_by_arc=by_arc)

    def written(self, letter: str, value: float) -> str:
        """The digits behind a letter as they stand in the text (T10.10 is not T10.1); the value's own if they are computed."""
        column, _ = self.words_at.get(letter, (0, 0))
        found = _DIGITS.match(self.sources[self.file].line(self.line), column) if column else None
        digits = "".join(found[0].split()) if found else ""
        return digits if digits and float(digits) == value else f"{value:g}"

    def close_chain(self, why: str = "") -> None:
        """Work out the compensated path gathered so far; `why` says what forces that while compensation is still on."""
        chain = self.chain
        if chain is None:
            return
        self._refuse_corner()
        self.chain = None
        if why and chain.radius > 0.0:
            self.remark("compensation interrupted", Severity.CAUTION, f"Cutter compensation is still on where {why}.",
                        "Write G40 before it.")
        self.at = chain.resolve(self, leaves=chain.leaving)
        if why and self.modal.compensation != 400:
            self.open_chain()

    def check_rows(self) -> None:
        """Stop where more moves were made, in all or one by one, than the limits allow (0 = no limit)."""
        gathered = len(self.chain.moves) if self.chain is not None else 0
        for limit, made in ((self.row_limit, len(self.rows)), (self.single_limit, self.rows.added)):
            if limit and made + gathered > limit:
                raise self.stop(f"the program has not ended after {limit:,} moves", remedy="correct it, or divide the program",
                                why="a loop, a call or a repeat goes on and on")  # fmt: skip
        if gathered > _MOST_GATHERED:
            raise self.stop(f"cutter compensation stays on for more than {_MOST_GATHERED:,} moves",
                            remedy="write G40 between the contours")  # fmt: skip


def _first_modes(profile: Profile) -> Modal:
    return Modal(unit=INCH if profile.units == "inch" else 1.0, arc_absolute=profile.arc_centre == "absolute",
                 retract=980 if profile.cycle_return == "G98" else 990)  # fmt: skip


def arc_length(start: Triple, end: Triple, centre: Triple, axis: int, sweep: float) -> float:
    """Length of an arc or helix, mm."""
    radius = math.sqrt(sum((start[i] - centre[i]) ** 2 for i in range(3) if i != axis))
    return math.hypot(radius * sweep, end[axis] - start[axis])


def _number(value: T, numbers: dict[T, int], values: list[T]) -> int:
    number = numbers.get(value)
    if number is None:
        number = numbers[value] = len(values)
        values.append(value)
    return number
