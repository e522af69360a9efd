"""Tools from a list by the property symbols of ISO 13399 (DC, APMX, OAL, NOF ...), as CSV or JSON.

    kind, name, DC, APMX, OAL, NOF, RE, DMM
    end mill, end mill 10, 10, 22, 72, 3, 0.2, 10

`kind` is one of ours, since the symbols alone do not tell a drill from a chamfer mill; `name` (or `id`) what the shop calls it.
Two more columns name files beside the list: `outline` for the shape of a free profile, `holder` for that of the holder (see
geometry.outline). A length may carry its unit; bare ones are in the unit of a column `unit`, or mm. Only symbols are understood,
and only where what they mean is sure: any other column is named as not understood, with the symbol it looks like, and nothing is
taken from it.
"""

from __future__ import annotations

import csv
import difflib
import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import tomlkit
from pydantic import ValidationError

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.base.units import Dimension, UnitError, parse_quantity
from setwright.geometry.outline import outline_of
from setwright.jobfolder.append import replace_text
from setwright.jobfolder.document import read_bytes, read_text
from setwright.model.tool import TOOL_KINDS, HolderStep, Shank, Tool

__all__ = ["SYMBOLS", "ToolRead", "read_tools", "write_tools"]

SYMBOLS: Final[dict[str, tuple[str, str]]] = {
    "DC": ("diameter", "length"), "APMX": ("flute_length", "length"), "LCF": ("flute_length", "length"),
    "OAL": ("length", "length"), "RE": ("corner_radius", "length"), "SIG": ("point_angle", "angle"),
    "NOF": ("flutes", "count"), "ZEFP": ("flutes", "count"),
    "DMM": ("shank", "length"), "DCONMS": ("shank", "length"), "FHA": ("helix", "angle"), "TP": ("pitch", "length"),
    "RPMX": ("max_speed", "speed"), "HAND": ("hand", "hand"),
}  # fmt: skip
"""The symbols that say something of a tool here: the key they fill, and what they measure. Of two for one key the first counts."""

_KNOWN: Final = ("LF", "LPR", "LS", "LBX", "LUX", "LU", "LH", "LB", "LN", "DN", "DCX", "DCN", "DF", "BDX", "WT", "KAPR", "PSIR",
                 "BS", "ZEFF", "CICT", "PL", "GAMF", "GAMP", "PRFRAD", "KCH", "TPI", "TD", "TDZ", "THLGTH", "TCTR", "TCDC", "RMPX",
                 "ULDR", "CP", "CNSC", "DCONWS", "BHTA", "IC", "L", "CRP", "DRVA", "CHW", "BCH", "SDL", "STA", "H",
                 "HF")  # fmt: skip
"""Symbols that are known and say nothing that is computed with here."""
_LIKE: Final = {"d": "DC", "d1": "DC", "dc": "DC", "dia": "DC", "diameter": "DC", "l1": "OAL", "length": "OAL", "l2": "APMX or LCF",
                "loc": "APMX or LCF", "flute length": "APMX or LCF", "d2": "DMM", "shank": "DMM", "z": "NOF", "n": "NOF",
                "teeth": "NOF", "flutes": "NOF", "r": "RE", "rε": "RE", "corner": "RE", "point": "SIG", "pitch": "TP", "p": "TP",
                "rpm": "RPMX", "l3": "LU", "reach": "LU", "kr": "KAPR", "κ": "KAPR"}  # fmt: skip
_OWN: Final = ("kind", "name", "id", "unit", "outline", "holder", "material")
_UNITS: Final = {"": "mm", "mm": "mm", "in": "in", "inch": "in"}
_DIMENSION: Final = {"length": Dimension.LENGTH, "angle": Dimension.ANGLE, "speed": Dimension.SPEED}
_BARE: Final = {"angle": "deg", "speed": "rpm"}
_LARGEST: Final = 100_000_000


