"""Run: the measured pieces of a batch become when to measure next, how each tool wears, and whether the process is stable.

A series is what one feature measured from piece to piece, with what was typed into registers meanwhile taken out: so it shows what
the process does, not what people did. Each series is followed as a level with a slope; what lies ahead includes what was typed. A
feature belongs to the tool whose length, radius or diameter moves it, of several to the one that cuts last; with a changed tool it
starts anew. A value that fits neither the pieces before nor a drift waits for the next one: misread, or a jump. A centre is within
its limits where both its coordinates together are in the zone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Final

import numpy as np
from scipy.special import ndtr

from setwright.base.errors import InputRefused, Problem
from setwright.base.tolerance import INFLUENCE_SEEN
from setwright.base.units import format_length
from setwright.estimate.charts import RULES, Capability, Chart, capability, ewma, individuals, means_and_ranges
from setwright.estimate.least_squares import Array
from setwright.estimate.trend import FARTHEST, Trend, follow, pieces_before
from setwright.jobfolder.measured import measurable
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal, worst_first
from setwright.model.measurement import Measured, Measurement
from setwright.model.requirement import Size
from setwright.piece.advice import in_zone
from setwright.piece.influence import Influence, Place
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
_AGREE: Final = 3.0
"""Readings of one piece that lie farther apart than so many deviations of their gauge are no repeats of one size."""


@dataclass(frozen=True, slots=True)
class Series:
    """One feature over the pieces: their `numbers`, measured values (mm, an angle deg) with what was typed taken out, what typing
    has moved it by up to now, its limits, its trend; `stated`: one standard deviation of a measured piece as gauge and machine
    state it; `station`: the tool it shows, `since`: the piece before which a tool that makes it was changed last; `out`: the
    probability that each of the next FARTHEST pieces is outside; `left`, `chance`: pieces before that passes 5 %, and what it is
    then; `due`: pieces to the next one to be measured; `misread`: pieces whose value was left out;
    `last`: the last measured, `cut` the last that was cut, from which all is counted."""

    feature: str
    requirement: str
    unit: str
    numbers: tuple[int, ...]
    values: tuple[float, ...]
    typed: float
    lower: float | None
    upper: float | None
    trend: Trend = field(repr=False)
    stated: float
    station: int | None
    since: int | None
    misread: tuple[int, ...]
    last: int
    cut: int
    out: Array = field(repr=False)
    left: int | None = None
    chance: float | None = None
    due: int = _LONGEST

    @property
    def apart(self) -> float:
        """Variance by which pieces scatter more than gauge and machine state, mm²."""
        return max(0.0, self.trend.sigma**2 - self.stated**2)

    @property
    def drift(self) -> float:
        """How far the level has moved since the first piece of the tool in use, mm."""
        return float(self.trend.state[0]) - self.trend.first

    @property
    def drifts(self) -> bool:
        """Whether its slope is surer than two of its standard deviations."""
        return abs(float(self.trend.state[1])) > 2.0 * math.sqrt(float(self.trend.covariance[1, 1]))

    @property
    def own(self) -> tuple[float, ...]:
        """The values since the tool was changed."""
        return tuple(value for number, value in zip(self.numbers, self.values, strict=True) if number >= (self.since or 0))

    def said(self, value: float, units: str, *, places: int | None = None, signed: bool = False) -> str:
        """A value of it as a person reads it."""
        if self.unit == "deg":
            return f"{value:+.3f} deg" if signed else f"{value:.3f} deg"
        return format_length(value, units, places=places, signed=signed)


@dataclass(frozen=True, slots=True)
class ToolState:
    """A tool: how far it has worn since its first piece, `since` (mm of the feature that shows it most) and per piece, pieces left
    to a limit and the chance that the one after is outside; None where nothing is in sight."""

    station: int
    feature: str
    wear: float
    per_piece: float
    left: int | None
    chance: float | None
    since: int | None


@dataclass(frozen=True, slots=True)
class Shown:
    """The charts of one feature, and its capability where the process is stable and measured often enough."""

    feature: str
    charts: tuple[Chart, ...]
    capable: Capability | None
    unit: str = "mm"


@dataclass(frozen=True, slots=True)
class NextDue:
    """After how many more pieces one shall be measured, which feature, and why."""

    pieces: int
    feature: str
    why: str


@dataclass(frozen=True, slots=True)
class RunResult:
    """The answer of the station for one setup; `not_measured`: requirements of which no piece was measured."""

    kit: Kit
    next_due: NextDue
    series: tuple[Series, ...]
    tools: tuple[ToolState, ...]
    charts: tuple[Shown, ...]
    not_measured: tuple[str, ...]
    findings: tuple[Finding, ...]

    def as_plain(self, units: str = "mm") -> dict[str, Any]:
        """Plain data with the keys other programs rely on; lengths in `units`."""
        per = _MM_PER_INCH if units in ("in", "inch") else 1.0
        return {
            "setup": self.kit.setup.name,
            "next_due": {"pieces": self.next_due.pieces, "feature": self.next_due.feature, "why": self.next_due.why},
            "tools": [{"number": one.station, "wear": one.wear / per, "per_piece": one.per_piece / per, "feature": one.feature,
                       "left": one.left, "probability": one.chance, "since_piece": one.since} for one in self.tools],
            "series": [_plain(one, per if one.unit == "mm" else 1.0, units) for one in self.series],
            "charts": [{"feature": shown.feature, "stable": _stable(shown), "capability": _capable(shown),
                        "charts": [_chart(chart, per if shown.unit == "mm" else 1.0) for chart in shown.charts]}
                       for shown in self.charts],
            "not_measured": list(self.not_measured),
        }  # fmt: skip


def _plain(one: Series, per: float, units: str) -> dict[str, Any]:
    return {"feature": one.feature, "unit": one.unit if one.unit != "mm" or per == 1.0 else units,
            "pieces": list(one.numbers), "values": [value / per for value in one.values],
            "typed": one.typed / per, "level": float(one.trend.state[0]) / per, "slope": float(one.trend.state[1]) / per,
            "left": one.left, "probability": one.chance, "due": one.due, "misread": list(one.misread),
            "jumps": list(one.trend.jumps), "suspect": one.trend.suspect}  # fmt: skip


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
    followed = _series(influence, measured)
    series = tuple(_ahead(one, followed, influence) for one in followed)
    if not series:
        raise InputRefused.because(f"nothing was measured in setup “{kit.setup.name}” that can be followed",
                                   remedy=f"write its values into {measured.file}")  # fmt: skip
    due = min(series, key=lambda one: (one.due, -float(one.out[0]), one.feature))
    charts = tuple(_charted(one) for one in series if len(one.own) > 1) + tuple(_pallet(influence, series))
    tools = tuple(_tool(station, [one for one in series if one.station == station])
                  for station in sorted({one.station for one in series if one.station is not None}))  # fmt: skip
    known = {measurable(kit.setup)[one.feature][0].name for one in series}
    open_ = tuple(one.name for one in kit.setup.requirement if one.name not in known)
    findings = [*_trend_findings(kit, series, units), *_strange_findings(kit, series, units), *_chart_findings(kit, charts, series)]
    return RunResult(kit, NextDue(due.due, due.feature, _why(due, units, open_)), series, tools, charts, open_,
                     tuple(worst_first(findings)))  # fmt: skip


def _series(influence: Influence, measured: Measured) -> tuple[Series, ...]:
    """Every followed feature, those that registers move first; pieces come in the order of their numbers."""
    setup = influence.kit.setup
    mine = [one for one in measured.measurements if one.setup == setup.name]
    numbers = _numbers(measured, setup.name)
    rows = {place.name: row for row, place in enumerate(influence.places)}
    names = sorted({one.feature for one in mine}, key=lambda name: (rows.get(name, len(rows)), name))
    return tuple(_one_series(influence, measured, name, rows.get(name), [one for one in mine if one.feature == name], numbers)
                 for name in names)  # fmt: skip


def _one_series(influence: Influence, measured: Measured, name: str, row: int | None, mine: Sequence[Measurement],
                numbers: dict[str, int]) -> Series:  # fmt: skip
    kit = influence.kit
    requirement, axis = measurable(kit.setup)[name]
    angle = requirement.angle is not None
    gauges = [kit.folder.job.shop.gauges[one.gauge] for one in mine]
    fine = max(math.degrees(gauge.angle_uncertainty or 0.0) if angle else gauge.uncertainty for gauge in gauges) / 2.0
    column = influence.matrix[row] if row is not None else np.zeros(len(influence.causes))
    readings = sorted(((numbers[one.piece], one.piece, math.degrees(one.value) if angle else one.value) for one in mine),
                      key=lambda one: one[0])  # fmt: skip
    moved = {piece: float(column @ typed_before(influence, measured, piece)) for piece in {one.piece for one in mine}}
    at, values = _repeats([(number, value - moved[piece]) for number, piece, value in readings], fine)
    sigma = math.hypot(fine, 0.0 if angle else kit.machine.accuracy.repeatability)
    place = influence.places[row] if row is not None else None
    changed, cut = _changes(influence, measured, column, numbers), _now(measured, kit.setup.name, numbers)
    trend = follow(at, values, sigma=sigma, start=place.simulated if place is not None else values[0], changed=changed,
                   until=cut)  # fmt: skip
    kept: dict[int, list[float]] = {}
    for number, value in [pair for count, pair in enumerate(zip(at, values, strict=True)) if count not in trend.aside]:
        kept.setdefault(number, []).append(value)
    lower, upper = _limits(place, requirement.limits)
    misread = tuple(dict.fromkeys(at[count] for count in trend.aside))
    return Series(name, name[:-2] if axis else name, "deg" if angle else "mm", tuple(kept),
                  tuple(float(np.mean(each)) for each in kept.values()),
                  float(column @ typed_before(influence, measured, None)), lower, upper, trend, sigma,
                  _station(influence, row) if row is not None else None, max((since for since, _ in changed), default=None),
                  misread, at[-1], cut, np.zeros(FARTHEST))  # fmt: skip


def _now(measured: Measured, setup: str, numbers: dict[str, int]) -> int:
    """The last piece that was cut: what is typed or changed stands before the piece it is for."""
    cut = [numbers[one.piece] for one in measured.measurements if one.setup == setup]
    ahead = [numbers[one.piece] - 1 for of in (measured.typings, measured.changes) for one in of if one.setup == setup]
    return max(*cut, *ahead, 0)


def _repeats(readings: Sequence[tuple[int, float]], fine: float) -> tuple[list[int], list[float]]:
    """One value a piece where its readings agree; where they do not, each by itself in the order of the file."""
    by_piece: dict[int, list[float]] = {}
    for number, value in readings:
        by_piece.setdefault(number, []).append(value)
    at: list[int] = []
    found: list[float] = []
    for number, values in by_piece.items():
        agree = max(values) - min(values) <= _AGREE * math.sqrt(2.0) * fine
        kept = [float(np.mean(values))] if agree else values
        at += [number] * len(kept)
        found += kept
    return at, found


def _changes(influence: Influence, measured: Measured, column: Array, numbers: dict[str, int]) -> list[tuple[int, float]]:
    """Pieces before which a tool that moves this feature was changed, with one standard deviation of where a new one starts, mm."""
    found: dict[int, float] = {}
    for change in measured.changes_of(influence.kit.setup.name):
        wide = [abs(float(moves)) * cause.standard for moves, cause in zip(column, influence.causes, strict=True)
                if cause.station == change.station and abs(moves) > INFLUENCE_SEEN]  # fmt: skip
        if wide:
            piece = numbers[change.piece]
            found[piece] = math.hypot(found.get(piece, 0.0), *wide)
    return sorted(found.items())


def _limits(place: Place | None, limits: Size) -> tuple[float | None, float | None]:
    """Least and greatest value, mm (an angle deg), None where there is none; a coordinate has those of its zone."""
    if place is not None:
        return (None, None) if place.half is None else (place.aim - place.half, place.aim + place.half)
    if limits.lower == limits.upper:
        return None, None
    return None if limits.nominal == limits.lower == 0.0 else limits.nominal + limits.lower, limits.nominal + limits.upper


def _ahead(one: Series, every: Sequence[Series], influence: Influence) -> Series:
    """The same with what lies ahead: both coordinates of a centre together, where both were measured."""
    other = next((two for two in every if two.requirement == one.requirement and two.feature != one.feature), None)
    out = _zone_out(one, other, influence) if other is not None else _size_out(one, influence)
    if out is None:
        return replace(one, due=1 if one.trend.suspect else _LONGEST)
    left, chance = pieces_before(out, _LEFT)
    due = 1 if one.trend.suspect else max(1, min(pieces_before(out, _DUE)[0], _LONGEST))
    seen = left < FARTHEST
    return replace(one, out=out, left=left if seen else None, chance=chance if seen else None, due=due)


def _forecast(one: Series, influence: Influence) -> tuple[Array, Array]:
    """Mean and variance of the next pieces themselves, without the gauge's share."""
    mean, square = one.trend.forecast()
    between = 0.0 if one.unit == "deg" else influence.kit.machine.accuracy.repeatability
    return mean + one.typed, square + between**2 + one.apart


