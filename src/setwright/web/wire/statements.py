"""Answers about what people stated."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel

__all__ = ["EntrySaid", "StandingSaid", "Statements"]


class EntrySaid(BaseModel):
    """Something somebody stated about a revision. `body`: what belongs to its kind."""

    id: int
    kind: Literal["check done", "finding accepted", "signed off", "ran", "remark", "withdrawn"]
    revision: int
    setup: str
    subject: str
    looked_at: str
    body: dict[str, Any]
    by: str
    at: str


class StandingSaid(EntrySaid):
    """A statement that was not withdrawn; `why` it does not stand any more, if so."""

    stands: bool
    why: str


class Statements(BaseModel):
    """What was stated and not withdrawn."""

    checks: list[StandingSaid]
    accepted: list[StandingSaid]
    signed: list[StandingSaid]
    remarks: list[EntrySaid]
