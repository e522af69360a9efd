"""Canned cycles G73, G74, G76, G81 to G89: one hole per block, with levels, pecks, dwells and repeats."""

from __future__ import annotations

import math

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.program.arc import PLANES
from setwright.program.block import code_text
from setwright.program.codes import CYCLES
from setwright.program.machine import Machine, Triple
from setwright.program.remark import Severity
from setwright.program.settings import dwell_seconds
from setwright.program.words import Words

__all__ = ["begin", "run", "run_pattern"]

_AXES = "XYZ"
_MOST_PECKS = 10_000
_MOST_REPEATS = 10_000


def begin(machine: Machine) -> None:
    """A cycle comes into force: the level where it began is remembered."""
    modal = machine.modal
    if not modal.cycle:
        modal.cycle_initial = machine.prog[PLANES[modal.plane][2]]
        modal.cycle["code"] = float(modal.motion)


def run(machine: Machine, words: Words) -> None:
    """One block with a cycle in force: the hole, or a row of them."""
    modal = machine.modal
    machine.close_chain("a canned cycle begins")
    machine.check_stated()
    begin(machine)
    normal = PLANES[modal.plane][2]
    _levels(machine, words, _AXES[normal])
    count = _repeats(machine, words)
    if not (words.any_axis or "R" in words):
        return
    hole = _first_hole(machine, normal)
    for _ in range(count):
        target = _plane_target(machine, words, normal)
        machine.check_rows()
        hole.bore(target)


def run_pattern(machine: Machine, words: Words, code: int) -> None:
    """G70, G71, G72: the cycle in force repeated at L places of a circle, an arc, or a line; angles in degrees from the first axis
    of the plane, counter-clockwise. Circle and arc lie about where the tool stands, the line begins there.

    Raises Stop where no cycle is in force or a word is missing.
    """
    modal, name = machine.modal, code_text("G", code)
    if modal.motion not in CYCLES:
        raise machine.stop(f"{name} without a canned cycle", why="what is to be done at each place is not said",
                           remedy="write G81 or another cycle before it, or in its block", key=name)  # fmt: skip
    missing = next((letter for letter in ("I", "K") if letter not in words and (letter == "I" or code == 710)), "")
    if missing:
        raise machine.stop(f"{name} has no {missing}", remedy=f"write {missing}", key=name)
    machine.assume("hole_patterns", f"{name} repeats the cycle at {words.integer('L', 'number of holes')} places", key=name)
    machine.close_chain("a canned cycle begins")
    machine.check_stated()
    begin(machine)
    first, second, normal = PLANES[modal.plane]
    size, turn = words.length("I"), words.number("J") if "J" in words else 0.0
    step = words.number("K") if "K" in words else 0.0
    count = words.integer("L", "number of holes")
    if not 1 <= count <= _MOST_REPEATS:
        raise machine.stop(f"{name} with {count} holes", remedy="write their number in L", key="L")
    words.take("IJKL")
    _levels(machine, words, _AXES[normal], pattern=True)
    hole = _first_hole(machine, normal)
    centre = _plane_target(machine, words, normal)
    for k in range(count):
        angle = math.radians(turn + (360.0 * k / count if code == 700 else step * k if code == 710 else 0.0))
        away = size * k if code == 720 else size
        target = [*machine.prog]
        target[first], target[second] = centre[first] + away * math.cos(angle), centre[second] + away * math.sin(angle)
        machine.check_rows()
        hole.bore((target[0], target[1], target[2]))


def _first_hole(machine: Machine, normal: int) -> _Hole:
    """A hole with the levels remembered. Raises Stop where one of them is not known."""
    modal = machine.modal
    if "near" not in modal.cycle and machine.profile.cycle_without_r == "current level":
        machine.assume("cycle_without_r", "a cycle without R starts from where the tool stands")
        modal.cycle["near"] = machine.prog[normal]
    if "near" not in modal.cycle or "deep" not in modal.cycle:
        missing = "near level (R)" if "near" not in modal.cycle else "depth (Z)"
        raise machine.stop(f"{code_text('G', modal.motion)} has no {missing}", remedy="write it in the block that begins the cycle",
                           behaviour="" if "near" in modal.cycle else "cycle_without_r")  # fmt: skip
    return _Hole(machine, normal, modal.cycle["near"], modal.cycle["deep"], modal.cycle.get("dwell", 0.0))


