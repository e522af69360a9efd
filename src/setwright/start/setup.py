"""One drafted setup: everything that goes into its part of the job."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.base.span import Span
from setwright.model.job import BOX_FACES, BlankFace, Guess
from setwright.program.clampings import Clamping
from setwright.program.path import Path
from setwright.start.blank import DraftBlank
from setwright.start.holding import DraftHolding, DraftMachine
from setwright.start.instruments import default_instruments, instruments_why
from setwright.start.reading import ProgramReading, code_lines
from setwright.start.tools import DraftTool
from setwright.start.wording import Evidence, cite, cited, in_whole_words, length_text, number_text, together

__all__ = ["Before", "DraftSetup", "ShopFiles", "turn_at"]

_LONGEST_NAME = 200
_APPLIES = re.compile(r"G ?4[34](?![\d.])")
Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class ShopFiles:
    """What a setup's files in the shop folder are called, without folder and ending; `tools` by station."""

    machine: str
    holding: str
    tools: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class Before:
    """The clamping whose part is the blank: its setup's name, the stop between them, how the part is turned there (about which axis
    of W by how many degrees, None for not at all), and what that rests on."""

    name: str
    stop: Clamping
    turn: tuple[str, int] | None
    why: Evidence


def turn_at(stop: Clamping) -> tuple[tuple[str, int] | None, Evidence]:
    """How the part is turned at a stop as the text says it; what it leaves open is named.

    >>> turn_at(Clamping("p.nc", 9, 4, "FLIP PART", 9, "turned over"))[0]
    ('x', 180)
    """
    said, turn = [_comment_at(stop).text], None
    if stop.way == "moved":
        said.append("clamped anew, and nothing is said of turning it")
    elif stop.way == "set anew":
        said.append("nothing says whether the part is turned there; if it is, write turned = [{ about = ..., by = ... }]")
    else:
        over = stop.way == "turned over"
        turn = stop.axis or ("x" if over else "z"), stop.by or 180
        if not stop.axis:
            said.append(f"nothing says about which axis, about {'Y' if over else 'X or Y'} is possible too")
        if not stop.by and not over:
            said.append("nothing says how far")
    return turn, cite("; ".join(said), file=stop.file, line=stop.said)


@dataclass(frozen=True, slots=True)
class _Comment:
    """A comment and its line."""

    line: int
    text: str


def _comment_at(stop: Clamping) -> Evidence:
    """The comment at a stop."""
    return cited(stop.file, _Comment(stop.said, stop.text))