def _size_out(one: Series, influence: Influence) -> Array | None:
    """The probability that each of the next pieces is outside, None where there are no limits."""
    if one.upper is None:
        return None
    mean, square = _forecast(one, influence)
    spread = np.sqrt(square)
    low = ndtr((one.lower - mean) / spread) if one.lower is not None else 0.0
    return np.asarray(low + ndtr((mean - one.upper) / spread))


def _zone_out(one: Series, other: Series, influence: Influence) -> Array | None:
    if one.upper is None or one.lower is None or other.upper is None or other.lower is None:
        return None
    aims = np.array([(each.lower + each.upper) / 2.0 for each in (one, other) if each.lower is not None and each.upper is not None])
    ahead = [_forecast(each, influence) for each in (one, other)]
    radius = (one.upper - one.lower) / 2.0
    return np.array([1.0 - in_zone(np.array([x, y]) - aims, np.diag([xx, yy]), radius)
                     for x, xx, y, yy in zip(*ahead[0], *ahead[1], strict=True)])  # fmt: skip


def _numbers(measured: Measured, setup: str) -> dict[str, int]:
    """The number of each piece: what it is called where all are numbers, so that pieces nobody measured count; else its turn in the
    file. Raises InputRefused where names and numbers are mixed."""
    pieces = measured.pieces(setup)
    odd = next((piece for piece in pieces if not piece.isdecimal()), None)
    if odd is None or not any(piece.isdecimal() for piece in pieces):
        return measured.numbers(setup)
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
    return ToolState(station, worst.feature, worst.drift, float(worst.trend.state[1]), left, chance, worst.since)


