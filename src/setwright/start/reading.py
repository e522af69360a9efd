"""One program (with its subprograms) read for a draft: control profile, comments, and the path at registers that look like a setup.

With every register at zero the machine's home would lie on the program's zero and a retract would look like a cut. So the draft
reads programs with offsets well inside the travel and tools of one plausible length; only positions in work coordinates are used.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.geometry.moves import MoveKind, Moves
from setwright.program.clampings import Clamping, clampings
from setwright.program.hints import Hints, read_hints
from setwright.program.infer import Inference, infer
from setwright.program.interpret import Interpreted, interpret
from setwright.program.path import Path
from setwright.program.profile import Profile
from setwright.program.registers import Registers, WorkOffset
from setwright.program.source import Source, SourceText
from setwright.program.unread import Unread, behind
from setwright.prove.motions import with_dog_legs
from setwright.start.wording import Evidence

__all__ = ["HOME_ABOVE_ZERO_MM", "RAPID_MM_MIN", "Left", "ProgramReading", "clamping_by_clamping", "code_lines", "grouped",
           "motions_of", "path_at", "read_again", "read_program"]  # fmt: skip

HOME_ABOVE_ZERO_MM: Final = 400.0
"""How far the trial registers put the home position above the program's zero: more than any part on a vise is high."""

RAPID_MM_MIN: Final = (24_000.0, 24_000.0, 20_000.0)
"""Rapids of the stated default machine along X, Y, Z; they shape the dog-legs."""

_TRIAL_OFFSET: Final = WorkOffset(-300.0, -200.0, -HOME_ABOVE_ZERO_MM)
_TRIAL_LENGTH_MM: Final = 120.0
_CALL: Final = re.compile(r"(?:M ?98|G ?65|G ?66)(?![0-9.])[^(;]*?P ?0*(\d+)")
_NAME: Final = re.compile(r"^\s*(?:N ?\d+ *)?[O:] ?0*(\d+)", re.MULTILINE)
_UNITS_SAID: Final = re.compile(r"(?<![A-Z0-9#.])G ?(20|21|70|71)(?![0-9.])")
_COMMENT: Final = re.compile(r"\([^)\n]*(?:\)|$)|;.*")


@dataclass(frozen=True, slots=True)
class Left:
    """What an earlier clamping leaves as a blank, as it lies in the next one: sizes along X, Y, Z in mm, and what they rest on."""

    size: tuple[float, float, float]
    why: Evidence


@dataclass(frozen=True)
class ProgramReading:
    """What a draft starts from. `names`: the program files, the one that is started first; `inch`: the unit of its numbers.

    `relative`: the program only moves relative to where it starts; `offset`: the trial offset its path was read with;
    `registers`: what the whole of it uses. `part`: the lines of it that are read, None for all; `clampings`: the stops at which the
    text says that the part is clamped anew, of a reading that is not cut there. `left`: what the clamping before leaves.
    """

    names: tuple[str, ...]
    sources: tuple[Source, ...] = field(repr=False)
    inference: Inference
    interpreted: Interpreted
    hints: Mapping[str, Hints]
    inch: bool
    offset: WorkOffset = _TRIAL_OFFSET
    relative: bool = False
    registers: tuple[str, ...] = ()
    part: tuple[int, int] | None = None
    clampings: tuple[Clamping, ...] = ()
    left: Left | None = None

    @cached_property
    def unread(self) -> Unread | None:
        """What stands behind the place where the reading stopped; None where it did not."""
        stop = self.interpreted.stopped_at
        return behind(self.sources, stop, back_to=self.interpreted.back_to) if stop is not None and stop.file else None

    @property
    def path(self) -> Path:
        """The path at the trial registers, every radius zero."""
        return self.interpreted.path

    @property
    def profile(self) -> Profile:
        """The control profile the text was written for."""
        return self.inference.profile


def read_program(sources: Sequence[Source]) -> ProgramReading:
    """Read one program. Raises InputRefused where nothing in it can be read, or it makes no move that could cut."""
    texts = [SourceText(source) for source in sources]
    inference = infer(texts)
    inch = _in_inches(texts[0], inference.profile)
    hints = {text.name: read_hints(text.lines, inch=inch) for text in texts}
    nominal = inference.read or interpret(texts, profile=inference.profile, registers=Registers.nominal())
    interpreted, offset = path_at(sources, inference.profile, nominal.registers), _TRIAL_OFFSET
    relative = _stays_at_home(interpreted.path)
    if relative:
        interpreted, offset = nominal, WorkOffset()
    if not (interpreted.path.kind != MoveKind.RAPID).any():
        if interpreted.problems:
            raise InputRefused(interpreted.problems)
        raise InputRefused.because("no move in this program cuts", why="every motion is a rapid, or there is none",
                                   remedy="a setup can only be drafted from a program that feeds somewhere",
                                   span=Span(sources[0].name))  # fmt: skip
    return ProgramReading(tuple(s.name for s in sources), tuple(sources), inference, interpreted, hints, inch, offset, relative,
                          tuple(nominal.registers), clampings=_clampings(texts, interpreted.path))  # fmt: skip


def _clampings(texts: Sequence[SourceText], path: Path) -> tuple[Clamping, ...]:
    if not any(event.kind in ("stop", "optional stop") for event in path.events):
        return ()
    return clampings({text.name: text.lines for text in texts}, path)


