"""A gauge study of the shop's own values: who measured which part how often, and what that says of gauge, people and limits.

    part, person, feature, value, gauge
    1, A, bore, 16.012, bore-micrometer
    1, A, bore, 16.011, bore-micrometer
    1, B, bore, 16.013, bore-micrometer

Every person measures every part equally often; each feature and gauge of the file is a study by itself. What the parts share (the
setting of the gauge, its ring) no such study shows.
"""

from __future__ import annotations

import csv
import difflib
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.base.units import Dimension, UnitError, format_half, format_length, parse_quantity
from setwright.estimate.gauge_study import GaugeStudy, study
from setwright.jobfolder.document import LARGEST_TEXT, decode, read_bytes
from setwright.jobfolder.load import JobFolder
from setwright.jobfolder.measured import measurable
from setwright.model.requirement import Requirement

__all__ = ["Studied", "gauge_studies", "studied_plain", "studied_said"]

_MM_PER_INCH: Final = 25.4
_COLUMNS: Final = ("part", "person", "feature", "value", "gauge")


@dataclass(frozen=True, slots=True)
class Studied:
    """One feature with one gauge: `found` in mm (an angle deg), the gauge's `stated` expanded uncertainty, the `width` of the
    limits (of a coordinate the diameter of its zone), None where there are none."""

    feature: str
    gauge: str
    name: str
    unit: str
    parts: int
    people: int
    repeats: int
    found: GaugeStudy
    stated: float
    width: float | None


@dataclass(frozen=True, slots=True)
class _Line:
    cells: Mapping[str, str]
    value: float
    requirement: Requirement
    span: Span


def gauge_studies(folder: JobFolder, path: Path) -> tuple[Studied, ...]:
    """The studies of a file in its order. Raises InputRefused with every line that cannot be used, or for a table with gaps."""
    shown = str(path)
    text = decode(read_bytes(path, shown=shown, largest=LARGEST_TEXT), shown=shown)
    problems: list[Problem] = []
    lines = list(_lines(folder, text.splitlines(), shown, problems))
    if problems:
        raise InputRefused(problems)
    groups: dict[tuple[str, str], list[_Line]] = {}
    for line in lines:
        groups.setdefault((line.cells["feature"], line.cells["gauge"]), []).append(line)
    if not groups:
        raise InputRefused.because("the file holds no value", remedy=f"write {', '.join(_COLUMNS)}, then one value a line",
                                   span=Span(shown))  # fmt: skip
    return tuple(_studied(folder, feature, gauge, mine) for (feature, gauge), mine in groups.items())


def _lines(folder: JobFolder, lines: Sequence[str], shown: str, problems: list[Problem]) -> Iterator[_Line]:
    kept = [(number, line) for number, line in enumerate(lines, 1) if line.strip() and not line.lstrip().startswith("#")]
    mark = ";" if kept and ";" in kept[0][1] else ","
    known = {name: requirement for setup in folder.job.setup for name, (requirement, _) in measurable(setup).items()}
    head: list[str] = []
    for number, line in kept:
        span = Span(shown, number, 1, max(1, len(line)), line)
        cells = [cell.strip() for cell in next(csv.reader([line], delimiter=mark, skipinitialspace=True), [])]
        if not head:
            head = [cell.lower() for cell in cells]
            if sorted(head) != sorted(_COLUMNS):
                problems.append(Problem("the first line names other columns", remedy=f"write {', '.join(_COLUMNS)}", span=span))
                return
            continue
        if len(cells) != len(head) or not all(cells):
            problems.append(Problem(f"the line has {sum(map(bool, cells))} of {len(head)} cells", span=span,
                                    remedy="write a decimal point, or semicolons between all cells"))  # fmt: skip
            continue
        row = dict(zip(head, cells, strict=True))
        try:
            yield _line(folder, row, known, span)
        except InputRefused as refusal:
            problems += refusal.problems


def _line(folder: JobFolder, row: Mapping[str, str], known: Mapping[str, Requirement], span: Span) -> _Line:
    for what, name, among in (("requirement", row["feature"], known), ("gauge", row["gauge"], folder.job.shop.gauges)):
        if name not in among:
            near = difflib.get_close_matches(name, list(among), n=1)
            remedy = f'did you mean "{near[0]}"?' if near else f"there are {', '.join(list(among)[:12])}"
            raise InputRefused.because(f'no {what} is called "{name}"', remedy=remedy, span=span)
    requirement = known[row["feature"]]
    angle = requirement.angle is not None
    try:
        value = parse_quantity(row["value"], Dimension.ANGLE if angle else Dimension.LENGTH, "deg" if angle else folder.job.units)
    except UnitError as error:
        raise InputRefused.because(str(error), span=span) from None
    return _Line(row, math.degrees(value) if angle else value, requirement, span)


