"""A block's meaning: its words carried out in the order in which a control takes them.

Order: feed mode, F, S, T; tool change; spindle and coolant on; plane, units; dwell; compensation; tool length; work offset;
corner mode, distance modes, cycle return; register writes and shifts; motion; then spindle and coolant off, stops, end.
"""

from __future__ import annotations

import math

from setwright.base.tolerance import ARC_MISMATCH_NOTICE_MM, SAME_PLACE_MM
from setwright.program import cycles, dialects, reference, settings
from setwright.program.arc import PLANES, arc_by_centre, arc_by_radius
from setwright.program.block import code_text
from setwright.program.codes import ALSO, AXIS_OWNERS, CYCLES, GROUPS, MACHINE_M, MOTIONS, OTHERS, PATTERNS
from setwright.program.corner import Corner
from setwright.program.machine import INCH, Machine, Triple
from setwright.program.pocket import mill_circle
from setwright.program.remark import Severity
from setwright.program.words import Words

__all__ = ["Executor"]

_CENTRES = "IJK"
_OTHER_RETURN = 17
_RIGID_TAPPING = 29
"""M29 with S: the next tapping cycle turns the spindle in step with the feed; nothing moves yet."""


class Executor:
    """Carries out the words of blocks on a machine; knows nothing of jumps, calls and variables."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.ended = ""

    def run(self, words: Words) -> None:
        """Carry out one block. Raises Stop where it cannot be."""
        codes = self._sort(words.g, words)
        self._odd_letters(words, codes)
        self._before_motion(words, codes)
        self._motion(words, codes)
        self._after_motion(words)
        self._leftovers(words)

    def _sort(self, g: tuple[int, ...], words: Words) -> dict[str, int]:
        codes: dict[str, int] = {}
        for written in g:
            code = ALSO.get(written, written)
            if code not in GROUPS and code not in AXIS_OWNERS and code not in OTHERS:
                other = dialects.meaning(self.machine, words, code)
                if other is None:
                    continue
                code = other
            if code == 800 and any(other in MOTIONS and other != 800 for other in g):
                self.machine.modal.cycle.clear()
                continue
            group = GROUPS.get(code)
            if group is None:
                group = "axis words" if code in AXIS_OWNERS or code in PATTERNS else dialects.GROUP.get(code, code_text("G", code))
            if group in codes and codes[group] != code:
                first, second = code_text("G", codes[group]), code_text("G", code)
                raise self.machine.stop(f"{first} and {second} in one block", why="only one of them can be meant",
                                        remedy="take one out", key=second)
            codes[group] = code
            self.machine.stated.add(group)
        turned_on = next((code for code in g if code in AXIS_OWNERS), None)
        if turned_on is not None:
            codes.setdefault("axis words", turned_on)
        return codes

    # --- before the motion -------------------------------------------------------------------------------------------------

    def _before_motion(self, words: Words, codes: dict[str, int]) -> None:
        modal = self.machine.modal
        if codes or words.m or not words.only_axes:
            if "feed mode" in codes:
                modal.feed_mode = codes["feed mode"]
                self.machine.state_changed()
            if "units" in codes:
                modal.unit, modal.unit_said = (INCH if codes["units"] == 200 else 1.0), True
            self._feed_speed_tool(words)
            self._tool_change(words)
            self._spindle_on(words.m)
            if "plane" in codes:
                self._plane({170: 0, 180: 1, 190: 2}[codes["plane"]])
            if codes.get("axis words") == 40:
                self._dwell(words)
            self._compensation(words, codes)
            settings.tool_length(self.machine, words, codes)
            settings.work_offset(self.machine, words, codes)
            self._modes(codes)
            settings.shifts(self.machine, words, codes)
        elif "F" in words:
            modal.feed = self._feed_value(words)

    def _feed_value(self, words: Words) -> float:
        value = words.number("F")
        return value if self.machine.modal.feed_mode == 930 else value * self.machine.modal.unit

    def _feed_speed_tool(self, words: Words) -> None:
        machine, modal = self.machine, self.machine.modal
        if "F" in words and not any(code in CYCLES and code in (740, 840) and modal.feed_mode == 950 for code in words.g):
            modal.feed = self._feed_value(words)
            if modal.feed < 0.0:
                raise machine.stop("the feed is negative", key="F")
        if "S" in words:
            modal.speed = words.number("S")
            if modal.speed < 0.0:
                raise machine.stop("the spindle speed is negative", remedy="turn the direction with M3 and M4", key="S")
            machine.state_changed()
            machine.event("spindle", modal.turning * modal.speed)
        if "T" in words:
            self._tool_word(words.number("T"))

    def _tool_word(self, value: float) -> None:
        machine, modal = self.machine, self.machine.modal
        tool = math.floor(value + SAME_PLACE_MM)
        fraction = round((value - tool) * 100.0)
        if machine.profile.t_word == "number.register":
            modal.tool_register = int(machine.written("T", value).partition(".")[2] or tool)
            machine.assume("t_word", "T words name the tool and its registers", key="T")
        elif fraction or value < 0.0:
            raise machine.stop(f"T{value:g} is no tool number", why="some controls write the register behind the point",
                               remedy="write a whole number, or choose a profile that reads T7.3 as tool 7 with registers 3",
                               key="T", behaviour="t_word")  # fmt: skip
        modal.next_tool = tool
        if machine.profile.tool_change == "T":
            self._change_tool(tool)
        else:
            machine.event("preselect", float(tool))

    def _tool_change(self, words: Words) -> None:
        machine = self.machine
        if 6 not in words.m:
            return
        if machine.profile.tool_change == "T":
            reference.change_move(machine)
            return
        if machine.modal.next_tool is None:
            machine.remark("tool change without a tool", Severity.WARNING,
                           "M6 comes before any T word: which tool is put in is not said.",
                           "Write T before M6.", key="M6")  # fmt: skip
        self._change_tool(machine.modal.tool if machine.modal.next_tool is None else machine.modal.next_tool)

    def _change_tool(self, tool: int) -> None:
        machine, modal = self.machine, self.machine.modal
        if modal.compensation != 400 and machine.chain is not None:
            machine.close_chain("the tool is changed")
        reference.change_move(machine)
        if machine.profile.change_stops_spindle == "yes":
            modal.turning, modal.oriented = 0, False
        if machine.profile.change_cancels_length == "yes" and modal.length_sign:
            machine.assume("change_cancels_length", "the tool change takes the tool length off")
            machine.change_frame(lambda: setattr(modal, "length_sign", 0))
        if machine.profile.t_word == "number":
            modal.tool_register = tool
        modal.tool = tool
        machine.said.clear()
        machine.state_changed()
        machine.event("tool change", float(tool))

    def _spindle_on(self, m: tuple[int, ...]) -> None:
        machine, modal = self.machine, self.machine.modal
        for code in m:
            if code in (3, 4):
                modal.turning, modal.oriented = 1 if code == 3 else -1, False
                machine.state_changed()
                machine.event("spindle", modal.turning * modal.speed)
            elif code in (7, 8):
                modal.coolant |= {"mist" if code == 7 else "flood"}
                machine.state_changed()
                machine.event("coolant", " and ".join(sorted(modal.coolant)))

    def _plane(self, plane: int) -> None:
        if plane != self.machine.modal.plane and self.machine.chain is not None:
            self.machine.close_chain("the plane changes")
        self.machine.modal.plane = plane
        if self.machine.chain is not None:
            self.machine.chain.plane = plane

    def _dwell(self, words: Words) -> None:
        if "X" in words or "U" in words:
            seconds = words.number("X" if "X" in words else "U")
            words.take("XU")
        elif "P" in words:
            seconds = settings.dwell_seconds(self.machine, words)
            words.take("P")
        else:
            raise self.machine.stop("G4 has no time", remedy="write G4 P500 (milliseconds) or G4 X0.5 (seconds)", key="G4")
        self.machine.event("dwell", seconds)

    def _compensation(self, words: Words, codes: dict[str, int]) -> None:
        code = codes.get("compensation")
        if code is None:
            if "D" in words and self.machine.modal.compensation != 400 and self.machine.chain is not None:
                self.machine.close_chain("the radius register changes")
                settings.radius_register(self.machine, words)
                self.machine.open_chain()
            return
        settings.compensation(self.machine, words, code)

    def _modes(self, codes: dict[str, int]) -> None:
        modal = self.machine.modal
        if "corner" in codes:
            modal.exact_stop = codes["corner"] in (610, 611)
            self.machine.state_changed()
        if "distance" in codes:
            modal.absolute = codes["distance"] == 900
        if "arc centre" in codes:
            modal.arc_absolute = codes["arc centre"] == 901
        if "cycle return" in codes:
            modal.retract = codes["cycle return"]
        if "polar" in codes:
            settings.polar(self.machine, turn_on=codes["polar"] == 160)

    # --- motion ----------------------------------------------------------------------------------------------------------------

    def _motion(self, words: Words, codes: dict[str, int]) -> None:
        machine, modal = self.machine, self.machine.modal
        motion = codes.get("motion")
        if motion is not None and motion != modal.motion:
            modal.motion = motion
            if motion in CYCLES:
                cycles.begin(machine)
            else:
                modal.cycle.clear()
            machine.state_changed()
        owner = codes.get("axis words")
        if owner in (280, 300):
            reference.reference_return(machine, words, owner)
            return
        if owner in (120, 130):
            self._check_feed()
            mill_circle(machine, words, clockwise=owner == 120)
            return
        if owner in PATTERNS:
            cycles.run_pattern(machine, words, owner)
            return
        if owner is not None:
            return
        if "G53" in codes:
            reference.machine_move(machine, words)
            return
        if motion in CYCLES or (modal.motion in CYCLES and words.any_axis):
            self._one_block_stop(codes, lambda: cycles.run(machine, words))
            return
        if words.any_axis or (modal.motion in (20, 30) and words.any_centre):
            self._one_block_stop(codes, lambda: self._move(words))

    def _one_block_stop(self, codes: dict[str, int], move: object) -> None:
        exact, modal = "G9" in codes, self.machine.modal
        before = modal.exact_stop
        if exact:
            modal.exact_stop = True
            self.machine.state_changed()
        move()  # type: ignore[operator]
        if exact:
            modal.exact_stop = before
            self.machine.state_changed()

    def _move(self, words: Words) -> None:
        machine, modal = self.machine, self.machine.modal
        machine.check_stated()
        if modal.motion in (-1, 800):
            self._first_motion()
        target = words.target()
        if modal.motion in (0, 10):
            if modal.motion == 10:
                self._check_feed()
            before = machine.at
            machine.line_to(target, rapid=modal.motion == 0)
            self._corner(words, before)
        else:
            self._check_feed()
            self._arc(words, target)

    def _corner(self, words: Words, before: Triple) -> None:
        """A corner word in this block: the next line is to begin behind the chamfer or the rounding."""
        letter = next((letter for letter in (",C", ",R") if letter in words), "")
        if not letter:
            return
        machine = self.machine
        size = words.length(letter)
        if machine.modal.motion != 10 or size < 0.0:
            raise machine.stop(f"{letter} stands behind a G1 line only, with a size that is not negative", key=letter)
        if machine.scale is not None or machine.modal.feed_mode == 930:
            raise machine.stop(f"{letter} while scaling or G93 is on", why="controls differ on what it is then",
                               remedy="cancel them, or write the corner out", key=letter)  # fmt: skip
        machine.assume("corner_words", f"{letter} cuts or rounds the corner to the next line", key=letter)
        if size > 0.0:
            machine.corner = Corner(letter[1], size, machine.line) if machine.at != before else None

    def _first_motion(self) -> None:
        machine = self.machine
        wanted = machine.profile.first_motion
        if machine.modal.motion == 800:
            machine.remark("motion after G80 without G0 or G1", Severity.CAUTION,
                           "Axis words follow G80 without G0 or G1; taken as rapid.",
                           "Write G0 or G1 in this block.")  # fmt: skip
            machine.modal.motion = 0
        elif wanted == "none":
            raise machine.stop("axis words stand before any G0, G1, G2 or G3",
                               why="whether this is a rapid or a feed move is not said",
                               remedy="write G0 or G1 in this block", behaviour="first_motion")  # fmt: skip
        else:
            machine.assume("first_motion", f"axis words before any G0 to G3 are {wanted} moves")
            machine.modal.motion = 0 if wanted == "G0" else 10
        machine.state_changed()

    def _check_feed(self) -> None:
        machine, modal = self.machine, self.machine.modal
        if not modal.feed > 0.0:
            said = "F0 is in force" if modal.feed == 0.0 else "no F word has been given"
            machine.remark_once("no feed", Severity.WARNING, f"A cutting move is made while {said}.",
                                "Write F in this block: the control stops here or uses an old value.")
        if modal.turning == 0 or modal.speed == 0.0:
            how = "stands" if modal.turning == 0 else "is turned on with S0"
            machine.remark_once("spindle stands in a feed move", Severity.WARNING, f"A feed move is made while the spindle {how}.",
                           "Write S and M3 before it, unless nothing is cut here.")  # fmt: skip

    def _arc(self, words: Words, target: Triple) -> None:
        machine, modal = self.machine, self.machine.modal
        first, second, _ = PLANES[modal.plane]
        start = machine.prog
        clockwise = modal.motion == 20
        a, b = (start[first], start[second]), (target[first], target[second])
        if "R" in words:
            if words.any_centre:
                raise machine.stop("R and a centre in one arc", why="they may contradict each other", remedy="keep one of the two",
                                   key="R")
            radius = words.length("R")
            shape = arc_by_radius(a, b, radius, clockwise=clockwise)
            if shape is None:
                raise machine.stop("an arc with R ends where it begins", why="its centre is not determined",
                                   remedy="write a full circle with I and J", key="R")
            at = "R"
        else:
            centre = self._centre(words, a)
            turns = self._turns(words)
            shape = arc_by_centre(a, b, centre, clockwise=clockwise, turns=turns)
            at = "IJK"[first]
            if math.dist(a, centre) <= SAME_PLACE_MM:
                raise machine.stop("the arc has no radius", why="its centre lies on its start", remedy="write I, J or K", key=at)
        self._check_mismatch(shape.mismatch, at)
        end = [*target]
        end[first], end[second] = shape.end
        machine.arc_to(target, shape.centre, shape.sweep, (end[0], end[1], end[2]))

    def _centre(self, words: Words, start: tuple[float, float]) -> tuple[float, float]:
        machine, modal = self.machine, self.machine.modal
        first, second, normal = PLANES[modal.plane]
        if not words.any_centre:
            raise machine.stop("the arc has neither centre nor radius", remedy="write I, J, K or R")
        if _CENTRES[normal] in words and words.length(_CENTRES[normal]) != 0.0:
            raise machine.stop(f"{_CENTRES[normal]} gives a centre outside the plane {('G17', 'G18', 'G19')[modal.plane]}",
                               remedy="choose the plane with G17, G18 or G19 before the arc", key=_CENTRES[normal])  # fmt: skip
        one, two = _CENTRES[first], _CENTRES[second]
        if not modal.arc_absolute:
            return (start[0] + (words.length(one) if one in words else 0.0),
                    start[1] + (words.length(two) if two in words else 0.0))
        machine.assume("arc_centre", "I, J, K are positions, not distances from the start", key=one)
        return (words.length(one) if one in words else start[0], words.length(two) if two in words else start[1])

    def _turns(self, words: Words) -> int:
        word = self.machine.profile.arc_turns
        if word == "none" or word not in words:
            return 1
        turns = words.number(word)
        if turns != int(turns) or not 1 <= turns <= 1000:
            raise self.machine.stop(f"{word}{turns:g} is no number of turns", key=word)
        words.take(word)
        return int(turns)

    def _check_mismatch(self, mismatch: float, at: str) -> None:
        machine = self.machine
        allowed = machine.profile.arc_mismatch_mm
        if mismatch > allowed + SAME_PLACE_MM:
            raise machine.stop(f"the end of the arc is {machine.shown(mismatch, places=4)} off its circle",
                               why=f"this control accepts {machine.shown(allowed)}",
                               remedy="correct the end point, the centre or the radius", key=at,
                               behaviour="arc_mismatch_mm")  # fmt: skip
        if mismatch > max(ARC_MISMATCH_NOTICE_MM, allowed / 10.0):
            machine.remark("arc end off its circle", Severity.NOTICE,
                           f"The end of the arc is {machine.shown(mismatch, places=4)} off its circle.",
                           "A control with a narrower limit stops here.", key=at, value=mismatch, unit="mm")  # fmt: skip

    # --- after the motion ------------------------------------------------------------------------------------------------------

    def _after_motion(self, words: Words) -> None:
        machine, modal = self.machine, self.machine.modal
        for code in words.m:
            if code in (5, 19):
                modal.turning, modal.oriented = 0, code == 19
                machine.state_changed()
                machine.event("spindle", 0.0)
            elif code == 9:
                modal.coolant = frozenset()
                machine.state_changed()
                machine.event("coolant", "")
            elif code in (0, 1, 60):
                machine.event({0: "stop", 1: "optional stop", 60: "pallet"}[code])
            elif code in (2, 30):
                machine.event("end")
                self.ended = f"M{code}"
                modal.turning, modal.coolant = 0, frozenset()
                machine.state_changed()
            elif code == _RIGID_TAPPING and "S" in words:
                continue
            elif code not in MACHINE_M:
                self._machine_function(code)

    def _machine_function(self, code: int) -> None:
        machine = self.machine
        name = f"M{code}"
        if code in machine.profile.machine_functions:
            machine.assume("machine_functions", f"{name} switches a function of the machine and moves no axis", key=name)
            return
        if machine.profile.other_m_codes == "refuse":
            ends = ' if it ends a subprogram, write subprogram_end = "M17 too" there' if code == _OTHER_RETURN else ""
            raise machine.stop(f"{name} is not understood", why="it depends on the machine, and may move an axis",
                               remedy=f"if it moves nothing, list {code} under machine_functions in [control.behaviours];{ends}"
                               .rstrip(";"), key=name, behaviour="machine_functions")  # fmt: skip
        machine.assume("other_m_codes", f"{name} moves no axis", key=name)
        machine.remark("machine function not known", Severity.CAUTION,
                       f"{name} is a function of the machine; it is taken to move nothing.",
                       "Look it up in the machine's manual.", key=name)  # fmt: skip

    def _odd_letters(self, words: Words, codes: dict[str, int]) -> None:
        for letter in words.odd_letters():
            if letter in "ABC":
                self._rotary(words, letter)
            elif letter == "E":
                self._e_word(words)
            elif letter != "U" or codes.get("axis words") != 40:
                raise self.machine.stop(f"the word {letter} is not understood", why="the machine described has the axes X, Y and Z",
                                        remedy="take it out, or write the block for this control", key=letter)  # fmt: skip

    def _e_word(self, words: Words) -> None:
        machine = self.machine
        if machine.profile.e_words == "refuse":
            raise machine.stop("the word E is not understood", why="an offset to some controls, a feed or a lead to others",
                               remedy='take it out, or write e_words = "remark" under [control.behaviours] of the machine\'s file '
                               "if it moves nothing", key="E", behaviour="e_words")  # fmt: skip
        words.take("E")
        machine.assume("e_words", "E moves nothing", key="E")
        machine.remark("machine function not known", Severity.CAUTION, "E is a word that is taken to move nothing.",
                       "Look it up in the control's manual.", key="E")  # fmt: skip

    def _leftovers(self, words: Words) -> None:
        for letter in words.unused():
            if letter[0] == ",":
                raise self.machine.stop(f"{letter} stands behind a G1 line only", remedy="write the corner out", key=letter)
            self.machine.remark("word without effect", Severity.NOTICE, f"{letter} does nothing in this block.",
                                "Check what it was meant for.", key=letter)

    def _rotary(self, words: Words, letter: str) -> None:
        if self.machine.profile.rotary_words == "at zero" and words.number(letter) == 0.0:
            self.machine.assume("rotary_words", f"{letter}0 turns nothing", key=letter)
            return
        raise self.machine.stop(f"the rotary axis {letter} moves", why="only X, Y and Z are computed",
                                remedy="take the word out if the axis is not fitted", key=letter, behaviour="rotary_words")
