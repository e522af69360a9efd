"""Run: the measured pieces of a batch become when to measure next, how each tool wears, and whether the process is stable.

A series is what one feature measured from piece to piece, with what was typed into registers meanwhile taken out: so it shows what
the process does, not what people did. Each series is followed as a level with a slope; what lies ahead includes what was typed. A
feature belongs to the tool whose length, radius or diameter moves it, of several to the one that cuts last.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Final

import numpy as np

from setwright.base.errors import InputRefused, Problem
from setwright.base.tolerance import INFLUENCE_SEEN
from setwright.base.units import format_length
from setwright.estimate.charts import RULES, Capability, Chart, capability, ewma, individuals, means_and_ranges
from setwright.estimate.trend import FARTHEST, Trend, follow
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal, worst_first
from setwright.model.measurement import Measured
from setwright.piece.influence import Influence
from setwright.piece.station import typed_before

__all__ = ["NextDue", "RunResult", "Series", "Shown", "ToolState", "run"]

_MM_PER_INCH: Final = 25.4
_DUE: Final = 0.01
"""A piece is measured before the chance that one is outside its limits reaches this."""

_LEFT: Final = 0.05
"""And pieces are counted as left up to the first that is outside with this chance."""

_LONGEST: Final = 50
"""Pieces after which one is measured whatever the trend says."""

_SOON: Final = 3
_LEAST_CAPABLE: Final = 20


@dataclass(frozen=True, slots=True)
class Series:
    """One feature over the pieces: their `numbers`, measured values (mm) with what was typed taken out, what typing has moved it by
    up to now, its limits, its trend; `station`: the tool it shows; `left`, `chance`: see Trend.left; `due`: pieces to the next one
    to be measured."""

    feature: str
    numbers: tuple[int, ...]
    values: tuple[float, ...]
    typed: float
    lower: float | None
    upper: float | None
    trend: Trend = field(repr=False)
    station: int | None
    left: int | None
    chance: float | None
    due: int

    @property
    def drift(self) -> float:
        """How far the level has moved since the first piece, mm."""
        return float(self.trend.state[0]) - self.trend.first

    @property
    def drifts(self) -> bool:
        """Whether its slope is surer than two of its standard deviations."""
        return abs(float(self.trend.state[1])) > 2.0 * math.sqrt(float(self.trend.covariance[1, 1]))


@dataclass(frozen=True, slots=True)
class ToolState:
    """A tool: how far it has worn since the first piece (mm of the feature that shows it most) and per piece, pieces left to a
    limit and the chance that the one after is outside; None where nothing is in sight."""

    station: int
    feature: str
    wear: float
    per_piece: float
    left: int | None
    chance: float | None


@dataclass(frozen=True, slots=True)
class Shown:
    """The charts of one feature, and its capability where the process is stable and measured often enough."""

    feature: str
    charts: tuple[Chart, ...]
    capable: Capability | None


@dataclass(frozen=True, slots=True)
class NextDue:
    """After how many more pieces one shall be measured, which feature, and why."""

    pieces: int
    feature: str
    why: str


@dataclass(frozen=True, slots=True)
class RunResult:
    """The answer of the station for one setup."""

    kit: Kit
    next_due: NextDue
    series: tuple[Series, ...]
    tools: tuple[ToolState, ...]
    charts: tuple[Shown, ...]
    findings: tuple[Finding, ...]

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data with the keys other programs rely on; lengths in `units`."""
        per = _MM_PER_INCH if units in ("in", "inch") else 1.0
        return {
            "setup": self.kit.setup.name,
            "next_due": {"pieces": self.next_due.pieces, "feature": self.next_due.feature, "why": self.next_due.why},
            "tools": [{"number": one.station, "wear": one.wear / per, "per_piece": one.per_piece / per, "feature": one.feature,
                       "left": one.left, "probability": one.chance} for one in self.tools],
            "series": [{"feature": one.feature, "pieces": list(one.numbers), "values": [value / per for value in one.values],
                        "typed": one.typed / per, "level": float(one.trend.state[0]) / per,
                        "slope": float(one.trend.state[1]) / per, "left": one.left, "probability": one.chance}
                       for one in self.series],
            "charts": [{"feature": shown.feature, "stable": _stable(shown), "capability": _capable(shown),
                        "charts": [_chart(chart, per) for chart in shown.charts]} for shown in self.charts],
        }  # fmt: skip


def _chart(chart: Chart, per: float) -> dict[str, Any]:
    return {"kind": chart.kind, "centre": chart.centre / per, "sigma": chart.sigma / per, "stable": chart.stable,
            "lower": (chart.lower / per).tolist(), "upper": (chart.upper / per).tolist(), "points": (chart.points / per).tolist(),
            "rules": [[RULES[number] for number in broken] for broken in chart.found]}  # fmt: skip