def _why(due: Series, units: str, open_: Sequence[str]) -> str:
    """Why that piece is due, and in the same breath what nobody has measured."""
    rest = f"; of {len(open_)} other requirement{'s' if len(open_) > 1 else ''} no piece was measured" if open_ else ""
    if due.trend.suspect:
        return (f"“{due.feature}” of piece {due.last} is not where the pieces before lead: misread, or something jumped; measure "
                f"that piece again too{rest}")  # fmt: skip
    if due.due == _LONGEST:
        return f"no measured feature comes near a limit; one piece in {_LONGEST} shows whether that stays so{rest}"
    slope = due.said(float(due.trend.state[1]), units, places=4 if units == "mm" else 5, signed=True)
    sure = f"moves by {slope} a piece" if due.drifts else "shows no sure trend yet"
    if due.out[0] > _DUE:
        return f"“{due.feature}” {sure}; the next piece is outside its limits with {100.0 * float(due.out[0]):.0f} %{rest}"
    reaches = f"after {due.due} more the chance that one is outside its limits reaches {100.0 * _DUE:g} %"
    return f"“{due.feature}” {sure}; {reaches}{rest}"


def _charted(one: Series) -> Shown:
    """Single values, moving ranges, and the weighted mean that sees small shifts."""
    level, ranges = individuals(one.own)
    charts = (level, ranges, ewma(one.own, centre=level.centre, sigma=level.sigma)) if level.sigma > 0.0 else (level, ranges)
    stable = len(one.own) >= _LEAST_CAPABLE and all(chart.stable for chart in charts)
    if not stable or one.lower is None or one.upper is None or one.feature != one.requirement:
        return Shown(one.feature, charts, None, one.unit)
    return Shown(one.feature, charts, capability(one.own, one.lower, one.upper, sigma=level.sigma), one.unit)


