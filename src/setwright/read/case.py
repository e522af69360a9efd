"""What the checks of Read look at: the interpretation, the text, and what is known of machine and tools."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from setwright.base.span import Span
from setwright.base.units import format_feed, format_length
from setwright.load.materials import group_of
from setwright.model.finding import Finding, Signal
from setwright.program.hints import Hints, read_hints
from setwright.program.infer import Inference
from setwright.program.interpret import Interpreted
from setwright.program.path import MoveKind, Path
from setwright.program.profile import Profile
from setwright.program.readings import Ambiguity, OtherReading
from setwright.program.source import Lines
from setwright.read.known import KnownTool, Use, known_tools, uses_of

if TYPE_CHECKING:
    from setwright.model.machine import Machine
    from setwright.model.material import Material
    from setwright.model.tool import Tool

__all__ = ["OF_A_WRONG_LENGTH", "ReadCase", "said", "written_in_inches"]

OF_A_WRONG_LENGTH = ("rapid-into-material", "body-into-material", "tool-into-holding", "contact-within-uncertainty", "close-pass",
                     "overtravel", "tool-cuts-nothing")  # fmt: skip
"""Checks of Prove whose findings follow from a tool that stands higher or lower than its program means."""
_SAYS_INCH = re.compile(r"[Gg]0*20(?!\d)")
_SAYS_INCH_TOO = re.compile(r"[Gg]0*[27]0(?!\d)")
_HEAD = 200
_SIZES = re.compile(r"-?\d*\.\d+")
_COMMENT = re.compile(r"\([^)\n]*(?:\)|$)|;.*$")


@dataclass(frozen=True)
class ReadCase:
    """One reading. `machine` and `tools` (by station) are None where nothing is known of them; `inference` is what the profile
    was inferred from, if it was. `doubts`: behaviours that are not known; `others`: the text under their other readings.
    `guessed`: stations of tools that a draft made up; `drafted`: behaviours of the control that a draft took from the text.
    `material`: that of the blank, in words, "" if the job does not say; `materials`: what the shop has of its own. `part`: the
    lines of the first program that were read, if not all of them; `divided_at`: the lines behind which a draft began a setup of
    its own, told with the first of these setups; `shown`: the unit asked for in sentences, "" for that of the programs."""

    interpreted: Interpreted
    profile: Profile
    lines: Mapping[str, Lines] = field(repr=False)
    machine: Machine | None = None
    tools: Mapping[int, Tool] | None = None
    inference: Inference | None = None
    doubts: tuple[Ambiguity, ...] = ()
    others: tuple[OtherReading, ...] = ()
    guessed: frozenset[int] = frozenset()
    material: str = ""
    drafted: frozenset[str] = frozenset()
    part: tuple[int, int] | None = None
    materials: Mapping[str, Material] = field(default_factory=dict, repr=False)
    divided_at: tuple[int, ...] = ()
    shown: str = ""

    def stated(self, behaviour: str) -> bool:
        """Whether somebody has said that the control behaves so; what the text was made to fit is not said."""
        control = None if self.machine is None else self.machine.control
        return self.inference is None and behaviour not in self.drafted and control is not None and behaviour in control.behaviours

    @cached_property
    def inch(self) -> bool:
        """Whether the program is written in inches."""
        return written_in_inches(self.lines, self.profile)

    @property
    def units(self) -> str:
        """The unit of sentences: the one asked for, else that of the programs."""
        return self.shown or ("in" if self.inch else "mm")

    @property
    def path(self) -> Path:
        """The rows."""
        return self.interpreted.path

    def length(self, mm: float, *, places: int = 3) -> str:
        """A length with its unit as the programs write it; `places` of a millimetre, one more of an inch."""
        return format_length(mm, self.units, places=places + (self.units == "in"))

    def feed(self, mm_min: float) -> str:
        """A feed with its unit, as `length`."""
        return format_feed(mm_min, self.units)

    def speed(self, mm_min: float) -> str:
        """A cutting speed in m/min, or in feet a minute for a program in inches."""
        return f"{mm_min / 304.8:.0f} ft/min" if self.units == "in" else f"{mm_min / 1000.0:.0f} m/min"

    @cached_property
    def station(self) -> NDArray[np.int64]:
        """The tool in the spindle, int64 (n,)."""
        return np.array([state.tool for state in self.path.states], np.int64)[self.path.state]

    @cached_property
    def feeding(self) -> NDArray[np.bool_]:
        """Which rows are feed motions, bool (n,)."""
        return np.asarray(self.path.kind != MoveKind.RAPID)

    @cached_property
    def hints(self) -> dict[str, Hints]:
        """What the comments say, by program."""
        return {name: read_hints(text, inch=self.inch) for name, text in self.lines.items()}

    @cached_property
    def material_group(self) -> tuple[str, str]:
        """ISO 513 group of the blank's material and the words for it; "" where nothing tells it, or two things are told."""
        said = [self.material] if self.material else [hint.material for own in self.hints.values() for hint in own.materials]
        found = {group_of(text, self.materials) for text in said}
        return (found.pop(), said[0]) if len(found) == 1 else ("", "")

    @cached_property
    def known(self) -> dict[int, KnownTool]:
        """What is known of every tool that moves or is changed to, in the order of first use."""
        stations = [use.number for use in self.interpreted.tools]
        return known_tools(stations, stated=self.tools or {}, guessed=self.guessed, hints=self.hints)

    @cached_property
    def uses(self) -> dict[int, Use]:
        """How the path uses every tool, by station."""
        return uses_of(self.path, self.station, self.known)

    def words(self, file: str, *, holding: str = "", behind: int = 0) -> Iterator[tuple[int, str]]:
        """The lines of a program without comments and blanks, upper case, with their numbers; empty ones are left out. `holding`:
        only those in which one of these signs may stand; `behind`: only those after this one."""
        lines = self.lines[file]
        if holding:
            chosen: Iterator[tuple[int, str]] = ((at + 1, lines[at]) for at in lines.with_any(holding).tolist() if at >= behind)
        else:
            chosen = enumerate(lines.behind(behind), behind + 1)
        for number, line in chosen:
            bare = "".join((_COMMENT.sub("", line) if "(" in line or ";" in line else line).split()).upper()
            if bare:
                yield number, bare

    def span(self, file: str, line: int) -> Span:
        """The whole line as a place."""
        texts = self.lines.get(file)
        text = texts[line - 1] if texts is not None and 0 < line <= len(texts) else ""
        return Span(file, line, len(text) - len(text.lstrip()) + 1, max(1, len(text.strip())), text)

    def row_span(self, row: int) -> Span:
        """The line that made a row."""
        return self.span(self.path.files[int(self.path.file[row])], int(self.path.line[row]))

    def finding(
        self, slug: str, signal: Signal, span: Span, text: str, *, remedy: str, tool: int | None = None, value: float | None = None,
        unit: str = "", cause: str = "",
    ) -> Finding:  # fmt: skip
        """A finding at a place of the program."""
        return Finding(slug=slug, signal=signal, text=text, remedy=remedy, file=span.file, line=span.line, column=span.column,
                       tool=tool, value=value, unit=unit, excerpt=span.excerpt(), cause=cause)  # fmt: skip


def said(case: ReadCase, slug: str, *remarks: str) -> Iterator[Finding]:
    """What the interpreter noticed under these names, as findings of the check `slug`; the same remark with other
    sizes in several lines is one cause."""
    for remark in case.interpreted.remarks:
        if remark.slug in remarks:
            signal = Signal(remark.severity.value)
            yield case.finding(slug, signal, remark.span, remark.text, remedy=remark.remedy, value=remark.value,
                               unit=remark.unit, cause=_SIZES.sub("…", remark.text))  # fmt: skip


def written_in_inches(lines: Mapping[str, Lines], profile: Profile) -> bool:
    """Whether programs are written in inches, by their own word or the profile's."""
    says_inch = _SAYS_INCH if profile.unit_words == "G20 G21" else _SAYS_INCH_TOO
    return profile.units == "inch" or any(says_inch.search(line) for text in lines.values() for line in text[:_HEAD])
