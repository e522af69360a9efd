"""The document of a study: which slips there could be, which checks catch them. Lengths in the document's `units`."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel

from setwright.web.wire.calculations import ResultSaid
from setwright.web.wire.common import StationAnswer

__all__ = [
    "CaughtBy", "CheckOfPlan", "CheckThere", "ConsequenceSaid", "DiagnosisSaid", "HoldPointSaid", "HoverAnswer", "HoverNow",
    "NextCheck", "OutcomeWord", "RankedSaid", "Sight", "SlipOfStudy", "StudyOfSetup", "StudySaid", "SupposeAnswer",
    "SupposedSaid", "TellsApart", "Uncaught",
]  # fmt: skip

OutcomeWord = Literal["undecided", "crash", "broken tool", "scrap", "rework", "harmless"]


class ConsequenceSaid(BaseModel):
    """How it ends, and the first line at which it shows (null where there is none)."""

    outcome: OutcomeWord
    text: str
    file: str
    first_line: int | None
    lost_line: int | None
    tool: int | None
    part: str
    body: str
    value: float | None
    requirement: str
    speed_per_min: float | None
    stopped: str


class SlipOfStudy(ConsequenceSaid):
    """A slip, how often it happens, and what it does."""

    slug: str
    words: str
    subject: str
    size: float | None
    probability: float
    remedy: str


class CaughtBy(BaseModel):
    """A slip a check shows, with the probability that it does."""

    slug: str
    text: str
    outcome: OutcomeWord
    probability: float


class Sight(BaseModel):
    """What a check looks at, and what the sheet says there."""

    what: str
    sheet: float | str | None
    spread_mm: float | None


class CheckOfPlan(BaseModel):
    """A check to make, in the order of the plan."""

    slug: str
    on: str | int | None
    name: str
    minutes: float
    do: str
    needs: list[str]
    caution: str
    stage: str | int
    risk_share: float
    catches: list[CaughtBy]
    sees: list[Sight]


class CheckThere(BaseModel):
    """A check that can be made on the setup, in the plan or not."""

    slug: str
    on: str | int | None
    name: str
    sees: list[Sight]


class Uncaught(BaseModel):
    """A slip that would hurt and is not caught well enough: at best, and by the plan."""

    slug: str
    text: str
    outcome: OutcomeWord
    best: float
    by_plan: float


class HoldPointSaid(BaseModel):
    """Where to stop with a tool, what the control shows there, and how high the tip stands over what lies below."""

    tool: int
    file: str
    line: int
    block: str
    block_number: str | int | None
    stop: str | int | None
    offset: str
    shows: dict[str, float]
    to_go: dict[str, float]
    within: bool
    height: float
    surface: str
    beside: float
    surface_made_by: int | str | None


class RankedSaid(BaseModel):
    """A slip that would explain what was seen."""

    slug: str
    text: str
    probability: float
    outcome: OutcomeWord
    remedy: str
    cannot_tell_from: list[str]


class NextCheck(BaseModel):
    """The check that would tell most."""

    name: str
    bits: float
    do: str


class TellsApart(BaseModel):
    """The check that tells the two likeliest answers best from one another."""

    name: str
    do: str


class DiagnosisSaid(BaseModel):
    """What explains what was seen; `settled`: nothing more needs to be looked at."""

    no_slip: float
    unlisted: float
    settled: bool
    ranked: list[RankedSaid]
    tells_apart: TellsApart | None
    next_check: NextCheck | None


class StudySaid(BaseModel):
    """The study of a setup."""

    as_set: ConsequenceSaid
    slips: list[SlipOfStudy]
    risk: dict[str, float]
    harmful: float
    worlds: int
    checks: list[CheckOfPlan]
    minutes: float
    catch: float
    within_minutes: float | None
    false_alarm: float
    risk_before: float
    risk_left: float
    harmful_left: float
    uncaught: list[Uncaught]
    spared: list[str]
    hold_points: list[HoldPointSaid]
    elapsed_s: float
    diagnosis: DiagnosisSaid | None = None
    could_see: list[CheckThere] = []


class StudyOfSetup(StudySaid):
    """Of one setup."""

    setup: str


class HoverAnswer(StationAnswer, StudyOfSetup):
    """The study of a job; the first setup once more at the top."""

    setups: list[StudyOfSetup]


class SupposedSaid(BaseModel):
    """A supposition as written and as it was taken."""

    text: str
    words: str


class SupposeAnswer(StationAnswer):
    """What would happen."""

    setup: str
    suppositions: list[SupposedSaid]
    consequence: ConsequenceSaid


class HoverNow(BaseModel):
    """The newest study, or supposition (null: none yet); `current`: it is of the newest revision."""

    result: ResultSaid | None
    current: bool
    document: HoverAnswer | SupposeAnswer | None