def _stable(shown: Shown) -> bool | None:
    said = [chart.stable for chart in shown.charts]
    return False if False in said else None if None in said else True


def _capable(shown: Shown) -> dict[str, float] | None:
    one = shown.capable
    return None if one is None else asdict(one)


def run(influence: Influence, measured: Measured, *, units: str = "mm") -> RunResult:
    """Follow the measured pieces of a setup. Raises InputRefused where nothing was measured, or pieces have no order."""
    kit = influence.kit
    series = _series(influence, measured)
    if not series:
        raise InputRefused.because(f"nothing was measured in setup “{kit.setup.name}” that can be followed",
                                   remedy=f"write its values into {measured.file}")  # fmt: skip
    due = min(series, key=lambda one: (one.due, one.feature))
    charts = tuple(_charted(one) for one in series if len(one.values) > 1) + tuple(_pallet(influence, series))
    tools = tuple(_tool(station, [one for one in series if one.station == station])
                  for station in sorted({one.station for one in series if one.station is not None}))  # fmt: skip
    findings = [*_trend_findings(kit, series, units), *_chart_findings(kit, charts, series)]
    return RunResult(kit, NextDue(due.due, due.feature, _why(due, units)), series, tools, charts, tuple(worst_first(findings)))


def _series(influence: Influence, measured: Measured) -> tuple[Series, ...]:
    """Every followed feature; several values of one piece are averaged, pieces come in the order of their numbers."""
    kit = influence.kit
    gauges, between = kit.folder.job.shop.gauges, kit.machine.accuracy.repeatability
    numbers = _numbers(measured, kit.setup.name)
    found = []
    for row, place in enumerate(influence.places):
        mine = [one for one in measured.measurements if one.setup == kit.setup.name and one.feature == place.name]
        if not mine:
            continue
        by_piece: dict[str, list[float]] = {}
        for one in sorted(mine, key=lambda one: numbers[one.piece]):
            by_piece.setdefault(one.piece, []).append(one.value)
        moved = {piece: float(influence.matrix[row] @ typed_before(influence, measured, piece)) for piece in by_piece}
        values = [float(np.mean(each)) - moved[piece] for piece, each in by_piece.items()]
        sigma = math.hypot(max(gauges[one.gauge].uncertainty for one in mine) / 2.0, between)
        trend = follow([numbers[piece] for piece in by_piece], values, sigma=sigma, start=place.simulated)
        typed = float(influence.matrix[row] @ typed_before(influence, measured, None))
        lower, upper = (place.aim - place.half, place.aim + place.half) if place.half is not None else (None, None)
        left, chance, due = _ahead(trend, lower, upper, typed, between)
        found.append(Series(place.name, tuple(numbers[piece] for piece in by_piece), tuple(values), typed, lower, upper, trend,
                            _station(influence, row), left, chance, due))  # fmt: skip
    return tuple(found)


def _ahead(trend: Trend, lower: float | None, upper: float | None, typed: float,
           between: float) -> tuple[int | None, float | None, int]:  # fmt: skip
    """Pieces left and the chance of the next, None where no limit is in sight; pieces until one shall be measured."""
    if lower is None or upper is None:
        return None, None, _LONGEST
    left, chance = trend.left(lower - typed, upper - typed, chance=_LEFT, scatter=between)
    due, _ = trend.left(lower - typed, upper - typed, chance=_DUE, scatter=between)
    return (None if left == FARTHEST else left), (None if left == FARTHEST else chance), max(1, min(due, _LONGEST))


def _numbers(measured: Measured, setup: str) -> dict[str, int]:
    """The number of each piece: what it is called where all are numbers, so that pieces nobody measured count; else its turn in the
    file. Raises InputRefused where names and numbers are mixed."""
    pieces = measured.pieces(setup)
    counted = [piece.isdecimal() for piece in pieces]
    if all(counted):
        return {piece: int(piece) for piece in pieces}
    if not any(counted):
        return {piece: turn for turn, piece in enumerate(pieces, 1)}
    odd = next(piece for piece, number in zip(pieces, counted, strict=True) if not number)
    span = next((one.span for one in measured.measurements if one.piece == odd), None)
    raise InputRefused([Problem(f"piece “{odd}” has no number and others have", "the order of the pieces is not clear",
                                "number all pieces in the order they were cut", span)])  # fmt: skip


