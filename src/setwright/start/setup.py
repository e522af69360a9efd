"""One drafted setup: everything that goes into its part of the job."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from setwright.model.job import Guess
from setwright.start.blank import DraftBlank
from setwright.start.holding import DraftHolding, DraftMachine
from setwright.start.instruments import default_instruments, instruments_why
from setwright.start.reading import ProgramReading
from setwright.start.tools import DraftTool
from setwright.start.wording import Evidence, cite, cited, length_text, number_text

__all__ = ["DraftSetup"]

_LONGEST = 200


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

    def guesses(self) -> Iterator[Guess]:
        """Everything this setup assumes, in the order it stands in the file."""
        for problem in self.reading.interpreted.problems:
            yield self._guess("the whole draft", (cite(f"read only up to {problem.span}: {problem.what}"),))
        for one in self.reading.inference.evidence:
            yield self._guess(f"control: {one.behaviour} = {one.reading}", (cite(f"{one.text} ({one.span})"),))
        for doubt in self.reading.inference.ambiguities:
            yield self._guess(f"control: {doubt.behaviour} = {doubt.taken}", (cite(f"{doubt.text} ({doubt.span})"),))
        stops = [event for event in self.reading.path.events if event.kind == "stop"]
        if stops:
            text = f"the program stops (M0) first in line {stops[0].line}; if the part is turned or moved there, split it"
            yield self._guess("one clamping for the whole program", (cite(text),))
        yield self._guess(f"machine: travel {self._spans()}", (self.machine.why,))
        yield self._guess(f"blank {self.size_text()}", self.blank.why_size)
        yield self._guess(f"blank's least corner {self.corner_text()}", self.blank.why_place)
        yield self._guess(self.holding_text(), (self.holding.why,))
        if self.shifts:
            yield self._guess(f"places of {', '.join(self.shifts)}", (self.shifts_why(),))
        if self.lengths != "registers":
            yield self._guess(f"tool lengths: {self.lengths}", (self.lengths_why(),))
        for register, why in self.wear_only.items():
            yield self._guess(f"D{register} holds 0", (why,))
        for tool in self.tools:
            yield self._guess(f"T{tool.station}: {tool.tool.name}", tool.identity)
            flutes, stickout = length_text(tool.tool.flute_length, inch=self.inch), length_text(tool.stickout, inch=self.inch)
            yield self._guess(f"T{tool.station}: flutes {flutes}, stick-out {stickout}", tool.lengths)
        yield self._guess(", ".join(one.name.removesuffix(" (default)") for one in default_instruments(inch=self.inch)),
                          (instruments_why(),))  # fmt: skip

    def _guess(self, what: str, why: tuple[Evidence, ...] | list[Evidence]) -> Guess:
        return Guess(setup=self.name, what=_short(what), evidence=_short("; ".join(why) or "not stated in the program"))

    def _spans(self) -> str:
        return " × ".join(f"{high - low:g}" for low, high in self.machine.travel) + " mm"

    def size_text(self) -> str:
        """The blank's sizes in words."""
        if self.blank.round_size is not None:
            diameter, height = (number_text(v, inch=self.inch) for v in self.blank.round_size)
            return f"round, {diameter} × {height} {'in' if self.inch else 'mm'}"
        return " × ".join(number_text(v, inch=self.inch) for v in self.blank.size.tolist()) + (" in" if self.inch else " mm")

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
        """Why no length register is used."""
        return cite("the program applies no tool length (G43): every tool is touched off on the datum itself")

    def material(self) -> tuple[str, Evidence] | None:
        """The work material and the comment that names it."""
        for name, hints in self.reading.hints.items():
            for hint in hints.materials:
                return hint.material, cited(name, hint)
        return None


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 2] + " …"
