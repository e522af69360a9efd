"""Answers about long work and its results."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel

from setwright.web.wire.common import FindingSaid
from setwright.web.wire.statements import StandingSaid

__all__ = ["CalculationNow", "CalculationSaid", "Calculations", "FindingOfProof", "Findings", "ResultSaid", "Results", "StepSaid"]


class CalculationSaid(BaseModel):
    """Long work: where it stands, what it was asked, and at the end its last result or what was said."""

    id: int
    job: str
    revision: int
    station: str
    setup: str
    options: dict[str, Any]
    state: Literal["waiting", "working", "done", "refused", "stopped", "broken off"]
    artefact_id: int | None
    said: list[FindingSaid]
    by: str
    at: str
    ended_at: str | None


class StepSaid(BaseModel):
    """How far it is; `left_s` null while that is not known."""

    what: str
    done: int
    total: int
    elapsed_s: float
    left_s: float | None


class CalculationNow(CalculationSaid):
    """A calculation and its newest step."""

    step: StepSaid | None


class Calculations(BaseModel):
    """The calculations of a job, the newest first."""

    calculations: list[CalculationSaid]


class ResultSaid(BaseModel):
    """Something a station made of a revision. `inputs`: the digest of everything it was made from."""

    id: int
    revision: int
    station: str
    setup: str
    name: str
    media_type: str
    inputs: str
    sha256: str
    by: str
    at: str


class Results(BaseModel):
    """Results, the newest first."""

    results: list[ResultSaid]


class FindingOfProof(FindingSaid):
    """A finding with the `name` by which it is accepted, and its acceptance; `pictured`: there is a picture of its place."""

    name: str
    accepted: StandingSaid | None
    pictured: bool


class Findings(BaseModel):
    """The findings of the newest proof, worst first; `current`: it is of the newest revision."""

    proof: ResultSaid | None
    current: bool
    verdict: str
    findings: list[FindingOfProof]