def _pallet(influence: Influence, series: Sequence[Series]) -> list[Shown]:
    """The parts of a pallet are a subgroup: charts of their means and ranges over the pieces that all of them were measured in."""
    shifts, by_name, found = influence.kit.setup.shifts, {one.feature: one for one in series}, []
    for one in series:
        group = [by_name.get(f"{one.feature} ({offset})") for offset in shifts]
        parts = [one, *(other for other in group if other is not None)]
        if not shifts or len(parts) <= len(shifts) or len({part.numbers for part in parts}) > 1 or len(one.own) < 2:
            continue
        charts = means_and_ranges([list(each) for each in zip(*(part.own for part in parts), strict=True)])
        found.append(Shown(f"{one.feature}, all parts", charts, None, one.unit))
    return found


def _finding(kit: Kit, slug: str, signal: Signal, text: str, remedy: str, *, tool: int | None = None) -> Finding:
    return Finding(slug=slug, signal=signal, setup=kit.setup.name, text=text, remedy=remedy, tool=tool)


def _trend_findings(kit: Kit, series: Sequence[Series], units: str) -> Iterator[Finding]:
    for one in series:
        if one.left is None or one.left > _SOON:
            continue
        level = float(one.trend.state[0]) + one.typed
        when = "on the next piece" if one.left == 0 else f"after {one.left} more"
        out = (one.lower is not None and level < one.lower) or (one.upper is not None and level > one.upper)
        said = "outside its limits already" if out else f"and may be outside its limits {when}"
        text = f"“{one.feature}” stands at {one.said(level, units)} {said} ({100.0 * (one.chance or 0.0):.0f} %)"
        yield _finding(kit, "limit-near", Signal.WARNING, text,
                       "measure the next piece before you cut another; see piece for what to type", tool=one.station)  # fmt: skip