def _levels(machine: Machine, words: Words, axis: str, *, pattern: bool = False) -> None:
    """Near and deep level from the words, and the other data that a cycle remembers; I and J of a `pattern` are not the cycle's."""
    modal = machine.modal
    near, deep = ("R", axis) if machine.profile.cycle_words == "R and Z" else (axis, "I")
    if near in words:
        if near != "R":
            machine.assume("cycle_words", "Z gives the near level and I the depth of a cycle", key=near)
        value = words.length(near)
        modal.cycle["near"] = value if modal.absolute else modal.cycle_initial + value
    if deep in words:
        value = words.length(deep)
        if not modal.absolute and "near" not in modal.cycle:
            raise machine.stop(f"{code_text('G', modal.motion)} has no near level",
                               remedy="write R in the block that begins the cycle")
        modal.cycle["deep"] = value if modal.absolute else modal.cycle["near"] + value
    if "P" in words:
        modal.cycle["dwell"] = dwell_seconds(machine, words)
    if "Q" in words:
        modal.cycle["q"] = abs(words.length("Q"))
    if deep != "I" and not pattern:
        for letter, other in zip("IJ", "XY", strict=True):
            if letter in words:
                if modal.motion not in (760, 870):
                    raise machine.stop(f"{letter} in {code_text('G', modal.motion)} is not understood",
                                       why="what it does depends on the control",
                                       remedy="use Q, or write the moves out", key=letter)  # fmt: skip
                modal.cycle[f"shift {other}"] = words.length(letter)


def _repeats(machine: Machine, words: Words) -> int:
    reading = machine.profile.cycle_repeat
    letter = next((letter for letter in "KL" if letter in words and letter in reading), "")
    if not letter:
        return 1
    count = words.integer(letter, "number of repeats")
    if count > _MOST_REPEATS:
        raise machine.stop(f"{count} repeats", why=f"no plate holds more than {_MOST_REPEATS} holes in a row", key=letter)
    if count == 0:
        if machine.profile.cycle_repeat_zero == "refuse":
            raise machine.stop("a cycle repeated zero times", why="some controls only remember it, others refuse it", key=letter,
                               behaviour="cycle_repeat_zero")
        machine.assume("cycle_repeat_zero", "a cycle repeated zero times is only remembered", key=letter)
    return count


def _plane_target(machine: Machine, words: Words, normal: int) -> Triple:
    target = [*words.target()]
    target[normal] = machine.prog[normal]
    return target[0], target[1], target[2]


