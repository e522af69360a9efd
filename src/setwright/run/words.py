"""Run in words and digits: what the terminal prints, the page shows and the document carries, each number from here alone.

The picture of a feature has its values as they would have come with what the registers hold now, so that values, limits and
forecast stand on one scale: what was typed between two pieces is added to those before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from setwright.base.units import format_length
from setwright.run.station import NextDue, RunResult, Series, Shown, ToolState

__all__ = ["headline", "job_plain", "run_plain", "state_said", "tool_said"]

_MM_PER_INCH: Final = 25.4
_WORDS: Final = {2: "second", 3: "third"}
_ENDINGS: Final = {1: "st", 2: "nd", 3: "rd"}
_TEENS: Final = (11, 12, 13)
_AHEAD_LEAST: Final = 5
_AHEAD_MOST: Final = 60
"""Pieces ahead that a picture shows, at least and at most."""


def headline(due: NextDue) -> str:
    """When to measure next, and why."""
    if due.pieces == 1:
        return f"Measure the next piece: {due.why}."
    last = due.pieces % 10 if due.pieces % 100 not in _TEENS else 0
    nth = _WORDS.get(due.pieces) or f"{due.pieces}{_ENDINGS.get(last, 'th')}"
    return f"Measure the {nth} piece from now: {due.why}."


def tool_said(tool: ToolState, units: str) -> dict[str, str]:
    """A tool: how far it has `worn`, and `per_piece`; pieces `left` and the `chance` that the one after is outside."""
    each = format_length(tool.per_piece, units, places=_finer(units), signed=True)
    return {"worn": format_length(tool.wear, units, signed=True), "per_piece": each,
            "left": "none in sight" if tool.left is None else str(tool.left),
            "chance": "–" if tool.chance is None else f"{100.0 * tool.chance:.0f} %"}  # fmt: skip


def _finer(units: str) -> int:
    """One place more than a length has: what a piece moves a feature by is small."""
    return 5 if units in ("in", "inch") else 4


def state_said(shown: Shown) -> str:
    """Whether a process is stable, and what it is capable of where that can be said."""
    said = [chart.stable for chart in shown.charts]
    even = any(chart.sigma == 0.0 for chart in shown.charts)
    state = "not stable" if False in said else "its gauge shows no scatter, so not known" if even else \
        "too few points to say" if None in said else "stable"  # fmt: skip
    one = shown.capable
    return state if one is None else f"{state}, Cpk {one.cpk:.2f} ({one.cpk_low:.2f} to {one.cpk_high:.2f})"


def job_plain(results: Sequence[RunResult], units: str, *, typed: str = "") -> dict[str, Any]:
    """The document of all setups: what is due first in any of them on top, everything of each under `setups`."""
    documents = [run_plain(one, units, typed=typed) for one in results]
    first = min(documents, key=lambda one: int(one["next_due"]["pieces"]))
    lists = {key: [{"setup": one["setup"], **entry} for one in documents for entry in one[key]]
             for key in ("tools", "series", "charts")}  # fmt: skip
    return {**first, **lists, "not_measured": [name for one in documents for name in one["not_measured"]], "setups": documents}


def run_plain(result: RunResult, units: str, *, typed: str = "") -> dict[str, Any]:
    """The document of a setup: its numbers, under `said` the same as people read them (in `typed` if given), and the picture of
    each followed feature; lengths in `units`."""
    plain = result.as_plain(units)
    for said, tool in zip(plain["tools"], result.tools, strict=True):
        said["said"] = tool_said(tool, typed or units)
    for said, shown in zip(plain["charts"], result.charts, strict=True):
        said["said"] = state_said(shown)
    between = result.kit.machine.accuracy.repeatability
    by_feature = {shown.feature: shown for shown in result.charts}
    for said, series in zip(plain["series"], result.series, strict=True):
        own = by_feature.get(series.feature)
        said |= {"said": _series_said(series, typed or units), "picture": _picture(series, own, units, between),
                 "state": None if own is None else state_said(own)}  # fmt: skip
    return plain | {"headline": headline(result.next_due)}


def _series_said(series: Series, units: str) -> dict[str, str]:
    """Where a feature stands with what is typed now, its limits, and what is left."""
    level = float(series.trend.state[0]) + series.typed
    limits = ""
    if series.lower is not None and series.upper is not None:
        limits = f"{series.said(series.lower, units).split()[0]} to {series.said(series.upper, units)}"
    elif series.upper is not None:
        limits = f"up to {series.said(series.upper, units)}"
    left = "no limit in sight"
    if series.left is not None:
        after = "the next piece" if series.left == 0 else f"{series.left} more, then"
        left = f"{after} outside with {100.0 * (series.chance or 0.0):.0f} %"
    due = "measure the next piece" if series.due == 1 else f"measure after {series.due - 1} more"
    return {"stands": series.said(level, units), "limits": limits, "left": left, "due": due}


def _picture(series: Series, shown: Shown | None, units: str, between: float) -> dict[str, Any]:
    """A feature over the pieces: values and limits, the limits of its control chart, and the forecast, piece by piece, as level and
    twice the standard deviation of a piece."""
    per = _MM_PER_INCH if units in ("in", "inch") and series.unit == "mm" else 1.0
    last, far = series.cut, series.due if series.left is None else max(series.due, series.left + 1)
    means, variances = (each[: min(max(far + 2, _AHEAD_LEAST), _AHEAD_MOST)] for each in series.trend.forecast())
    spreads = 2.0 * np.sqrt(variances + (between**2 if series.unit == "mm" else 0.0) + series.apart)
    chart = None if shown is None else shown.charts[0]
    control = None if chart is None else {name: (value + series.typed) / per for name, value in (
        ("centre", chart.centre), ("lower", float(chart.lower[0])), ("upper", float(chart.upper[0])))}  # fmt: skip
    return {
        "numbers": list(series.numbers), "values": [(value + series.typed) / per for value in series.values],
        "limits": None if series.lower is None or series.upper is None else [series.lower / per, series.upper / per],
        "control": control, "due": last + series.due, "gone": None if series.left is None else last + series.left + 1,
        "ahead": [{"piece": last + number, "level": (level + series.typed) / per, "spread": spread / per}
                  for number, (level, spread) in enumerate(zip(means.tolist(), spreads.tolist(), strict=True), 1)],
    }  # fmt: skip
