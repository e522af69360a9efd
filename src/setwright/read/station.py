"""Read: what the program asks for: tools, offsets, extents, time, and everything noticed while reading."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.model.check import run_checks
from setwright.model.finding import Finding, worst_first
from setwright.model.machine import Control, Machine, Spindle, Table, Travel
from setwright.program.infer import Inference, infer
from setwright.program.interpret import Interpreted, interpret
from setwright.program.motions import moves_in_machine
from setwright.program.profile import Profile, bundled_profile, parse_profile
from setwright.program.readings import Ambiguity, OtherReading, choices, other_readings
from setwright.program.registers import Registers
from setwright.program.run import SHORT, Limits
from setwright.program.source import Lines, Source, SourceText
from setwright.program.unread import Unread, behind
from setwright.read.case import ReadCase, written_in_inches
from setwright.read.timing import Timing, time_of

if TYPE_CHECKING:
    from setwright.model.material import Material
    from setwright.model.tool import Tool

__all__ = ["ORDINARY", "Reading", "profile_of", "read", "read_alone"]


ORDINARY = Machine(
    name="an ordinary machine", travel=Travel(x=(-800.0, 0.0), y=(-500.0, 0.0), z=(-500.0, 0.0)),
    table=Table(x=(-900.0, 100.0), y=(-550.0, 50.0), z=-650.0), spindle=Spindle(max_speed=12000.0),
)  # fmt: skip
"""What stands in for the machine where none is stated: only its speeds and accelerations matter, for the time."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read. `lines`: every program's lines by file name; `digests`: their SHA-256; `descriptions`: what the comments say
    of each tool, by station. `others`: what the program does under every other reading of behaviours that are not known.
    `unread`: what stands behind the place where the reading stopped, if it did."""

    interpreted: Interpreted
    profile: Profile
    lines: Mapping[str, Lines] = field(repr=False)
    digests: Mapping[str, str]
    timing: Timing
    descriptions: Mapping[int, str]
    findings: tuple[Finding, ...]
    inference: Inference | None = None
    others: tuple[OtherReading, ...] = ()
    unread: Unread | None = None

    @property
    def inch(self) -> bool:
        """Whether the program is written in inches, by its own word or its profile's."""
        return written_in_inches(self.lines, self.profile)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything that could not be read."""
        return self.interpreted.problems

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data with the keys other programs rely on; extents in `units`, whatever has its unit in its name in that."""
        read, per = self.interpreted, 25.4 if units in ("in", "inch") else 1.0
        return {
            "programs": [{"file": n, "sha256": digest, "lines": len(self.lines[n])} for n, digest in self.digests.items()],
            "blocks": read.blocks,
            "motions": len(read.path),
            "end": read.end,
            "stopped_at": str(read.stopped_at) if read.stopped_at else None,
            "profile": self.profile.name,
            "evidence": [
                {"behaviour": e.behaviour, "reading": e.reading, "text": e.text, "place": str(e.span)}
                for e in (self.inference.evidence if self.inference else ())
            ],
            "assumptions": [
                {"behaviour": a.behaviour, "reading": a.reading, "text": a.text, "place": str(a.span), "count": a.count}
                for a in read.assumptions
            ],
            "readings": [
                {"behaviour": o.behaviour, "taken": o.taken, "other": o.reading,
                 "difference": asdict(o.difference) if o.difference else None}
                for o in self.others
            ],
            "tools": [
                {
                    "number": tool.number,
                    "length_register": _one(tool.length_registers), "radius_register": _one(tool.radius_registers),
                    "length_registers": list(tool.length_registers), "radius_registers": list(tool.radius_registers),
                    "feed_range_mm_min": tool.feed_range, "speed_range_rpm": tool.speed_range, "motions": tool.rows,
                    "cutting_motions": tool.cutting_rows, "line": tool.line, "time_s": self.timing.by_tool.get(tool.number),
                    "description": self.descriptions.get(tool.number, ""),
                }
                for tool in read.tools
            ],
            "unread": self._unread_plain(),
            "time_s": self.timing.total_s,
            "time_uncertainty_s": self.timing.within_s,
            "offsets": [name for name in read.registers if name.startswith("G5")],
            "extents": {
                name: {"min": [value / per for value in extent.least], "max": [value / per for value in extent.greatest]}
                for name, extent in read.extents.items()
            },
        }  # fmt: skip

    def _unread_plain(self) -> dict[str, Any] | None:
        """What stands behind a stop as plain data; None for a reading that did not stop."""
        if self.unread is None:
            return None
        tools = [{**one, "description": self.descriptions.get(one["number"], "")} for one in _spans(self.unread.tools, "number")]
        registers = [*((f"H{n}", span) for n, span in self.unread.lengths.items()),
                     *((f"D{n}", span) for n, span in self.unread.radii.items())]  # fmt: skip
        return {"file": self.unread.file, "line": self.unread.line, "blocks": self.unread.blocks, "tools": tools,
                "registers": _spans(dict(registers), "name"), "offsets": _spans(self.unread.offsets, "name")}  # fmt: skip


def _spans(found: Mapping[Any, Span], key: str) -> list[dict[str, Any]]:
    return [{key: name, "file": span.file, "line": span.line} for name, span in found.items()]


def _one(registers: tuple[int, ...]) -> int | None:
    """The register a tool cuts with; the first, should there be several (all of them are listed beside it)."""
    return registers[0] if registers else None


def profile_of(control: Control) -> Profile:
    """The control profile a machine states, with its own behaviours on top. Raises InputRefused for unknown names and values."""
    base = bundled_profile(control.profile)
    _refuse_unsure(control.unsure)
    if not control.behaviours:
        return base
    stated = {name: getattr(base, name) for name in base.__dataclass_fields__}
    return parse_profile({**stated, **control.behaviours})