def clamping_by_clamping(reading: ProgramReading) -> list[tuple[ProgramReading, Clamping | None]]:
    """The reading cut at the stops where the text says that the part is clamped anew, each piece with the stop before it; the
    whole where there is none, or where the pieces are no stretches of lines of the main program."""
    stops = reading.clampings
    lines = [stop.line for stop in stops]
    if not stops or any(stop.file != reading.names[0] for stop in stops) or lines != sorted(set(lines)):
        return [(reading, None)]
    ends = [*lines, len(SourceText(reading.sources[0]))]
    pieces = [(a + 1, b) for a, b in pairwise([0, *ends])]
    try:
        cut = [_piece(reading, piece) for piece in pieces]
    except InputRefused:
        return [(reading, None)]
    return list(zip(cut, [None, *stops], strict=True)) if all(map(_feeds, cut)) else [(reading, None)]


def _piece(reading: ProgramReading, part: tuple[int, int]) -> ProgramReading:
    hints = {name: said.within(*part) if name == reading.names[0] else said for name, said in reading.hints.items()}
    made = replace(reading, part=part, hints=hints, clampings=())
    return replace(made, interpreted=read_again(made))


def _feeds(reading: ProgramReading) -> bool:
    return bool((reading.path.kind != MoveKind.RAPID).any())


def read_again(reading: ProgramReading, radii: Mapping[int, float] | None = None) -> Interpreted:
    """The same lines of the same program with radii (mm) by register."""
    if reading.relative and radii is None:
        return interpret(reading.sources, profile=reading.profile, registers=Registers.nominal(), part=reading.part)
    return path_at(reading.sources, reading.profile, reading.registers, radii=radii, offset=reading.offset, part=reading.part)


def _stays_at_home(path: Path) -> bool:
    """Whether no feed move comes near the program's zero: it only moves relative to where it starts."""
    feed = path.kind != MoveKind.RAPID
    return bool(feed.any()) and float(path.end[feed, 2].min()) > HOME_ABOVE_ZERO_MM / 2


def path_at(
    sources: Sequence[Source], profile: Profile, names: Iterable[str], *, radii: Mapping[int, float] | None = None,
    offset: WorkOffset = _TRIAL_OFFSET, part: tuple[int, int] | None = None,
) -> Interpreted:  # fmt: skip
    """Interpret with every register of `names` ("G54", "H3" ...) at a trial value; `radii` by register, mm."""
    offsets = {name: offset for name in names if name.startswith("G")}
    lengths = {int(name[1:]): _TRIAL_LENGTH_MM for name in names if name.startswith("H")}
    registers = Registers(offsets={"G54": offset, **offsets}, lengths=lengths, radii=dict(radii or {}))
    return interpret(sources, profile=profile, registers=registers, part=part)


def motions_of(path: Path, *, order: Mapping[int, int] | None = None, rapid: str = "straight") -> Moves:
    """The path's motions in work coordinates, every feed move taken to cut, `ident` the path row.

    `order` gives a station's row in a piece table (-1 for others); `rapid` is the profile's reading of rapids ("straight",
    "dog-leg", "unknown": both).
    """
    order = order or {}
    arc = np.flatnonzero(path.arc >= 0)
    centre, axis, sweep = np.zeros((len(path), 3)), np.zeros(len(path), np.uint8), np.zeros(len(path))
    centre[arc] = path.arc_centre[path.arc[arc]]
    axis[arc], sweep[arc] = path.arc_axis[path.arc[arc]], path.arc_sweep[path.arc[arc]]
    tool = np.array([order.get(state.tool, -1) for state in path.states], np.int32)[path.state]
    cuts: NDArray[np.bool_] = path.kind != MoveKind.RAPID
    moves = Moves(path.kind, path.start, path.end, centre, axis, sweep, tool, cuts, np.arange(len(path), dtype=np.int32))
    return moves if rapid == "straight" else with_dog_legs(moves, RAPID_MM_MIN, straight=rapid == "unknown")


def code_lines(source: Source) -> list[str]:
    """The lines of a program without their comments, in capitals."""
    text = SourceText(source)
    return [_COMMENT.sub("", text.line(number)).upper() for number in range(1, len(text) + 1)]


def _in_inches(text: SourceText, profile: Profile) -> bool:
    for number in range(1, len(text) + 1):
        said = _UNITS_SAID.search(_COMMENT.sub("", text.line(number)).upper())
        if said:
            return said[1] in ("20", "70")
    return profile.units == "inch"


def grouped(sources: Sequence[Source]) -> list[tuple[Source, ...]]:
    """The programs of each setup: every one by itself, but a program that another calls goes with its caller."""
    numbers: dict[int, int] = {}
    calls: list[set[int]] = []
    for index, source in enumerate(sources):
        shown = "\n".join(code_lines(source))
        calls.append({int(found) for found in _CALL.findall(shown)})
        for name in _NAME.findall(shown):
            numbers.setdefault(int(name), index)
    owner = {numbers[called]: index for index, wanted in enumerate(calls) for called in wanted
             if numbers.get(called, index) != index}  # fmt: skip
    return [(source, *_called_by(index, owner, sources)) for index, source in enumerate(sources) if index not in owner]


def _called_by(index: int, owner: Mapping[int, int], sources: Sequence[Source]) -> tuple[Source, ...]:
    """Every program that a program calls, and those that these call."""
    found: list[int] = [index]
    for one in found:
        found += [called for called, caller in owner.items() if caller == one and called not in found]
    return tuple(sources[called] for called in found[1:])