@dataclass(frozen=True, slots=True)
class DraftSetup:
    """A drafted setup. `offset`: its work offset; `shifts`: where other offsets the program uses lie from it, mm.

    `lengths`: how tool lengths reach the control; `behaviours`: what the control profile states beyond the default; `wear_only`:
    radius registers that hold no radius, with what shows it. `path`: what it cuts; `before`: where its blank comes from, None for
    one of its own.
    """

    name: str
    reading: ProgramReading
    tools: tuple[DraftTool, ...]
    blank: DraftBlank
    holding: DraftHolding
    machine: DraftMachine
    offset: str
    shifts: Mapping[str, tuple[float, float, float]]
    lengths: str
    behaviours: Mapping[str, str | float]
    wear_only: Mapping[int, Evidence]
    path: Path
    before: Before | None = None

    @property
    def inch(self) -> bool:
        """Whether its numbers are in inches."""
        return self.reading.inch

    def guesses(self, files: ShopFiles) -> Iterator[Guess]:
        """Everything this setup assumes, in the order it stands in the file. `files`: what its shop files are called."""
        machine = f"shop/machines/{files.machine}.toml"
        for problem in self.reading.interpreted.problems:
            place = problem.span or Span("")
            stopped = [cite(f"read only up to {place}: {problem.what}", file=place.file, line=place.line)]
            unread = self.reading.unread
            if unread is not None and problem.span == self.reading.interpreted.stopped_at:
                what = f"; behind it stand {unread.text}" if unread.text else ""
                stopped.append(cite(f"{unread.blocks} blocks behind it are not in this draft{what}"))
            yield self._guess(f"read only to line {place.line}: what follows is neither drafted nor proved", stopped)
        inference = self.reading.inference
        settled = [(e.behaviour, e.reading, e.text, e.span) for e in inference.evidence]
        for behaviour, reading, why, at in [*settled, *((d.behaviour, d.taken, d.text, d.span) for d in inference.ambiguities)]:
            said = cite(f"{why} ({at})", file=at.file, line=at.line)
            name = "other_m_codes" if behaviour == "machine_functions" else behaviour
            yield self._guess(f"control: {behaviour} = {reading}", (said,), f"{machine}: control.behaviours.{name}")
        yield from self._clamping()
        yield self._guess(f"machine: travel {self._spans()}", (self.machine.why,), f"{machine}: travel")
        yield from self._blank()
        least, most = self.holding.parallels_range
        if most > least:
            yield self._guess(self.holding_text(), (self.holding.why,), "job.toml: setup.holding.parallels", [(least, most)])
        else:
            yield self._guess(self.holding_text(), (self.holding.why,), "job.toml: setup.holding.use")
        if self.shifts:
            yield self._guess(f"places of {', '.join(self.shifts)}", (self.shifts_why(),), "job.toml: setup.shifts")
        if self.lengths != "registers":
            yield self._guess(f"tool lengths: {self.lengths}", (self.lengths_why(),), "job.toml: setup.lengths")
        for register, shows in self.wear_only.items():
            yield self._guess(f"D{register} holds 0", (shows,), f"registers.toml: tool.{register}.radius")
        for tool in self.tools:
            yield from self._tool(tool, f"shop/tools/{files.tools[tool.station]}.toml")
        yield self._guess(", ".join(one.name.removesuffix(" (default)") for one in default_instruments(inch=self.inch)),
                          (instruments_why(),))  # fmt: skip

    def _clamping(self) -> Iterator[Guess]:
        """Which lines are this clamping; a stop of which the text says nothing matters only where the work offset changes."""
        reading, path = self.reading, self.reading.path
        if reading.part is not None:
            first, last = reading.part
            begins = cite("up to the first stop where the part is clamped anew", file=reading.names[0], line=last)
            why = begins if self.before is None else _comment_at(self.before.stop)
            yield self._guess(f"this clamping is lines {first} to {last}", (why,), "job.toml: setup.lines")
        for stop in reading.clampings[:1]:
            text = f"{_comment_at(stop)}; its two sides are no stretches of lines"
            said = cite(text, file=stop.file, line=stop.line)
            yield self._guess("one clamping for the whole program", (said,))
        stops = [event for event in path.events if event.kind == "stop" and 0 < event.before < len(path)]
        offsets = np.array([frame.offset for frame in path.frames])[path.frame]
        work = np.char.startswith(offsets, "G")
        sides = [(stop, offsets[: stop.before][work[: stop.before]], offsets[stop.before :][work[stop.before :]]) for stop in stops]
        anew = [stop for stop, before, behind in sides if set(before.tolist()).isdisjoint(behind.tolist())]
        if anew and not reading.clampings:
            text = f"the program stops (M0) in line {anew[0].line} and goes on in another offset; if the part is turned or moved " \
                   "there, split it"  # fmt: skip
            said = cite(text, file=path.files[anew[0].file], line=anew[0].line)
            yield self._guess("one clamping on both sides of a stop", (said,))

    def _carried(self, before: Before) -> Iterator[Guess]:
        """The blank that comes from an earlier clamping."""
        turned = f"turned about {before.turn[0].upper()} by {before.turn[1]}°" if before.turn else "not turned"
        yield self._guess(f"the part of “{before.name}”, {turned}", (before.why,), "job.toml: setup.blank.from")
        yield self._guess(f"blank's least corner {self.corner_text()}", [*self.blank.why_size, *self.blank.why_place],
                          "job.toml: setup.blank.corner", self.blank.corner_limits())  # fmt: skip

    def _blank(self) -> Iterator[Guess]:
        """The blank's sizes (the thickness by itself where nothing states it) and its place."""
        if self.before is not None:
            yield from self._carried(self.before)
            return
        blank, key = self.blank, f"job.toml: setup.blank.{'box' if self.blank.round_size is None else 'cylinder'}"
        if blank.thick_faces:
            text = self.size_text(flat=True)
            yield self._guess(f"blank {text}", blank.why_size, key, blank.size_faces)
            thick = length_text(float(blank.size[2]), inch=self.inch)
            yield self._guess(f"blank {thick} thick", blank.why_thick, key, blank.thick_faces)
        else:
            why = list(dict.fromkeys([*blank.why_size, *blank.why_thick]))
            yield self._guess(f"blank {self.size_text()}", why, key, blank.size_faces)
        yield self._guess(f"blank's least corner {self.corner_text()}", blank.why_place, "job.toml: setup.blank.corner",
                          blank.corner_limits())  # fmt: skip

    def _tool(self, draft: DraftTool, file: str) -> Iterator[Guess]:
        name, tool = f"T{draft.station}", draft.tool
        key = f"{file}: diameter" if draft.diameters else f"job.toml: setup.tool.{draft.station}.use"
        yield self._guess(f"{name}: {tool.name}", draft.identity, key,
                          [draft.diameters] if draft.diameters else [])  # fmt: skip
        if draft.hand is not None:
            yield self._guess(f"{name}: {tool.hand}-handed", (draft.hand,), f"{file}: hand")
        yield self._guess(f"{name}: flutes {length_text(tool.flute_length, inch=self.inch)}", draft.lengths,
                          f"{file}: flute_length", [draft.flutes])  # fmt: skip
        yield self._guess(f"{name}: stick-out {length_text(draft.stickout, inch=self.inch)}", draft.lengths,
                          f"job.toml: setup.tool.{draft.station}.stickout", [draft.stickouts])  # fmt: skip

    def _guess(
        self, what: str, why: Sequence[Evidence], key: str = "", ranges: Mapping[BlankFace, Range] | Sequence[Range] = ()
    ) -> Guess:
        """A guess; `ranges` are those of the components of the value at the key, or one for each face of the blank."""
        by_face = ranges if isinstance(ranges, Mapping) else {}
        limits = [by_face[face] for face in BOX_FACES if face in by_face] or [*(() if isinstance(ranges, Mapping) else ranges)]
        place = next((one for one in why if one.line), cite(""))
        return Guess(
            setup=self.name, what=in_whole_words(what, _LONGEST_NAME), evidence=together(why), key=key,
            file=place.file, line=place.line or None, low=tuple(low for low, _ in limits), high=tuple(high for _, high in limits),
            faces=tuple(face for face in BOX_FACES if face in by_face),
        )  # fmt: skip

    def _spans(self) -> str:
        return " × ".join(f"{high - low:g}" for low, high in self.machine.travel) + " mm"

    def size_text(self, *, flat: bool = False) -> str:
        """The blank's sizes in words; `flat`: without its thickness."""
        if flat and self.blank.round_size is not None:
            return f"round, {length_text(self.blank.round_size[0], inch=self.inch)}"
        if self.blank.round_size is not None:
            diameter, height = (number_text(v, inch=self.inch) for v in self.blank.round_size)
            return f"round, {diameter} × {height} {'in' if self.inch else 'mm'}"
        sizes = self.blank.size.tolist()[: 2 if flat else 3]
        return " × ".join(number_text(v, inch=self.inch) for v in sizes) + (" in" if self.inch else " mm")

    def corner_text(self) -> str:
        """The blank's least corner in words."""
        return " ".join(f"{axis}{number_text(v, inch=self.inch)}" for axis, v in zip("XYZ", self.blank.low.tolist(), strict=True))

    def holding_text(self) -> str:
        """The holding in words."""
        if self.holding.vise is not None:
            return f"vise, fixed jaw {self.holding.jaw}, parallels {self.holding.parallels:g} mm"
        return "blank on a plate"

    def shifts_why(self) -> Evidence:
        """Why the other offsets lie where they are put."""
        return cite("the program cuts in several work offsets; nothing says how far apart, one blank is put beside the other")

    def lengths_why(self) -> Evidence:
        """Why no length register is used: no G43 at all, or one that names no register of a tool."""
        for source in self.reading.sources:
            for line, words in enumerate(code_lines(source), 1):
                if _APPLIES.search(words):
                    text = f"G43 in line {line} names no length register, and no tool is called before it"
                    return cite(f"{text}: it is taken to apply none, every tool is touched off on the datum itself",
                                file=source.name, line=line)  # fmt: skip
        return cite("the program applies no tool length (G43): every tool is touched off on the datum itself")

    def material(self) -> tuple[str, Evidence] | None:
        """The work material and the comment that names it."""
        for name, hints in self.reading.hints.items():
            for hint in hints.materials:
                return hint.material, cited(name, hint)
        return None
