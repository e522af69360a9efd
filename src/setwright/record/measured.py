"""Lines of a measured.csv added or taken out; every other byte of the text stays as the person wrote it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.jobfolder.measured import MEASURED_FILE
from setwright.record.refusals import NotThere

__all__ = ["add_measured", "remove_measured"]

_HEAD: Final = ("piece", "setup", "feature", "value", "gauge", "time")
_UNIT_OF: Final = {"value_mm": "mm", "value_in": "in"}
_LONGEST: Final = 300


def add_measured(text: str, rows: Sequence[Mapping[str, str]], *, units: str, setups: int) -> str:
    """The text with a line more for each row, under the columns it has; a text without any gets them.

    A row has `piece`, `setup`, `feature`, `value` with its `unit` ("" for that of the column), `gauge`, `time`. `units`: the job's
    own; `setups`: how many the job has: with one, none is named in a new text. Raises InputRefused for a cell that would be read as
    something else.

    >>> row = {"piece": "1", "setup": "first", "feature": "bore", "value": "12.01", "unit": "mm", "gauge": "plug", "time": ""}
    >>> add_measured("", [row], units="mm", setups=1)
    'piece, feature, value, gauge, time\\n1, bore, 12.01, plug, \\n'
    """
    written = (line for line in text.removeprefix("\ufeff").splitlines() if line.strip() and not line.lstrip().startswith("#"))
    head = next(written, "")
    mark = ";" if ";" in head else ","
    names = [name.strip().strip('"').lower() for name in head.split(mark)] if head else \
        [name for name in _HEAD if setups > 1 or name != "setup"]  # fmt: skip
    ends = "\r\n" if "\r\n" in text else "\n"
    before = text if not text or text.endswith(("\n", "\r")) else text + ends
    lines = [] if head else [f"{mark} ".join(names)]
    lines += [f"{mark} ".join(_cell(name, row, mark, units) for name in names) for row in rows]
    return before + "".join(line + ends for line in lines)


def remove_measured(text: str, number: int) -> str:
    """The text without its line `number` (from 1). Raises NotThere where that is none with a value."""
    lines = text.splitlines(keepends=True)
    said = lines[number - 1].strip() if 1 <= number <= len(lines) else ""
    first = next((place for place, line in enumerate(lines, 1) if line.strip() and not line.lstrip().startswith("#")), 0)
    if not said or said.startswith("#") or number == first:
        raise NotThere.because(f"line {number} holds no value", remedy=f"look at {MEASURED_FILE}", span=Span(MEASURED_FILE))
    return "".join(lines[: number - 1] + lines[number:])


def _cell(name: str, row: Mapping[str, str], mark: str, units: str) -> str:
    text = row.get("value" if name in ("value", *_UNIT_OF) else name, "").strip()
    if len(text) > _LONGEST or len(text.splitlines()) > 1 or text.startswith("#"):
        said = f"“{text[:40]}” cannot stand in a line of {MEASURED_FILE}"
        raise InputRefused.because(said, remedy="write one line of plain text that does not begin with #", key=name)
    if name in ("value", *_UNIT_OF):
        text = text.replace(",", ".")
        own = _UNIT_OF.get(name, "in" if units in ("in", "inch") else "mm")
        unit = row.get("unit", "")
        text += f" {unit}" if unit and unit != own else ""
    return f'"{text.replace(chr(34), chr(34) * 2)}"' if mark in text or '"' in text else text
