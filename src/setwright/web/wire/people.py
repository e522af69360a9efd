"""Answers about people."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel

__all__ = ["Audit", "AuditSaid", "People", "PersonSaid", "RoleName", "SessionSaid"]

RoleName = Literal["viewer", "setter", "lead", "administrator"]


class SessionSaid(BaseModel):
    """Who is asking. `accounts`: people sign in here; `token` goes with everything that changes something."""

    accounts: bool
    name: str
    role: RoleName
    token: str
    version: str


class PersonSaid(BaseModel):
    """Somebody; not `active`: may not sign in."""

    name: str
    role: RoleName
    active: bool
    at: str


class People(BaseModel):
    """Everybody."""

    people: list[PersonSaid]


class AuditSaid(BaseModel):
    """Who changed what, when, from which address."""

    id: int
    action: str
    subject: str
    address: str
    by: str
    at: str
    detail: dict[str, Any]


class Audit(BaseModel):
    """Lines of the audit, the newest first."""

    lines: list[AuditSaid]