def _refuse_unsure(names: Iterable[str]) -> None:
    """Raises InputRefused for names of `unsure` that have no readings to try."""
    problems = []
    for name in names:
        if name == "rapid":
            problems.append(Problem("a rapid that is not known is no matter of unsure", key="control.unsure",
                                    remedy='write behaviours.rapid = "unknown": both ways are then proved'))  # fmt: skip
        elif len(choices(name)) < 2:
            problems.append(Problem(f'"{name}" has no readings to choose from', remedy="see `setwright read --profile`",
                                    key="control.unsure"))  # fmt: skip
    if problems:
        raise InputRefused(problems)


def read(
    programs: Mapping[str, bytes | SourceText],
    *,
    profile: Profile,
    registers: Registers | None = None,
    machine: Machine | None = None,
    tools: Mapping[int, Tool] | None = None,
    until: tuple[str, int] | None = None,
    inference: Inference | None = None,
    skip_levels: Iterable[int] = (),
    guessed: frozenset[int] = frozenset(),
    material: str = "",
    drafted: frozenset[str] = frozenset(),
    part: tuple[int, int] | None = None,
    materials: Mapping[str, Material] | None = None,
    divided_at: tuple[int, ...] = (),
    shown: str = "",
) -> Reading:
    """Interpret programs (bytes, or what was made ready of them, by file name) as a control of this profile would. `until`: stop
    after this file's line.
    `skip_levels`: block-delete switches that are on (1 for a bare "/"). `guessed`: stations whose tools a draft made up;
    `drafted`: behaviours of the control that it took from the text; `material`: that of the blank, in words.
    `part`: first and last line of the first program that count, see interpret; `materials`: what the shop has of its own;
    `divided_at`, `shown`: as in ReadCase.

    Time is that of `machine`; without one, of an ordinary machine (see model.machine's defaults). `tools` by station, where known.

    Raises InputRefused for what is no program at all, or an empty one; what cannot be read inside a program is in `problems`.
    """
    texts = [SourceText.of(data if isinstance(data, SourceText) else Source(name, data)) for name, data in programs.items()]

    def run(with_profile: Profile, limit: Limits | None = None) -> Interpreted:
        return interpret(texts, profile=with_profile, registers=registers or Registers.nominal(), until=until, limit=limit,
                         skip_levels=skip_levels, part=part)  # fmt: skip

    bare = registers is None and until is None and part is None and not skip_levels
    known = inference.read if inference is not None and inference.profile == profile and bare else None
    interpreted = known or run(profile)
    if interpreted.blocks == 0 and not interpreted.problems:
        empty = next(iter(programs))
        remedy = "fetch it again from where it was made"
        raise InputRefused.because("there is no block in this program", remedy=remedy, span=Span(empty))
    lines = {text.name: text.lines for text in texts}
    doubts = _doubts(interpreted, profile, inference, machine)
    shorter = SHORT if any(remark.slug == "program does not end" for remark in interpreted.remarks) else None
    inch = shown == "in" if shown else written_in_inches(lines, profile)
    others = other_readings(doubts, profile=profile, taken=interpreted, read=lambda other: run(other, shorter), inch=inch)
    case = ReadCase(interpreted, profile, lines, machine, tools, inference, doubts, others, guessed, material, drafted, part,
                    materials or {}, divided_at, shown)  # fmt: skip
    findings = worst_first(run_checks("setwright.read.checks", case, missing=_missing(machine, tools, registers)))
    digests = {text.name: text.digest for text in texts}
    dynamics = machine or ORDINARY
    timing = time_of(interpreted.path, moves_in_machine(interpreted.path), dynamics, dog_leg=profile.rapid == "dog-leg")
    stop = interpreted.stopped_at
    unread = behind(texts, stop, back_to=interpreted.back_to) if stop is not None and stop.file else None
    return Reading(interpreted, profile, lines, digests, timing, _descriptions(case), tuple(findings), inference,
                   others, unread)


def read_alone(programs: Mapping[str, bytes], *, shown: str = "") -> Reading:
    """Read programs of which nothing else is known, as the control they were written for, as far as the text tells; `shown`: as in
    ReadCase."""
    texts = {name: SourceText(Source(name, data)) for name, data in programs.items()}
    inference = infer([*texts.values()])
    return read(texts, profile=inference.profile, inference=inference, shown=shown)


def _doubts(
    interpreted: Interpreted, profile: Profile, inference: Inference | None, machine: Machine | None
) -> tuple[Ambiguity, ...]:
    """The behaviours that are not known: what an inference left open, or what the machine's file calls unsure."""
    if inference is not None:
        return inference.ambiguities
    found = []
    for name in machine.control.unsure if machine is not None else ():
        place = next((one.span for one in interpreted.assumptions if one.behaviour == name), Span(interpreted.path.files[0]))
        text = f"the machine's file is not sure of {name}"
        found.append(Ambiguity(name, choices(name), str(getattr(profile, name)), text, place))
    return tuple(found)


def _missing(machine: Machine | None, tools: Mapping[int, Tool] | None, registers: Registers | None) -> dict[str, str]:
    """Inputs of checks that are not there, in words."""
    told = {"machine": machine, "tools": tools, "registers": registers}
    words = {"machine": "the machine is not stated", "tools": "the tools are not stated", "registers": "no offsets are stated"}
    return {name: words[name] for name, value in told.items() if value is None}


def _descriptions(case: ReadCase) -> dict[int, str]:
    """What comments say of the tools, the first word on each."""
    found: dict[int, str] = {}
    for hints in case.hints.values():
        for hint in hints.tools:
            if hint.station is not None:
                found.setdefault(hint.station, hint.text)
    return found
