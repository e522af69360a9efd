"""Read: what the program asks for: tools, offsets, extents, time, and everything noticed while reading."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from setwright.base.errors import Problem
from setwright.model.finding import Finding, Signal, worst_first
from setwright.model.machine import Control
from setwright.program.interpret import Interpreted, interpret
from setwright.program.profile import Profile, bundled_profile, parse_profile
from setwright.program.registers import Registers
from setwright.program.remark import Remark
from setwright.program.source import Source
from setwright.read.lines import Lines

__all__ = ["Reading", "profile_of", "read"]


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read. `lines`: every program's lines by file name. `digests`: SHA-256 of every program by file name."""

    interpreted: Interpreted
    profile: Profile
    lines: Mapping[str, Lines] = field(repr=False)
    digests: Mapping[str, str]
    findings: tuple[Finding, ...]

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything that could not be read."""
        return self.interpreted.problems

    def as_plain(self) -> dict[str, Any]:
        """Plain data with the keys other programs rely on; lengths mm, feeds mm/min."""
        read = self.interpreted
        return {
            "programs": [{"file": n, "sha256": digest, "lines": len(self.lines[n])} for n, digest in self.digests.items()],
            "blocks": read.blocks,
            "motions": len(read.path),
            "end": read.end,
            "stopped_at": str(read.stopped_at) if read.stopped_at else None,
            "profile": self.profile.name,
            "assumptions": [
                {"behaviour": a.behaviour, "reading": a.reading, "text": a.text, "place": str(a.span), "count": a.count}
                for a in read.assumptions
            ],
            "tools": [
                {
                    "number": tool.number,
                    "length_register": _one(tool.length_registers), "radius_register": _one(tool.radius_registers),
                    "length_registers": list(tool.length_registers), "radius_registers": list(tool.radius_registers),
                    "feed_range_mm_min": tool.feed_range, "speed_range_rpm": tool.speed_range, "motions": tool.rows,
                    "cutting_motions": tool.cutting_rows, "line": tool.line,
                }
                for tool in read.tools
            ],
            "offsets": [name for name in read.registers if name.startswith("G5")],
            "extents": {name: {"min": extent.least, "max": extent.greatest} for name, extent in read.extents.items()},
        }  # fmt: skip


def _one(registers: tuple[int, ...]) -> int | None:
    """The register a tool cuts with; the first, should there be several (all of them are listed beside it)."""
    return registers[0] if registers else None


def profile_of(control: Control) -> Profile:
    """The control profile a machine states, with its own behaviours on top. Raises InputRefused for unknown names and values."""
    base = bundled_profile(control.profile)
    if not control.behaviours:
        return base
    stated = {name: getattr(base, name) for name in base.__dataclass_fields__}
    return parse_profile({**stated, **control.behaviours})


def read(
    programs: Mapping[str, bytes], *, profile: Profile, registers: Registers | None = None, until: tuple[str, int] | None = None
) -> Reading:
    """Interpret programs (bytes by file name) as a control of this profile would. `until`: stop after this file's line.

    Raises InputRefused for what is no program at all; what cannot be read inside a program is in `problems`.
    """
    sources = [Source(name, data) for name, data in programs.items()]
    interpreted = interpret(sources, profile=profile, registers=registers or Registers.nominal(), until=until)
    lines = {name: Lines(data) for name, data in programs.items()}
    findings = worst_first([_finding(remark) for remark in interpreted.remarks])
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in programs.items()}
    return Reading(interpreted, profile, lines, digests, tuple(findings))


def _finding(remark: Remark) -> Finding:
    span = remark.span
    return Finding(
        slug=remark.slug.lower().replace(" ", "-"), signal=Signal(remark.severity.value), text=remark.text, remedy=remark.remedy,
        file=span.file, line=span.line, column=span.column, value=remark.value, unit=remark.unit, excerpt=span.excerpt(),
    )  # fmt: skip