@dataclass(frozen=True, slots=True)
class ToolRead:
    """One tool of a list. `key`: what its file will be called. `taken`: the key of our own that each symbol filled; `unused`:
    symbols that are known and say nothing here; `unread`: what was not understood, each with what it looks like."""

    key: str
    tool: Tool
    place: str
    taken: Mapping[str, str]
    unused: tuple[str, ...]
    unread: tuple[str, ...]

    def as_plain(self) -> dict[str, Any]:
        """For the document."""
        return {"key": self.key, "name": self.tool.name, "kind": self.tool.kind, "diameter_mm": self.tool.diameter,
                "taken": dict(self.taken), "known_not_used": list(self.unused), "not_understood": list(self.unread)}  # fmt: skip


@dataclass
class _Row:
    """One tool as it stands in the list: cells by their head, the place, and what has been found out."""

    cells: Mapping[str, str]
    span: Span
    folder: Path
    taken: dict[str, str] = field(default_factory=dict)
    unread: list[str] = field(default_factory=list)
    unused: list[str] = field(default_factory=list)

    def refuse(self, what: str, remedy: str, why: str = "") -> InputRefused:
        return InputRefused.because(what, why=why, remedy=remedy, span=self.span)


def read_tools(path: Path) -> list[ToolRead]:
    """The tools of a list, CSV or JSON. Raises InputRefused with every problem found: a tool that is not whole, a size that cannot
    be."""
    problems: list[Problem] = []
    found: list[ToolRead] = []
    for row in _rows(path):
        try:
            found.append(_tool_of(row))
        except InputRefused as refusal:
            problems += refusal.problems
    keys = [one.key for one in found]
    for key in sorted({key for key in keys if keys.count(key) > 1}):
        problems.append(Problem(f'two tools of the list would be "{key}"', remedy="give each its own name or id",
                                span=Span(str(path))))  # fmt: skip
    if not found and not problems:
        problems.append(Problem("there is no tool in this list", remedy="write one tool a line under a line of symbols",
                                span=Span(str(path))))  # fmt: skip
    if problems:
        raise InputRefused(problems)
    return found


def write_tools(tools: list[ToolRead], shop: Path) -> list[Path]:
    """Write each tool into a file of its own under `shop`/tools. Raises InputRefused, and writes none, if one is there already."""
    folder = shop / "tools"
    files = [folder / f"{one.key}.toml" for one in tools]
    remedy = "rename the tool in the list, or move the file away; nothing is overwritten"
    there = [Problem(f"{file.name} is there already", remedy=remedy, span=Span(str(file))) for file in files if file.exists()]
    if there:
        raise InputRefused(there)
    folder.mkdir(parents=True, exist_ok=True)
    for one, file in zip(tools, files, strict=True):
        replace_text(file, _text(one))
    return files


def _text(one: ToolRead) -> str:
    document = tomlkit.document()
    document.add(tomlkit.comment(f"from {one.place}, by the property symbols of ISO 13399: {', '.join(one.taken)}"))
    for said in (*one.unread, *(f"{symbol} says nothing here" for symbol in one.unused)):
        document.add(tomlkit.comment(f"not taken: {said}"))
    document["format"], document["units"] = 1, "mm"
    for key, value in one.tool.model_dump(mode="json", exclude_defaults=True, exclude_none=True).items():
        document[key] = _inline(value)
    return tomlkit.dumps(document)


def _inline(value: Any) -> Any:
    if isinstance(value, dict):
        table = tomlkit.inline_table()
        table.update({key: _inline(each) for key, each in value.items()})
        return table
    if isinstance(value, list):
        array = tomlkit.array()
        array.extend(_inline(each) for each in value)
        return array.multiline(True)
    return value


# --- reading -----------------------------------------------------------------------------------------------------------------


