"""Measured and judged values as other programs take them: a table of lines, or QIF results (ISO 23952).

The table has one judged value a line in the unit of the job, centres as the diameter of the zone they need; QIF has the values as
they were read, centres by both coordinates.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Final, Literal

from setwright.base.units import format_half, format_length
from setwright.jobfolder.measured import measurable
from setwright.jobfolder.qif import Result, qif_of
from setwright.model.measurement import Measured
from setwright.piece.station import PieceResult

__all__ = ["csv_results", "qif_results"]

_HEAD: Final = ("piece", "setup", "feature", "value", "U (k = 2)", "unit", "lower", "upper", "decision", "gauge")


def csv_results(results: Sequence[PieceResult], units: str) -> str:
    """Every judged value of these setups, below a line of names; lengths in `units`, each with the digits that people read."""
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(_HEAD)
    for result in results:
        names = measurable(result.kit.setup)
        for one in result.judged:
            limits = names[one.requirement][0].limits
            bounded = limits.upper > limits.lower
            ends = [limits.nominal + end if bounded else None for end in (limits.lower, limits.upper)]
            if one.centre or limits.nominal == limits.lower == 0.0:
                ends[0] = None
            if one.unit == "deg":
                digits = [f"{one.value:.3f}", f"{one.expanded:.3f}", *("" if end is None else f"{end:.3f}" for end in ends)]
            else:
                digits = [format_length(one.value, units).split()[0], format_half(one.expanded, units).split()[0],
                          *("" if end is None else format_length(end, units).split()[0] for end in ends)]  # fmt: skip
            unit = one.unit if one.unit == "deg" else "in" if units in ("in", "inch") else "mm"
            writer.writerow([one.piece, result.kit.setup.name, one.requirement, *digits[:2], unit, *digits[2:], one.decision.value,
                             one.gauge])  # fmt: skip
    return table.getvalue()


def qif_results(results: Sequence[PieceResult], measured: Measured) -> tuple[str, tuple[str, ...]]:
    """A QIF document of the values of these setups, and the features of which it has none since they are no lengths."""
    found: list[Result] = []
    left: dict[str, None] = {}
    asked = [(one.kit.setup.name, requirement.name) for one in results for requirement in one.kit.setup.requirement]
    proved: dict[str, set[tuple[str, str]]] = {}
    for result in results:
        setup, names = result.kit.setup.name, measurable(result.kit.setup)
        for judged in result.judged:
            proved.setdefault(judged.piece, set()).add((setup, names[judged.requirement][0].name))
        decisions = {(one.piece, one.requirement, one.value): one.decision.value for one in result.judged}
        for value in (one for one in measured.measurements if one.setup == setup):
            requirement, axis = names[value.feature]
            if requirement.angle is not None or requirement.flatness is not None or requirement.cusp is not None:
                left[value.feature] = None
                continue
            limits, centre = requirement.limits, requirement.position
            nominal = limits.nominal if not axis or centre is None else centre.x if axis == "x" else centre.y
            ends = None if axis or limits.upper <= limits.lower else (nominal + limits.lower, nominal + limits.upper)
            kind: Literal["Diameter", "Length"] = "Diameter" if requirement.diameter is not None else "Length"
            decision = decisions.get((value.piece, value.feature, value.value), "no limits")
            feature = value.feature if len(results) == 1 else f"{setup}: {value.feature}"
            found.append(Result(value.piece, feature, kind, nominal, ends, value.value, decision))
    whole = {piece for piece, known in proved.items() if known >= set(asked)}
    title = results[0].kit.folder.job.job.title
    return qif_of(found, title=title, whole=whole), tuple(left)
