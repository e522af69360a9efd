"""The sheet as plain text and numbers for the page template: every value already worded, in the order it is printed."""

from __future__ import annotations

from typing import Any, Final

from setwright.model.finding import Finding, Signal, State, fold
from setwright.sheet.content import OffsetBlock, Register, SheetContent, SheetTool
from setwright.sheet.wording import plain_length, range_text, register_text, signed_length, uncertainty_text

__all__ = ["MOST_FINDINGS", "laid_out"]

MOST_FINDINGS: Final = 24
"""Findings printed in full, one a cause; what is left over is counted with the notices, so that a sheet stays a few pages."""
_DIGEST_SHOWN: Final = 12


def laid_out(content: SheetContent) -> dict[str, Any]:
    """The document the template reads; strings, lists and booleans only."""
    units = content.units
    findings = fold(content.findings)
    listed = [finding for finding in findings if finding.signal is not Signal.NOTICE][:MOST_FINDINGS]
    inch = units in ("in", "inch")
    return {
        "title": content.title,
        "setup": content.setup,
        "unit": "in" if inch else "mm",
        "fields": _fields(content),
        "programs": [{"name": program.name, "digest": program.digest[:_DIGEST_SHOWN]} for program in content.programs],
        "worst": _worst(findings),
        "counts": _counts(findings),
        "verdict": content.verdict,
        "offsets": [_offset(block, units) for block in content.offsets],
        "determined_from": list(content.determined_from),
        "placement": list(content.placement),
        "tools": [_tool(tool, units) for tool in content.tools],
        "feed_unit": "in/min" if inch else "mm/min",
        "readings": _readings(content),
        "findings": [_finding(finding) for finding in listed],
        "more": len(findings) - len(listed),
        "checks": [{"text": check.text, "minutes": f"{check.minutes:g}" if check.minutes is not None else "", "shows": check.shows}
                   for check in content.checks],
        "hold_points": [{"place": point.place, "text": point.text} for point in content.hold_points],
        "cautions": [{"signal": caution.signal.value, "text": caution.text} for caution in content.cautions],
        "guesses": list(content.guesses),
        "link": content.link,
        "digest": content.digest[:_DIGEST_SHOWN],
        "seal": content.seal,
        "version": content.version,
        "made": content.made.isoformat() if content.made else "",
        "year_month_day": [content.made.year, content.made.month, content.made.day] if content.made else [],
    }  # fmt: skip


def _fields(content: SheetContent) -> list[dict[str, str]]:
    revision = f", revision {content.revision}" if content.revision else ""
    rows: tuple[tuple[str, str], ...] = (
        ("Setup", content.setup),
        ("Machine", content.machine),
        ("Drawing", f"{content.drawing}{revision}" if content.drawing else ""),
        ("Material", content.material),
    )
    if content.cycle:  # two, so that what follows begins a line of its own
        rows += (("Cycle time", content.cycle), ("Lengths in", "inch" if content.units in ("in", "inch") else "mm"))
    return [{"name": name, "value": value} for name, value in rows]


def _worst(findings: list[Finding]) -> str:
    """The signal word of the worst finding; an undecided check counts by its own word. Empty when nothing was found."""
    return findings[0].signal.value if findings else ""


def _counts(findings: list[Finding]) -> str:
    """How many findings of each word, as "1 WARNING, 2 CAUTION, 1 undecided"."""
    found = [f for f in findings if f.state is not State.UNDECIDED]
    parts = [f"{n} {signal.value}" for signal in Signal if (n := sum(f.signal is signal for f in found))]
    undecided = len(findings) - len(found)
    return ", ".join([*parts, *([f"{undecided} undecided"] if undecided else [])])


def _number(register: Register, units: str) -> dict[str, str]:
    return {"name": register.name, "value": register_text(register, units), "uncertainty": uncertainty_text(register, units)}


def _offset(block: OffsetBlock, units: str) -> dict[str, Any]:
    return {"name": block.name, "registers": [_number(register, units) for register in block.registers]}


def _tool(tool: SheetTool, units: str) -> dict[str, Any]:
    inch = units in ("in", "inch")
    return {
        "station": f"T{tool.station}",
        "description": tool.description,
        "diameter": "" if tool.diameter is None else plain_length(tool.diameter, units),
        "stickout": "" if tool.stickout is None else plain_length(tool.stickout, units),
        "length": _compensation("H", tool.length_register, tool.length, units),
        "radius": _compensation("D", tool.radius_register, tool.radius, units),
        "speed": range_text(tool.speed_rpm),
        "feed": range_text(tool.feed_mm_min, scale=1 / 25.4 if inch else 1.0, places=1 if inch else 0),
    }


def _compensation(letter: str, register: int | None, value: Register | None, units: str) -> dict[str, str]:
    """A tool register: empty name if the program does not use one, empty value if it is not known."""
    name = f"{letter}{register}" if register is not None else ""
    return _number(value or Register(name, None), units) | {"name": name}


def _readings(content: SheetContent) -> list[dict[str, str]]:
    return [
        {
            "number": str(contact.number),
            "on": contact.on,
            "instrument": contact.instrument,
            "display": contact.display,
            "residual": "" if contact.residual is None else signed_length(contact.residual, content.units),
            "left_out": contact.left_out,
        }
        for contact in content.contacts
    ]


def _finding(finding: Finding) -> dict[str, str]:
    tool = f"T{finding.tool}" if finding.tool is not None else ""
    line = f"{finding.file} line {finding.line}" if finding.file and finding.line else finding.file
    return {
        "signal": finding.signal.value,
        "undecided": "undecided" if finding.state is State.UNDECIDED else "",
        "text": finding.text,
        "remedy": finding.remedy,
        "place": ", ".join(part for part in (line, tool) if part),
    }