def _rows(path: Path) -> Iterator[_Row]:
    shown = str(path)
    text = read_text(path, shown=shown)
    if path.suffix.lower() == ".json":
        try:
            whole = json.loads(text)
        except json.JSONDecodeError as error:
            raise InputRefused.because(f"this is no JSON ({error.msg})", remedy="export it again",
                                       span=Span(shown, error.lineno, error.colno)) from error  # fmt: skip
        listed = whole.get("tools") if isinstance(whole, dict) else whole
        if not isinstance(listed, list) or not all(isinstance(one, dict) for one in listed):
            raise InputRefused.because("the list has another form", span=Span(shown),
                                       remedy='write [{"kind": "drill", "DC": 6.8, ...}, ...], or that under "tools"')  # fmt: skip
        for number, one in enumerate(listed, 1):
            cells = {str(key): _cell(value) for key, value in one.items()}
            yield _Row(cells, Span(shown, 1, 1, 1, f"tool {number}"), path.parent)
        return
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1)
             if line.strip() and not line.lstrip().startswith("#")]  # fmt: skip
    if not lines:
        return
    mark = next((one for one in (";", "\t") if one in lines[0][1]), ",")
    names = [cell.strip() for cell in next(csv.reader([lines[0][1]], delimiter=mark))]
    for number, line in lines[1:]:
        values = next(csv.reader([line], delimiter=mark, skipinitialspace=True))
        span = Span(shown, number, 1, max(1, len(line)), line)
        if len(values) > len(names):
            raise InputRefused.because(f"the line has {len(values)} cells, the first line {len(names)}", span=span,
                                       remedy="put decimal points in the numbers, or semicolons between all cells")  # fmt: skip
        yield _Row({name: value.strip() for name, value in zip(names, values, strict=False)}, span, path.parent)


def _cell(value: Any) -> str:
    """A JSON value: a number, a text, or {"value": 10, "unit": "mm"}."""
    if isinstance(value, dict):
        return f"{value.get('value', '')} {value.get('unit', '')}".strip()
    return "" if value is None else str(value)


def _tool_of(row: _Row) -> ToolRead:
    own = {name.lower(): value for name, value in row.cells.items() if name.lower() in _OWN and value}
    kind = own.get("kind", "").lower()
    if kind not in TOOL_KINDS:
        near = difflib.get_close_matches(kind, TOOL_KINDS, n=1)
        remedy = f'did you mean "{near[0]}"?' if near else f"write a column kind with one of: {', '.join(TOOL_KINDS)}"
        raise row.refuse(f'"{kind}" is no kind of tool' if kind else "the kind of this tool is not said", remedy,
                         "the symbols alone do not tell one kind from another")  # fmt: skip
    if own.get("unit", "").lower() not in _UNITS:
        raise row.refuse(f'the unit "{own["unit"]}" is not known', "write mm or in")
    unit = _UNITS[own.get("unit", "").lower()]
    values = _values(row, unit)
    name = own.get("name") or own.get("id") or f"{kind} {values.get('diameter', 0.0):g}"
    fields: dict[str, Any] = {"name": name, "kind": kind, **_fields(values)}
    if "material" in own:
        fields["material"] = own["material"]
    _with_files(row, own, fields, unit)
    _refuse_odd(row, fields, unit)
    missing = [(symbol, key) for symbol, key in (("DC", "diameter"), ("APMX", "flute_length")) if key not in fields]
    if missing:
        what = " and ".join(f"{symbol} ({key})" for symbol, key in missing)
        raise row.refuse(f"{what} is missing for “{name}”", "write it: nothing stands for a size that is not stated")
    try:
        tool = Tool.model_validate(fields)
    except ValidationError as error:
        raise row.refuse(f"“{name}” cannot be: {error.errors()[0]['msg']}", "correct the list") from error
    place = f"{Path(row.span.file).name}{f' line {row.span.line}' if row.span.line > 1 else ''}"
    return ToolRead(_key(own.get("id") or name), tool, place, row.taken, tuple(row.unused), tuple(row.unread))


