"""One drafted setup: everything that goes into its part of the job."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from setwright.base.span import Span
from setwright.model.job import BOX_FACES, BlankFace, Guess
from setwright.start.blank import DraftBlank
from setwright.start.holding import DraftHolding, DraftMachine
from setwright.start.instruments import default_instruments, instruments_why
from setwright.start.reading import ProgramReading, code_lines
from setwright.start.tools import DraftTool
from setwright.start.wording import Evidence, cite, cited, length_text, number_text

__all__ = ["DraftSetup", "ShopFiles"]

_LONGEST = 200
_APPLIES = re.compile(r"G ?4[34](?![\d.])")
Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class ShopFiles:
    """What a setup's files in the shop folder are called, without folder and ending; `tools` by station."""

    machine: str
    holding: str
    tools: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class DraftSetup:
    """A drafted setup. `offset`: its work offset; `shifts`: where other offsets the program uses lie from it, mm.

    `lengths`: how tool lengths reach the control; `behaviours`: what the control profile states beyond the default; `wear_only`:
    radius registers that hold no radius, with what shows it.
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
        stops = [event for event in self.reading.path.events if event.kind == "stop"]
        if stops:
            text = f"the program stops (M0) first in line {stops[0].line}; if the part is turned or moved there, split it"
            said = cite(text, file=self.reading.path.files[stops[0].file], line=stops[0].line)
            yield self._guess("one clamping for the whole program", (said,))
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

    def _blank(self) -> Iterator[Guess]:
        """The blank's sizes (the thickness by itself where nothing states it) and its place."""
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
            setup=self.name, what=_short(what), evidence=_short("; ".join(map(str, why)) or "not stated in the program"), key=key,
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


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 2] + " …"