def _strange_findings(kit: Kit, series: Sequence[Series], units: str) -> Iterator[Finding]:
    """Values that fit neither the pieces before nor a drift, once for each feature."""
    for one in series:
        if one.trend.suspect:
            yield _finding(kit, "measurement-suspect", Signal.CAUTION,
                           f"piece {one.last}: “{one.feature}” is not where the pieces before lead "
                           f"({one.said(float(one.trend.state[0]) + one.typed, units)}): misread, or something jumped",
                           "measure it again and the next piece; until then nothing is reckoned with it",
                           tool=one.station)  # fmt: skip
        if one.trend.jumps:
            yield _finding(kit, "level-jumped", Signal.CAUTION,
                           f"“{one.feature}” jumped at piece {', '.join(map(str, one.trend.jumps))}, and has stayed there",
                           "look for what changed then: an edge, the clamping, a chip under the part, a number typed and not "
                           "written down", tool=one.station)  # fmt: skip
        if one.misread:
            yield _finding(kit, "measurement-left-out", Signal.NOTICE,
                           f"“{one.feature}” of piece {', '.join(map(str, one.misread))} is taken as misread: the pieces after it "
                           "lie where those before lead", "write the right value if you have it", tool=one.station)  # fmt: skip


def _chart_findings(kit: Kit, charts: Sequence[Shown], series: Sequence[Series]) -> Iterator[Finding]:
    """What the charts stop at, but for what a jump explains already."""
    drifting = {one.feature for one in series if one.drifts}
    jumped = {one.feature for one in series if one.trend.jumps}
    numbers = {one.feature: one.numbers[len(one.numbers) - len(one.own) :] for one in series}
    for shown in charts:
        remedy = "look for what changed at that piece before anything is adjusted"
        if shown.feature in drifting:
            remedy = "it drifts, and that alone can break the rule: see how many pieces are left; a jump has another cause"
        for chart in shown.charts if shown.feature not in jumped else ():
            broken = [(place, rules) for place, rules in enumerate(chart.found) if rules]
            if broken:
                place, rules = broken[-1]
                at = numbers.get(shown.feature, ())
                where = f"piece {at[place + len(at) - chart.points.size]}" if at else f"point {place + 1}"
                text = f"{shown.feature}: {where} in the {chart.kind} is {RULES[rules[0]]}; the process is not stable"
                yield _finding(kit, "process-unstable", Signal.CAUTION, text, remedy)
                break