def _key(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "tool"


def _values(row: _Row, unit: str) -> dict[str, Any]:
    """What the symbols say, by our own keys; what is not understood is noted."""
    found: dict[str, Any] = {}
    order = list(SYMBOLS)
    for head in sorted(row.cells, key=lambda head: order.index(head) if head in SYMBOLS else len(order)):
        text = row.cells[head]
        if head.lower() in _OWN or not text:
            continue
        if head in _KNOWN:
            row.unused.append(head)
        elif head not in SYMBOLS:
            like = _LIKE.get(head.lower(), "")
            row.unread.append(f"“{head}” = {text}" + (f" (call it {like} if that is what it is)" if like else ""))
        elif SYMBOLS[head][0] in found:
            row.unused.append(head)
        else:
            key, measure = SYMBOLS[head]
            found[key] = _value(row, head, text, measure, unit)
            row.taken[head] = key
    return found


def _value(row: _Row, symbol: str, text: str, measure: str, unit: str) -> Any:
    """A value in mm, rad, rpm, a number of teeth, or a hand."""
    if measure == "hand":
        hand = {"r": "right", "right": "right", "l": "left", "left": "left"}.get(text.lower())
        if hand is None:
            raise row.refuse(f"{symbol} = {text} is no hand", "write R or L")
        return hand
    try:
        if measure == "count":
            count = float(text.replace(",", "."))
            if count != math.floor(count) or count < 1:
                raise row.refuse(f"{symbol} = {text} is no number of teeth", "write a whole number above 0")
            return int(count)
        return parse_quantity(text.lstrip("Øø⌀ "), _DIMENSION[measure], _BARE.get(measure, unit))
    except UnitError as error:
        raise row.refuse(f"{symbol}: {error}", "correct it") from error
    except ValueError as error:
        raise row.refuse(f"{symbol} = {text} is no number", "correct it") from error


def _fields(values: Mapping[str, Any]) -> dict[str, Any]:
    """Our own keys with units written out, so that nothing is taken for another unit."""
    units = {"point_angle": "rad", "helix": "rad", "max_speed": "rpm"}
    fields = {key: f"{value} {units[key]}" if key in units else value for key, value in values.items() if key != "shank"}
    if "shank" in values:
        fields["shank"] = Shank(diameter=values["shank"])
    return fields


def _with_files(row: _Row, own: Mapping[str, str], fields: dict[str, Any], unit: str) -> None:
    """The shapes that stand in files of their own."""
    millimetres = 25.4 if unit == "in" else 1.0
    for column in ("outline", "holder"):
        if column not in own:
            continue
        path = row.folder / own[column]
        found = outline_of(read_bytes(path, shown=own[column], largest=_LARGEST), name=own[column], millimetres=millimetres)
        row.taken[column] = "points" if column == "outline" else "holder"
        row.unread += [f"{count} {kind} in {own[column]}" for kind, count in found.unread.items()]
        if not found.unit_stated:
            row.unread.append(f"the unit of {own[column]} (it states none; taken as {unit})")
        if column == "holder":
            fields["holder"] = [HolderStep(diameter=low, upper_diameter=high, length=length) if abs(low - high) > 0.0 else
                                HolderStep(diameter=low, length=length) for low, high, length in found.steps]  # fmt: skip
        elif fields["kind"] != "free profile":
            raise row.refuse(f"an outline is for a free profile, this is a {fields['kind']}",
                             "write kind free profile, or leave it away")  # fmt: skip
        else:
            fields["points"] = found.points
            fields.setdefault("diameter", 2.0 * max(r for r, _ in found.points))
            fields.setdefault("flute_length", found.points[-1][1])


def _refuse_odd(row: _Row, fields: Mapping[str, Any], unit: str) -> None:
    """Sizes that contradict each other."""
    deep = fields.get("flute_length", 0.0)
    for symbol in ("LF", "OAL"):
        if row.cells.get(symbol):
            long = _value(row, symbol, row.cells[symbol], "length", unit)
            if long < deep:
                raise row.refuse(f"{symbol} {long:g} mm is less than the {deep:g} mm that the tool cuts up its side",
                                 "one of them is wrong; check what they are measured from")  # fmt: skip
