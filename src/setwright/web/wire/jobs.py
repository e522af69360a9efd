"""Answers about jobs and what happened to them."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel

from setwright.web.wire.calculations import CalculationSaid
from setwright.web.wire.common import RevisionSaid
from setwright.web.wire.statements import EntrySaid

__all__ = [
    "Changed", "Changes", "Drafted", "GuessSaid", "Happened", "History", "JobLine", "JobSaid", "Jobs", "Revised", "Revisions",
    "SignatureSaid", "SinceLastRun", "StationOfCard",
]  # fmt: skip


class JobLine(BaseModel):
    """A job in the list: its newest revision, and who changed it last, when."""

    name: str
    title: str
    revision: int
    by: str
    at: str


class Jobs(BaseModel):
    """A page of the jobs, the one changed last first: its number, how many pages and how many jobs there are in all, and the number
    of the next page (null: this is the last)."""

    jobs: list[JobLine]
    page: int
    pages: int
    in_all: int
    next: int | None


class SignatureSaid(BaseModel):
    """Who signed a station, when, for which setup ("" for all), and whether it still stands."""

    by: str
    at: str
    setup: str
    stands: bool


class StationOfCard(BaseModel):
    """A station of the route card with its one most important sentence."""

    station: Literal["read", "kit", "prove", "touch", "hover", "piece", "run"]
    state: Literal["open", "needs a look", "signed"]
    text: str
    signed: list[SignatureSaid]


class JobSaid(BaseModel):
    """A job as a whole. `document`: the job as one document with the keys of the job folder, quantities with their unit."""

    revision: RevisionSaid
    document: dict[str, Any]
    route_card: list[StationOfCard]


class Revised(BaseModel):
    """The revision that a change made; `others`: what other people had changed meanwhile, which it holds too."""

    revision: RevisionSaid
    others: list[Changed] = []


class GuessSaid(BaseModel):
    """Something the draft assumed, and from what; the fields are those of model.job.Guess, lengths with their unit."""

    setup: str
    what: str
    evidence: str
    key: str
    file: str
    line: int | None
    low: list[str]
    high: list[str]
    faces: list[str]


class Drafted(BaseModel):
    """A job made from programs, what was assumed for it, and the proof that was started."""

    revision: RevisionSaid
    guesses: list[GuessSaid]
    calculation: CalculationSaid


class Revisions(BaseModel):
    """Every revision, the first one first."""

    revisions: list[RevisionSaid]


class Happened(BaseModel):
    """One thing that happened to a job."""

    at: str
    by: str
    revision: int
    what: Literal["revision", "entry", "result"]
    text: str
    detail: dict[str, Any]


class History(BaseModel):
    """Everything that happened to a job, the first thing first."""

    events: list[Happened]


class Changed(BaseModel):
    """One change between two revisions: the key, or the line, of a file; what it was and what it is (null: not there)."""

    file: str
    what: str
    before: str | None
    after: str | None


class Changes(BaseModel):
    """The changes from one revision to another."""

    changes: list[Changed]


class SinceLastRun(BaseModel):
    """The last run (null: the job never ran) and what changed since."""

    ran: EntrySaid | None
    newest: int
    changes: list[Changed]