def _station(influence: Influence, row: int) -> int | None:
    """The tool a feature shows: that of its diameter or radius, else of its length; of several the one that cuts last."""
    moved = [(cause.station, cause) for cause, value in zip(influence.causes, influence.matrix[row], strict=True)
             if cause.station is not None and abs(value) > INFLUENCE_SEEN]  # fmt: skip
    across = [station for station, cause in moved if cause.typed is None or cause.typed.kind == "radius"]
    along = [station for station, _ in moved]
    return across[-1] if across else along[-1] if along else None


def _tool(station: int, series: Sequence[Series]) -> ToolState:
    """What the features of a tool say of it: the wear of the one that drifts most, the nearest limit of all."""
    worst = max(series, key=lambda one: abs(one.drift))
    limited = [(one.left, one.chance) for one in series if one.left is not None]
    left, chance = min(limited, key=lambda one: one[0] or 0) if limited else (None, None)
    return ToolState(station, worst.feature, worst.drift, float(worst.trend.state[1]), left, chance)


def _why(due: Series, units: str) -> str:
    slope = float(due.trend.state[1])
    if due.due == _LONGEST:
        return f"no feature comes near a limit; one piece in {_LONGEST} shows whether that stays so"
    way = f"moves by {format_length(slope, units, places=4 if units == 'mm' else 5, signed=True)} a piece"
    sure = way if due.drifts else "shows no sure trend yet"
    return f"“{due.feature}” {sure}; after {due.due} more the chance that one is outside its limits reaches {100.0 * _DUE:g} %"


def _charted(one: Series) -> Shown:
    """Single values, moving ranges, and the weighted mean that sees small shifts."""
    level, ranges = individuals(one.values)
    charts = (level, ranges, ewma(one.values, centre=level.centre, sigma=level.sigma)) if level.sigma > 0.0 else (level, ranges)
    return _with_capability(one.feature, charts, one.values, one.lower, one.upper, level.sigma)


def _with_capability(feature: str, charts: tuple[Chart, ...], values: Sequence[float], lower: float | None, upper: float | None,
                     sigma: float) -> Shown:  # fmt: skip
    stable = len(values) >= _LEAST_CAPABLE and all(chart.stable for chart in charts)
    if not stable or lower is None or upper is None or sigma <= 0.0:
        return Shown(feature, charts, None)
    return Shown(feature, charts, capability(values, lower, upper, sigma=sigma))


def _pallet(influence: Influence, series: Sequence[Series]) -> list[Shown]:
    """The parts of a pallet are a subgroup: charts of their means and ranges over the pieces that all of them were measured in."""
    shifts, by_name, found = influence.kit.setup.shifts, {one.feature: one for one in series}, []
    for one in series:
        group = [by_name.get(f"{one.feature} ({offset})") for offset in shifts]
        parts = [one, *(other for other in group if other is not None)]
        if not shifts or len(parts) <= len(shifts) or len({part.numbers for part in parts}) > 1 or len(one.values) < 2:
            continue
        charts = means_and_ranges([list(each) for each in zip(*(part.values for part in parts), strict=True)])
        found.append(Shown(f"{one.feature}, all parts", charts, None))
    return found


def _trend_findings(kit: Kit, series: Sequence[Series], units: str) -> list[Finding]:
    found = []
    for one in series:
        if one.left is not None and one.left <= _SOON:
            level = float(one.trend.state[0]) + one.typed
            when = "on the next piece" if one.left == 0 else f"after {one.left} more"
            out = one.lower is not None and one.upper is not None and not one.lower <= level <= one.upper
            said = "outside its limits already" if out else f"and may be outside its limits {when}"
            text = f"“{one.feature}” stands at {format_length(level, units)} {said} ({100.0 * (one.chance or 0.0):.0f} %)"
            found.append(Finding(slug="limit-near", signal=Signal.WARNING, setup=kit.setup.name, tool=one.station, text=text,
                                 remedy="measure the next piece before you cut another; see piece for what to type"))  # fmt: skip
    return found


def _chart_findings(kit: Kit, charts: Sequence[Shown], series: Sequence[Series]) -> list[Finding]:
    drifting = {one.feature for one in series if one.drifts}
    found = []
    for shown in charts:
        remedy = "look for what changed at that piece before anything is adjusted"
        if shown.feature in drifting:
            remedy = "it drifts, and that alone can break the rule: see how many pieces are left; a jump has another cause"
        for chart in shown.charts:
            broken = [(place, rules) for place, rules in enumerate(chart.found) if rules]
            if broken:
                place, rules = broken[-1]
                text = f"{shown.feature}: point {place + 1} of the {chart.kind} is {RULES[rules[0]]}; the process is not stable"
                found.append(Finding(slug="process-unstable", signal=Signal.CAUTION, setup=kit.setup.name, text=text,
                                     remedy=remedy))  # fmt: skip
                break
    return found