def _studied(folder: JobFolder, feature: str, gauge: str, lines: Sequence[_Line]) -> Studied:
    """The study of one feature with one gauge. Raises InputRefused where not everybody measured every part as often."""
    cells: dict[tuple[str, str], list[float]] = {}
    for line in lines:
        cells.setdefault((line.cells["part"], line.cells["person"]), []).append(line.value)
    parts, people = ([*dict.fromkeys(pair[end] for pair in cells)] for end in (0, 1))
    repeats = max(map(len, cells.values()))
    where = f"“{feature}” with {gauge}"
    if len(parts) < 2 or len(people) < 2 or repeats < 2:
        raise InputRefused.because(f"{where}: {len(parts)} parts, {len(people)} people, {repeats} values each are too few",
                                   remedy="measure two parts at least, two people, each twice; usual are ten, three, two",
                                   span=lines[0].span)  # fmt: skip
    gaps = [Problem(f"{where}: part {part} by {person} has {len(cells.get((part, person), []))} of {repeats} values",
                    remedy="measure what is missing: everybody every part, equally often", span=lines[0].span)
            for part in parts for person in people if len(cells.get((part, person), [])) != repeats]  # fmt: skip
    if gaps:
        raise InputRefused(gaps)
    requirement, of = lines[0].requirement, folder.job.shop.gauges[gauge]
    angle, limits = requirement.angle is not None, requirement.limits
    width = limits.upper if requirement.position is not None else limits.upper - limits.lower
    stated = math.degrees(of.angle_uncertainty or 0.0) if angle else of.uncertainty
    found = study([[cells[part, person] for person in people] for part in parts])
    unit = "deg" if angle else "mm"
    return Studied(feature, gauge, of.name, unit, len(parts), len(people), repeats, found, stated, width or None)


def studied_said(one: Studied, units: str) -> list[str]:
    """A study in sentences: what scatters, how well that is known, what it means for the limits and for the stated uncertainty."""
    found, own = one.found, 2.0 * one.found.gauge.value

    def length(value: float) -> str:
        return f"{value:.4f} deg" if one.unit == "deg" else format_length(value, units, places=5 if units in ("in", "inch") else 4)

    def half(value: float) -> str:
        return f"{value:.3f} deg" if one.unit == "deg" else format_half(value, units)

    low, high = (length(end).split()[0] for end in (found.gauge.low, found.gauge.high))
    said = [f"“{one.feature}” with {one.name} ({one.gauge}): {one.parts} parts, {one.people} people, {one.repeats} values each.",
            f"One standard deviation: repeatability {length(found.repeatability.value)} (one person on one part), reproducibility "
            f"{length(found.reproducibility)} (between people), both together {length(found.gauge.value)} (with 95 % between {low} "
            f"and {high}), the parts {length(found.parts)}.",
            f"Both together are {100.0 * found.share:.1f} % of all scatter; the gauge tells {found.distinct} sizes of these parts "
            "apart." if found.total else "Nothing scatters: the gauge shows no step between these values."]  # fmt: skip
    if one.width is not None:
        takes = 2.0 * own / one.width
        proves = "it can prove nothing good" if takes >= 1.0 else f"at both limits it takes {100.0 * takes:.0f} % of them"
        six = f"{100.0 * found.of_limits(one.width):.0f} % of the limits"
        said.append(f"Six deviations are {six}; with U (k = 2) ± {half(own)} {proves}.")
    beside = ": the study shows more, write that (and add its setting)" if own > one.stated else \
        ", which has room for what every value shares, such as its setting"  # fmt: skip
    said.append(f"Its file states ± {half(one.stated)}{beside}.")
    return said


def studied_plain(one: Studied, units: str, *, said: str = "") -> dict[str, Any]:
    """The document of a study; lengths in `units`, its sentences in `said` if given."""
    per = _MM_PER_INCH if units in ("in", "inch") and one.unit == "mm" else 1.0
    found = one.found
    return {
        "feature": one.feature, "gauge": one.gauge, "unit": one.unit if per == 1.0 else "in", "parts": one.parts,
        "people": one.people, "repeats": one.repeats, "repeatability": found.repeatability.value / per,
        "reproducibility": found.reproducibility / per, "together": found.gauge.value / per,
        "together_95": [found.gauge.low / per, found.gauge.high / per], "of_parts": found.parts / per, "share": found.share,
        "distinct": found.distinct, "pooled": found.pooled,
        "six_of_limits": None if one.width is None else found.of_limits(one.width),
        "uncertainty": 2.0 * found.gauge.value / per, "stated": one.stated / per, "said": studied_said(one, said or units),
    }  # fmt: skip
