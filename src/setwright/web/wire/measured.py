"""What Piece and Run answer. Lengths in the document's `units`; under `said` the same numbers as people read them."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel

from setwright.web.wire.common import Point, StationAnswer
from setwright.web.wire.stations import Picture

__all__ = [
    "Ahead", "Blinded", "Capable", "ChartSaid", "ChartsOf", "Control", "FeaturePicture", "FollowedSaid", "GaugeOn",
    "HabitsSaid", "JudgedDigits", "JudgedSaid", "LineSaid", "NextDueSaid", "OutlookDigits", "PieceAnswer", "PieceOfSetup",
    "PieceSaid", "PredictedSaid", "RegisterDigits", "RegisterSaid", "RunAnswer", "RunOfSetup", "RunSaid", "SeriesSaid",
    "SetupMeasured", "ToMeasureSaid", "ToolDigits", "ToolSaid", "UnexplainedSaid",
]  # fmt: skip


class GaugeOn(BaseModel):
    """A gauge of the shop on a feature: its expanded uncertainty, and between which readings a value is proved good (null: none);
    of a centre the diameter of the zone."""

    gauge: str
    name: str
    uncertainty: float
    good: tuple[float, float] | None
    said: str


class ToMeasureSaid(BaseModel):
    """A number to read from a piece, by the `feature` under which it is written. `zone`: in which diameter a centre must lie.
    `faces` it is measured on; `shift` of its part on a pallet, mm. `gauge`: the one proposed, "" for none;
    `kind`: what is read with the same kind of gauge has the same word."""

    feature: str
    requirement: str
    axis: Literal["", "x", "y"]
    kind: str
    unit: Literal["mm", "in", "deg"]
    nominal: float
    limits: tuple[float, float] | None
    zone: float | None
    faces: list[str]
    shift: Point
    gauge: str
    said: str
    zone_said: str
    instruments: list[GaugeOn]


class LineSaid(BaseModel):
    """A line of measured.csv, from 1; `gauge` "typed" for what was typed into a register."""

    line: int
    piece: str
    feature: str
    gauge: str
    said: str
    when: str | None


class RegisterDigits(BaseModel):
    """A register in digits: what it holds, what stands `beside` it in the wear, what to type, the change, the same into the wear
    ("" for an offset), how sure."""

    holds: str
    type: str
    change: str
    wear: str
    beside: str = ""
    sure: str


class RegisterSaid(BaseModel):
    """A register to change, as the control shows it; `moves`: by how much each feature."""

    name: str
    now: float
    change: float
    uncertainty: float
    type: str
    moves: dict[str, float]
    said: RegisterDigits


class OutlookDigits(BaseModel):
    """A feature of the next piece in digits."""

    now: str
    then: str
    sure: str
    chance_now: str
    chance_then: str


class PredictedSaid(BaseModel):
    """A feature of the next piece before and after the change: means (of a centre both coordinates), expanded uncertainty of each,
    chance to be within `limits`; where it is aimed, half the width of its limits; whether what was measured bears on it."""

    name: str
    limits: tuple[float, float] | None
    before: list[float]
    after: list[float]
    uncertainty: list[float]
    probability_before: float | None
    probability_after: float | None
    aims: list[float]
    half: float | None
    concerned: bool
    said: OutlookDigits


class UnexplainedSaid(BaseModel):
    """What no register mends, with its likely cause."""

    feature: str
    text: str


class JudgedDigits(BaseModel):
    """A measured value and its expanded uncertainty in digits."""

    value: str
    sure: str


class JudgedSaid(BaseModel):
    """A measured feature of a piece and what it proves (ISO 14253-1)."""

    piece: str
    feature: str
    value: float
    uncertainty: float
    decision: Literal["accept", "reject", "undecided", "no limits"]
    gauge: str
    unit: str
    said: JudgedDigits


class Blinded(BaseModel):
    """Registers that what was measured does not tell apart, each with its share; what would tell them apart."""

    registers: dict[str, float]
    apart: str | None


class HabitsSaid(BaseModel):
    """What habits of correcting cost on one feature over so many pieces: root mean square by habit."""

    feature: str
    pieces: int
    sigma: float
    setting: float
    spread: dict[str, float]


class PieceSaid(BaseModel):
    """What to do after the measured pieces of a setup."""

    setup: str
    headline: str
    advice: Literal["correct", "leave"]
    why: str
    pieces: list[str]
    registers: list[RegisterSaid]
    predicted: list[PredictedSaid]
    unexplained: list[UnexplainedSaid]
    judged: list[JudgedSaid]
    inseparable: list[Blinded]
    apart: list[str]
    not_measured: list[str]
    not_seen: list[str] = []
    drifts: bool = False
    habits: HabitsSaid | None
    habits_said: str
    influence: dict[str, dict[str, float]]


class SetupMeasured(BaseModel):
    """What Piece and Run share of a setup: what to measure in its order, the pieces and lines there are, the drawing (`copies`: the
    other parts of a pallet, mm), whether it was worked out what each register moves, and the answer in one sentence ("": none)."""

    setup: str
    plan: list[ToMeasureSaid]
    pieces: list[str]
    lines: list[LineSaid]
    picture: Picture
    copies: list[Point]
    worked_out: bool
    answer: str


class PieceOfSetup(SetupMeasured):
    """With what to do, null while nothing was measured or worked out."""

    told: PieceSaid | None


class PieceAnswer(StationAnswer):
    """The first piece is measured: what now?"""

    setups: list[PieceOfSetup]


class NextDueSaid(BaseModel):
    """After how many more pieces one is to be measured, which feature shows it, and why."""

    pieces: int
    feature: str
    why: str


class ToolDigits(BaseModel):
    """A tool in digits: worn since the first piece, by piece, pieces left, chance then."""

    worn: str
    per_piece: str
    left: str
    chance: str


class ToolSaid(BaseModel):
    """A tool: wear of the feature that shows it most, pieces left to a limit (null: none in sight), chance of the one after."""

    number: int
    wear: float
    per_piece: float
    feature: str
    left: int | None
    probability: float | None
    said: ToolDigits


class Control(BaseModel):
    """Centre line and control limits of single values."""

    centre: float
    lower: float
    upper: float


class Ahead(BaseModel):
    """The forecast of a piece: its level, and twice its standard deviation."""

    piece: int
    level: float
    spread: float


class FeaturePicture(BaseModel):
    """A feature over the pieces, as the registers stand now: values, limits, control limits, forecast; the number of the piece to
    be measured next (`due`) and of the one that may be outside (`gone`)."""

    numbers: list[int]
    values: list[float]
    limits: tuple[float, float] | None
    control: Control | None
    due: int
    gone: int | None
    ahead: list[Ahead]


class FollowedSaid(BaseModel):
    """Where a feature stands, its limits, what is left, when to measure, in words."""

    stands: str
    limits: str
    left: str
    due: str


class SeriesSaid(BaseModel):
    """A followed feature: its values with what was typed taken out, what typing has moved it by, level and slope."""

    feature: str
    unit: str | None = None
    pieces: list[int]
    values: list[float]
    typed: float
    level: float
    slope: float
    left: int | None
    probability: float | None
    state: str | None
    said: FollowedSaid
    picture: FeaturePicture


class Capable(BaseModel):
    """Cp and Cpk with their 95 % intervals."""

    cp: float
    cp_low: float
    cp_high: float
    cpk: float
    cpk_low: float
    cpk_high: float


class ChartSaid(BaseModel):
    """A control chart; `rules`: by point those it breaks."""

    kind: str
    centre: float
    sigma: float
    stable: bool | None
    lower: list[float]
    upper: list[float]
    points: list[float]
    rules: list[list[str]]


class ChartsOf(BaseModel):
    """The charts of a feature, and whether its process is stable (null: too few points)."""

    feature: str
    stable: bool | None
    capability: Capable | None
    said: str
    charts: list[ChartSaid]


class RunSaid(BaseModel):
    """Whether a setup stays good."""

    setup: str
    headline: str
    next_due: NextDueSaid
    tools: list[ToolSaid]
    series: list[SeriesSaid]
    charts: list[ChartsOf]


class RunOfSetup(SetupMeasured):
    """With what follows, null while nothing was measured or worked out."""

    told: RunSaid | None


class RunAnswer(StationAnswer):
    """Does it stay good?"""

    setups: list[RunOfSetup]
