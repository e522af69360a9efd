"""Which control profile a text was written for, as far as the text tells: with evidence by line, and every doubt that stays.

The strict reader (default profile) is asked where it stops. Where a behaviour of the profile would let it pass, exactly this one is
opened, and the line is the evidence. Units, decimal points and cycle words are read from the text as a whole. Where two readings
would move the tool differently and the text does not decide, the more likely one is taken and both are listed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from setwright.base.errors import Problem
from setwright.base.span import Span
from setwright.base.units import format_length
from setwright.program.changes import changes_left
from setwright.program.interpret import Interpreted, interpret
from setwright.program.library import Finder
from setwright.program.profile import Profile, behaviours
from setwright.program.readings import Ambiguity
from setwright.program.registers import Registers
from setwright.program.run import Limits
from setwright.program.scan import POINT, Scan
from setwright.program.source import Source, SourceText

__all__ = ["Evidence", "Inference", "infer"]

_OPENED: dict[str, Any] = {
    "word_without_number": "zero", "nested_comments": "count", "dotted_lines": "ignore", "leading_number": "program number",
    "first_motion": "G0", "length_without_h": "current tool", "radius_without_d": "current tool", "t_word": "number.register",
    "extra_compensation_codes": "as G41 G42", "machine_move_in_g91": "absolute", "cycle_without_r": "current level",
    "unit_words": "G70 G71 too", "hole_patterns": "circle, arc, line", "offsets_g110": "numbered offsets",
    "path_smoothing": "remark", "corner_words": "cut the corner", "pocket_circle": "half circle in",
    "local_calls": "M97", "rotary_words": "at zero", "cycle_repeat_zero": "nothing", "home_return_without_axes": "all axes",
    "slash_comment": "comment", "e_words": "remark",
}  # fmt: skip
_WIDEST_MISMATCH_MM = 0.15
_MOST_ROUNDS = 40
_MOST_BLOCKS, _LEAST_BLOCKS = 100_000, 20_000
"""Blocks that all rounds of reading share, and what the late ones may use at least: an endless text is soon left."""
_ROWS_A_LINE = 20
_AGAIN = 10
"""A block executed again by itself costs as much as so many in a loop."""
_OTHER_RETURN = 17
_INCH_SAID = re.compile(r"(?<![A-Z0-9.])(?:\d+[-/ ])?\d*[./]?\d+\s*(?:IN(?:CH(?:ES)?)?\b|\"|″)|\bINCH(?:ES)?\b")
_MM_SAID = re.compile(r"\d\s*MM\b|\bMILLIMET|\bMETRIC\b")
_COMMENT = re.compile(r"\(([^)\n]*)(?:\)|$)|;(.*)$", re.MULTILINE)
_LARGEST_INCHES = 50.0
_LARGEST_MM = 3000.0
_SMALL_INCHES = 15.0
_DEEPEST_INCHES, _DEEPEST_MM = 2.0, 100.0
"""Deeper than this is seldom milled in inches; deeper than that no more in mm (a position of the machine)."""
_FASTEST_INCHES = 150.0
_AXIS_LETTERS = np.array([chr(code) in "XYZ" for code in range(256)])
_LENGTH_LETTERS = np.array([chr(code) in "XYZIJKR" for code in range(256)])
_LINES_SEARCHED = 400
_CHANGE_TOOL = 6.0
_WITH_LENGTH = (43.0, 44.0)
_OF_LENGTH = (28.0, 30.0, *_WITH_LENGTH, 49.0, 53.0, 90.0, 91.0)


@dataclass(frozen=True, slots=True)
class Evidence:
    """A behaviour that the text settles: what it is taken as, why, and where that stands."""

    behaviour: str
    reading: str
    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Inference:
    """The profile that fits the text, with its evidence and its doubts. `read`: the text under that profile and on nominal
    registers, where it was read so to its end on the way."""

    profile: Profile
    evidence: tuple[Evidence, ...]
    ambiguities: tuple[Ambiguity, ...]
    read: Interpreted | None = field(default=None, repr=False, compare=False)


def infer(sources: Sequence[Source | SourceText], *, find: Finder | None = None) -> Inference:
    """Infer the control profile from program texts. Raises InputRefused only where nothing in them can be a program."""
    return _Detective([SourceText.of(source) for source in sources], find).work()


class _Detective:
    def __init__(self, texts: list[SourceText], find: Finder | None) -> None:
        self.texts, self.find = texts, find
        self.profile = Profile(name="inferred")
        self.evidence: list[Evidence] = []
        self.doubts: list[Ambiguity] = []
        self.read: tuple[Profile, Interpreted] | None = None
        self.blocks_left = _MOST_BLOCKS
        self.allowed = {behaviour.name: behaviour.allowed for behaviour in behaviours()}

    def work(self) -> Inference:
        self._units()
        self._decimal()
        self._cycle_words()
        self._packed_calls()
        self._change_word()
        result = self._read()
        for _ in range(_MOST_ROUNDS):
            opened = [problem for problem in result.problems if problem.key and self._open(problem)]
            if not opened:
                break
            result = self._read()
        self._take_back(result)
        self._settle_mismatch()
        self._settle_registers()
        self._length_alone()
        self._change_motion(result)
        whole = self.read is not None and self.read[0] == self.profile and self.read[1].end != "stopped"
        return Inference(self.profile, tuple(self.evidence), tuple(self.doubts), self.read[1] if whole and self.read else None)

    def _take_back(self, result: Interpreted) -> None:
        """A behaviour that was opened at a place where the text still stops explains nothing there."""
        stuck = {(problem.key, problem.span) for problem in result.problems if problem.key in _OPENED}
        opened = {(one.behaviour, one.span) for one in self.evidence} | {(one.behaviour, one.span) for one in self.doubts}
        changed: dict[str, Any] = {behaviour: getattr(Profile(), behaviour) for behaviour, _ in opened & stuck}
        self.profile = replace(self.profile, **changed)
        self.evidence = [one for one in self.evidence if (one.behaviour, one.span) not in stuck]
        self.doubts = [one for one in self.doubts if (one.behaviour, one.span) not in stuck]

    def _read(self) -> Interpreted:
        most, lines = max(_LEAST_BLOCKS, self.blocks_left), sum(len(text) for text in self.texts)
        whole = Limits()
        limit = Limits(blocks=min(whole.blocks, most + 2 * lines), again=min(whole.again, most // _AGAIN),
                       single_rows=min(whole.single_rows, most), rows_a_line=_ROWS_A_LINE)  # fmt: skip
        result = interpret(self.texts, profile=self.profile, registers=Registers.nominal(), limit=limit, find=self.find)
        if result.end == "stopped":
            self.blocks_left -= result.blocks
        self.read = self.profile, result
        return result

    def _note(self, behaviour: str, reading: Any, text: str, span: Span) -> None:
        self.profile = replace(self.profile, **{behaviour: reading})
        self.evidence.append(Evidence(behaviour, str(reading), text, span))

    def _doubt(self, behaviour: str, reading: Any, readings: tuple[str, ...], text: str, span: Span) -> None:
        self.profile = replace(self.profile, **{behaviour: reading})
        self.doubts.append(Ambiguity(behaviour, readings, str(reading), text, span))

    # --- what the strict reader stops at ------------------------------------------------------------------------------------------

    def _open(self, problem: Problem) -> bool:
        """Open the behaviour that a problem names; False where that is done already or is not possible."""
        behaviour, span = problem.key, problem.span or Span("")
        if behaviour == "machine_functions":
            return self._machine_function(problem, span)
        if behaviour == "arc_mismatch_mm":
            if self.profile.arc_mismatch_mm >= _WIDEST_MISMATCH_MM:
                return False
            self.profile = replace(self.profile, arc_mismatch_mm=_WIDEST_MISMATCH_MM)
            return True
        wanted = _OPENED.get(behaviour)
        if wanted is None or getattr(self.profile, behaviour) == wanted:
            return False
        allowed = self.allowed[behaviour]
        readings = () if isinstance(allowed, type) else tuple(str(value) for value in allowed if value not in ("refuse", "none"))
        text = f"{problem.what}; a control that runs this takes: {wanted}"
        if len(readings) > 1 and behaviour not in ("t_word", "nested_comments", "unit_words"):
            self._doubt(behaviour, wanted, readings, text, span)
        elif behaviour == "extra_compensation_codes":
            self._doubt(behaviour, wanted, ("as G41 G42", "refuse"), text, span)
        else:
            self._note(behaviour, wanted, text, span)
        return True

    def _machine_function(self, problem: Problem, span: Span) -> bool:
        number = re.match(r"M(\d+)", problem.what)
        if number is None or int(number[1]) in self.profile.machine_functions:
            return False
        code = int(number[1])
        if code == _OTHER_RETURN and self._ends_a_program(span) and self.profile.subprogram_end == "M99":
            text = "M17 stands where a program ends, before another one or the end of the text"
            self._note("subprogram_end", "M17 too", text, span)
            return True
        self.profile = replace(self.profile, machine_functions=(*self.profile.machine_functions, code))
        self.doubts.append(Ambiguity("machine_functions", ("moves no axis", "moves an axis"), "moves no axis",
                                     f"M{code} is a function of this machine; nothing in the text says what it does",
                                     span))  # fmt: skip
        return True

    def _ends_a_program(self, span: Span) -> bool:
        """Whether nothing follows the line of a place in its text, or the head of another program, or the tape mark."""
        text = next(text for text in self.texts if text.name == span.file)
        for line in range(span.line + 1, len(text) + 1):
            shown = _COMMENT.sub("", text.line(line)).strip().upper()
            if shown:
                return shown[0] in "O:%"
        return True

    def _length(self, mm: float, *, places: int) -> str:
        """A length in the unit of the program, an inch with one digit more."""
        scan = self.texts[0].scan
        said = scan.value[(scan.letter == ord("G")) & np.isin(scan.value, (20.0, 21.0, 70.0, 71.0))]
        inch = said[0] in (20.0, 70.0) if said.size else self.profile.units == "inch"
        return format_length(mm, "in" if inch else "mm", places=places + bool(inch))

    def _settle_mismatch(self) -> None:
        """Narrow the accepted mismatch of arcs to what the text needs."""
        if self.profile.arc_mismatch_mm < _WIDEST_MISMATCH_MM:
            return
        worst = max((remark for remark in self._read().remarks if remark.slug == "arc end off its circle"),
                    key=lambda remark: remark.value or 0.0, default=None)  # fmt: skip
        if worst is None or worst.value is None:
            self.profile = replace(self.profile, arc_mismatch_mm=Profile().arc_mismatch_mm)
            return
        needed = math.ceil(worst.value * 1000.0) / 1000.0
        self._note("arc_mismatch_mm", needed,
                   f"the worst arc end is {self._length(worst.value, places=4)} off its circle; many controls stop at less",
                   worst.span)  # fmt: skip

    def _settle_registers(self) -> None:
        """Where T words name registers, G43 without H and G41 without D can mean no others."""
        if self.profile.t_word != "number.register":
            return
        own = [doubt for doubt in self.doubts if doubt.behaviour in ("length_without_h", "radius_without_d")]
        self.doubts = [doubt for doubt in self.doubts if doubt not in own]
        self.evidence += [Evidence(doubt.behaviour, doubt.taken, f"{doubt.text}: the T words name the registers", doubt.span)
                          for doubt in own]  # fmt: skip

    # --- what the text as a whole says -------------------------------------------------------------------------------------------

    def _units(self) -> None:
        """Inch or mm where the program does not say, by what comments call sizes and by the size of the coordinates."""
        text = self.texts[0]
        scan = text.scan
        said = np.flatnonzero((scan.letter == ord("G")) & np.isin(scan.value, (20.0, 21.0, 70.0, 71.0)))
        rows = scan.first_word.searchsorted(np.flatnonzero(scan.letter == ord("L")), side="right")  # rows of holes
        said = said[(scan.value[said] < 70.0) | ~np.isin(scan.first_word.searchsorted(said, side="right"), rows)]
        first_length = np.flatnonzero(_AXIS_LETTERS[scan.letter] & (scan.value != 0.0))
        if said.size and (first_length.size == 0 or said[0] < first_length[0] or self._same_line(text, said[0], first_length[0])):
            return
        if first_length.size == 0:
            return
        span = self._span(text, int(first_length[0]))
        if said.size:
            self._doubt("units", "inch" if scan.value[said[0]] in (20.0, 70.0) else "mm", ("mm", "inch"),
                        "axis words stand before the first G20 or G21", span)  # fmt: skip
            return
        inch, mm = self._said(_INCH_SAID), self._said(_MM_SAID)
        unlike = self._unlike_inches()
        if (inch is None) != (mm is None) and not (unlike and inch is not None):
            unit = "inch" if inch is not None else "mm"
            self._note("units", unit, f"comments give sizes in {unit}; the program has neither G20 nor G21", inch or mm or span)
            return
        largest = float(np.abs(scan.value[first_length]).max())
        if largest > _LARGEST_INCHES:
            place = int(first_length[int(np.abs(scan.value[first_length]).argmax())])
            self._note("units", "mm",
                       f"{largest:g} inches would be {largest * 25.4:.0f} mm, more than a machine of this kind travels",
                       self._span(text, place))  # fmt: skip
            return
        small = largest < _SMALL_INCHES and not unlike
        if inch is not None and mm is None:
            why = f"neither G20 nor G21, and comments give sizes in inch, but {unlike}"
        else:
            named = "comments name both units" if inch is not None else "no comment names a unit"
            why = f"neither G20 nor G21, {named}, and the largest coordinate is {largest:g}" + (f"; {unlike}" if unlike else "")
        self._doubt("units", "inch" if small else "mm", ("mm", "inch"), why, span)

    def _unlike_inches(self) -> str:
        """What speaks against inches: feeds or depths that no such machine has; empty where nothing does."""
        scan = self.texts[0].scan
        feeds, depths = scan.value[scan.letter == ord("F")], scan.value[(scan.letter == ord("Z")) & (scan.value < 0.0)]
        if depths.size and float(depths.min()) < -_DEEPEST_INCHES and float(depths.min()) > -_DEEPEST_MM:
            return f"Z{depths.min():g} would be {-depths.min() * 25.4:.0f} mm deep"
        if feeds.size and float(np.median(feeds)) > _FASTEST_INCHES:
            return f"F{np.median(feeds):g} would be {np.median(feeds) * 25.4:.0f} mm/min"
        return ""

    def _said(self, pattern: re.Pattern[str]) -> Span | None:
        text = self.texts[0]
        for line in range(1, min(len(text), _LINES_SEARCHED) + 1):
            shown = text.line(line)
            for comment in _COMMENT.finditer(shown):
                found = pattern.search((comment[1] or comment[2] or "").upper())
                if found:
                    return text.span(line, comment.start() + 2 + found.start(), found.end() - found.start())
        return None

    def _decimal(self) -> None:
        """Whole units or smallest steps for numbers without a decimal point."""
        text = self.texts[0]
        scan = text.scan
        lengths = _LENGTH_LETTERS[scan.letter] & (scan.value != 0.0)
        bare = np.flatnonzero(lengths & (scan.mark & POINT == 0))
        if bare.size == 0:
            return
        pointed = np.flatnonzero(lengths & (scan.mark & POINT != 0))
        span = self._span(text, int(bare[0]))
        sizes = np.abs(scan.value[bare])
        if pointed.size and np.median(sizes) > 100.0 * np.median(np.abs(scan.value[pointed])):
            self._doubt("decimal", "least increment", ("whole units", "least increment"),
                        "numbers without a point are far larger than those with one", span)  # fmt: skip
        elif sizes.max() > _LARGEST_MM:
            self._note("decimal", "least increment", f"{sizes.max():g} whole units would be beyond any travel",
                       self._span(text, int(bare[int(sizes.argmax())])))
        elif pointed.size and np.median(sizes) < 100.0 * np.median(np.abs(scan.value[pointed])):
            self._note("decimal", "whole units",
                       f"{bare.size} number{'s' * (bare.size > 1)} without a point {'are' if bare.size > 1 else 'is'} of the size "
                       f"of the {pointed.size} with one", span)
        else:
            self._doubt("decimal", "whole units", ("whole units", "least increment"),
                        f"none of the {bare.size} coordinates has a decimal point", span)

    def _length_alone(self) -> None:
        """G43 by itself in its block, and the next Z is incremental: whether Z has moved by the length before it, nothing tells."""
        text, absolute, known, alone = self.texts[0], True, False, 0
        scan = text.scan
        for line in _lines_of_length(scan):
            first, last = int(scan.first_word[line - 1]), int(scan.first_word[line])
            words = [(chr(c), v) for c, v in zip(scan.letter[first:last].tolist(), scan.value[first:last].tolist(), strict=True)]
            codes, letters = {v for letter, v in words if letter == "G"}, {letter for letter, _ in words}
            absolute = 91.0 not in codes and (absolute or 90.0 in codes)
            if "M" in letters and ("M", 6.0) in words:
                known = False
            if codes & {43.0, 44.0}:
                alone = 0 if "Z" in letters else line
            elif codes & {28.0, 30.0, 49.0, 53.0}:
                alone = 0
            elif "Z" in letters and alone and not absolute:
                taken = "yes" if known else "no"
                how = "has moved Z by the tool length before it" if known else "moves nothing, and Z counts from where it stood"
                why = f"G43 stands by itself in line {alone} and the first Z behind it is incremental: it is taken that G43 {how}"
                self._doubt("length_change_moves", taken, ("no", "yes"), why, text.span(line))
                return
            elif "Z" in letters:
                known, alone = known or absolute, 0

    def _cycle_words(self) -> None:
        """Cycles that give a near level as Z and a depth as I, and never an R."""
        for text in self.texts:
            scan = text.scan
            cycles = np.flatnonzero((scan.letter == ord("G")) & (scan.value >= 81.0) & (scan.value <= 89.0))
            for word in cycles.tolist():
                line = int(scan.first_word.searchsorted(word, side="right"))
                letters = {chr(code) for code in scan.letter[scan.first_word[line - 1] : scan.first_word[line]].tolist()}
                if "I" in letters and "Z" in letters and "R" not in letters:
                    self._note("cycle_words", "Z and I", "a drilling cycle gives Z and I, and no R", self._span(text, word))
                    return

    def _packed_calls(self) -> None:
        """M98 P with more than four digits whose last four name a program that is here."""
        numbers = {int(value) for text in self.texts for value in text.scan.value[text.scan.letter == ord("O")].tolist()}
        for text in self.texts:
            scan = text.scan
            for word in np.flatnonzero((scan.letter == ord("M")) & (scan.value == 98.0)).tolist():
                line = int(scan.first_word.searchsorted(word, side="right"))
                for other in range(int(scan.first_word[line - 1]), int(scan.first_word[line])):
                    value = int(scan.value[other])
                    if scan.letter[other] == ord("P") and value > 9999 and value not in numbers and value % 10_000 in numbers:
                        self._note("call_words", "packed P", f"P{value} calls O{value % 10_000:04d} {value // 10_000} times",
                                   self._span(text, other))
                        return

    def _change_word(self) -> None:
        """M6 that stands before its T word throughout: there the T word puts the tool in, and M6 only clears the way for it."""
        text = self.texts[0]
        scan = text.scan
        changes = np.flatnonzero((scan.letter == ord("M")) & (scan.value == 6.0))
        tools = np.flatnonzero(scan.letter == ord("T"))
        if changes.size < 2 or tools.size == 0:
            return
        lines = scan.first_word.searchsorted(changes, side="right")
        called = scan.first_word.searchsorted(tools, side="right")
        after = called.searchsorted(lines, side="right")  # the first T word in a later line
        if called[0] <= lines[0] or np.isin(lines, called).any() or after[-1] >= called.size:
            return
        words = np.flatnonzero(np.diff(scan.first_word) > 0) + 1  # lines with words
        if (words[words.searchsorted(lines, side="right")] == called[after]).all():
            self._note("tool_change", "T", f"each of the {changes.size} M6 is followed, not preceded, by its T word",
                       self._span(text, int(changes[0])))  # fmt: skip

    def _change_motion(self, result: Interpreted) -> None:
        """Whether the tool change brings Z up by itself, where the program does not."""
        left = changes_left(result.path)
        if not left:
            return
        lowest = min(left, key=lambda change: change.above_mm)
        span = self.texts[lowest.file].span(lowest.line)
        where = f"the tool is changed {self._length(lowest.above_mm, places=1)} above the highest cut"
        if lowest.low:
            why = "where no tool comes out of the spindle: the control takes Z home first"
            self._note("change_motion", "Z home", f"{where}, {why}", span)
        else:
            self._doubt("change_motion", "stays", ("stays", "Z home"), f"{where}, and the program does not bring Z home before it",
                        span)  # fmt: skip

    @staticmethod
    def _same_line(text: SourceText, one: int, two: int) -> bool:
        places = text.scan.first_word.searchsorted([one, two], side="right")
        return bool(places[0] == places[1])

    @staticmethod
    def _span(text: SourceText, word: int) -> Span:
        scan = text.scan
        line = int(scan.first_word.searchsorted(word, side="right"))
        return text.word_span(line, int(scan.at[word] - scan.line_at[line - 1]) + 1)


def _lines_of_length(scan: Scan) -> list[int]:
    """The lines that change how Z or the tool's length is understood, and the first line with Z behind each: a further one like it
    changes nothing."""
    codes, changes = scan.letter == ord("G"), (scan.letter == ord("M")) & (scan.value == _CHANGE_TOOL)
    words = np.flatnonzero((codes & np.isin(scan.value, _OF_LENGTH)) | changes)
    if not np.isin(scan.value[words], _WITH_LENGTH).any():
        return []
    told = np.unique(scan.first_word.searchsorted(words, side="right"))
    heights = np.append(scan.first_word.searchsorted(np.flatnonzero(scan.letter == ord("Z")), side="right"), 0)
    first = heights[:-1].searchsorted(np.concatenate([[0], told]), side="right")
    return [line for line in np.union1d(told, heights[first]).tolist() if line > 0]