class _Hole:
    """The moves of one hole in programmed coordinates; levels along the tool axis, mm."""

    def __init__(self, machine: Machine, normal: int, near: float, deep: float, dwell: float) -> None:
        self.machine, self.normal, self.near, self.deep, self.dwell = machine, normal, near, deep, dwell
        self.code = machine.modal.motion
        self._turning = machine.modal.turning
        initial = machine.modal.cycle_initial
        self.back = max(initial, near) if machine.modal.retract == 980 else near
        self.name = code_text("G", self.code)
        if self.code != 870 and deep > near + COORDINATE_ROUND_OFF_MM:
            machine.remark("cycle depth above its near level", Severity.WARNING,
                           f"{self.name} goes from {machine.shown(near)} up to {machine.shown(deep)}: "
                           "the depth lies above the near level.",
                           "Check R and Z, and G90 or G91.", value=deep, unit="mm")  # fmt: skip

    def _to(self, level: float, *, rapid: bool) -> None:
        point = [*self.machine.prog]
        point[self.normal] = level
        self.machine.line_to((point[0], point[1], point[2]), rapid=rapid)

    def bore(self, target: Triple) -> None:
        """There, down, and out again."""
        self.approach(target)
        self.cut()
        if self.code != 870:
            self.leave()

    def approach(self, target: Triple) -> None:
        """Rapid to the near level above the hole; from below it, up first."""
        if self.machine.prog[self.normal] < self.near:
            self._to(self.near, rapid=True)
        point = [*target]
        point[self.normal] = self.machine.prog[self.normal]
        self.machine.line_to((point[0], point[1], point[2]), rapid=True)
        if self.code != 870:
            self._to(self.near, rapid=True)

    def cut(self) -> None:
        """Down, and what happens at the bottom."""
        self._check()
        {730: self._pecks, 830: self._pecks, 760: self._fine_bore, 870: self._back_bore}.get(self.code, self._straight)()

    def _check(self) -> None:
        machine, modal = self.machine, self.machine.modal
        if not modal.feed > 0.0:
            said = "F0 is in force" if modal.feed == 0.0 else "no F word has been given"
            machine.remark_once("no feed", Severity.WARNING, f"A cutting move is made while {said}.",
                           "Write F in this block: the control stops here or uses an old value.")  # fmt: skip
        wrong = modal.turning <= 0 if self.code == 840 else modal.turning >= 0 if self.code == 740 else modal.turning == 0
        if wrong:
            machine.remark_once("spindle wrong for the cycle", Severity.WARNING,
                           f"{self.name} begins while the spindle {'stands' if modal.turning == 0 else 'turns the other way'}.",
                           "Write S and M3 (M4 for G74) before it.")  # fmt: skip

    def leave(self) -> None:
        """Out of the hole: at feed where the cycle says so, then to the return level."""
        if self.code in (740, 840, 850, 890):
            self._to(self.near, rapid=False)
            if self.code in (740, 840):
                self._turn(self._turning)
        self._to(self.back, rapid=True)
        if self.code in (760, 860):
            self._turn(self._turning)
        if self.code == 760:
            self._shift(away=False)

    def _straight(self) -> None:
        self._to(self.deep, rapid=False)
        if self.dwell > 0.0 and self.code != 810:
            self.machine.event("dwell", self.dwell)
        if self.code in (740, 840):
            self._turn(-self._turning)
        elif self.code in (860, 880):
            self._turn(0) if self.code == 860 else self.machine.event("stop")

    def _pecks(self) -> None:
        modal, profile = self.machine.modal, self.machine.profile
        step = modal.cycle.get("q", 0.0)
        if step <= 0.0:
            raise self.machine.stop(f"{self.name} has no Q", remedy="write Q with the depth of a peck")
        count = math.ceil((self.near - self.deep) / step - COORDINATE_ROUND_OFF_MM)
        if count > _MOST_PECKS:
            raise self.machine.stop(f"{self.name} would peck {count} times", why="Q is far too small for this depth", key="Q")
        for k in range(1, count + 1):
            depth = self.deep if k == count else self.near - k * step
            self._to(depth, rapid=False)
            if k == count:
                break
            if self.code == 730:
                self._to(min(self.near, depth + profile.chip_break_mm), rapid=True)
            else:
                self._to(self.near, rapid=True)
                self._to(min(self.near, depth + profile.peck_clearance_mm), rapid=True)
        if self.dwell > 0.0:
            self.machine.event("dwell", self.dwell)

    def _fine_bore(self) -> None:
        self._to(self.deep, rapid=False)
        if self.dwell > 0.0:
            self.machine.event("dwell", self.dwell)
        self._turn(0)
        self._shift(away=True)

    def _back_bore(self) -> None:
        turning = self.machine.modal.turning
        self._turn(0)
        self._shift(away=True)
        self._to(self.near, rapid=True)
        self._shift(away=False)
        self._turn(turning)
        self._to(self.deep, rapid=False)
        if self.dwell > 0.0:
            self.machine.event("dwell", self.dwell)
        self._turn(0)
        self._shift(away=True)
        self._to(max(self.machine.modal.cycle_initial, self.near), rapid=True)
        self._shift(away=False)
        self._turn(turning)

    def _turn(self, turning: int) -> None:
        machine = self.machine
        machine.modal.turning = turning
        machine.modal.oriented = turning == 0 and self.code in (760, 870)
        machine.state_changed()
        machine.event("spindle", turning * machine.modal.speed)

    def _shift(self, *, away: bool) -> None:
        machine, cycle = self.machine, self.machine.modal.cycle
        if "shift X" in cycle or "shift Y" in cycle:
            move = cycle.get("shift X", 0.0), cycle.get("shift Y", 0.0)
        else:
            amount, reading = cycle.get("q", 0.0), machine.profile.bore_shift
            if amount > 0.0:
                machine.assume("bore_shift", f"the stopped tool moves off the wall towards {reading}")
                machine.event("bore shift", 1.0 if away else -1.0)
            sign = 1.0 if reading[0] == "+" else -1.0
            move = (sign * amount, 0.0) if reading[1] == "X" else (0.0, sign * amount)
        factor = 1.0 if away else -1.0
        first, second, _ = PLANES[machine.modal.plane]
        point = [*machine.prog]
        point[first] += factor * move[0]
        point[second] += factor * move[1]
        machine.line_to((point[0], point[1], point[2]), rapid=True)


