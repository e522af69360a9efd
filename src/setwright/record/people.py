"""People, who is signed in, and the audit: every change and every refused sign-in, by whom and from where."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import delete, func, insert, select, update

from setwright.base.errors import InputRefused
from setwright.record.refusals import AlreadyThere, NotThere
from setwright.record.schema import audit, now, person, session
from setwright.record.store import Record

__all__ = [
    "AuditLine", "Person", "Role", "add_person", "audit_lines", "change_person", "close_sessions", "count_audit", "find_person",
    "note_audit", "open_session", "people", "session_person",
]  # fmt: skip

_LONGEST_NAME: Final = 60


class Role(StrEnum):
    """What a person may do; each may do everything the ones before may."""

    VIEWER = "viewer"
    SETTER = "setter"
    LEAD = "lead"
    ADMINISTRATOR = "administrator"

    @property
    def rank(self) -> int:
        """0 for a viewer."""
        return list(Role).index(self)

    def may(self, needed: Role) -> bool:
        """Whether this role is enough for what needs another."""
        return self.rank >= needed.rank


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who works with the record. `secret`: salted hash of the password."""

    id: int
    name: str
    role: Role
    active: bool
    at: datetime.datetime
    secret: str = field(repr=False)

    def as_plain(self) -> dict[str, Any]:
        """Plain data, without the secret."""
        return {"name": self.name, "role": self.role.value, "active": self.active, "at": self.at.isoformat()}


@dataclass(frozen=True, slots=True)
class AuditLine:
    """One line of the audit."""

    id: int
    action: str
    subject: str
    address: str
    detail: Mapping[str, Any]
    by: str
    at: datetime.datetime

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        names = ("id", "action", "subject", "address", "by")
        return {name: getattr(self, name) for name in names} | {"detail": dict(self.detail), "at": self.at.isoformat()}


def add_person(record: Record, name: str, *, role: Role, secret: str) -> Person:
    """Add a person. Raises AlreadyThere."""
    shown = " ".join(name.split())
    if not shown or len(shown) > _LONGEST_NAME or not shown.isprintable():
        raise InputRefused.because("that cannot be a person's name", remedy=f"write 1 to {_LONGEST_NAME} letters", key="name")
    with record.writing() as connection:
        taken = connection.scalars(select(person.c.name)).all()
        if shown.casefold() in {one.casefold() for one in taken}:
            raise AlreadyThere.because(f'"{shown}" is in the record already', remedy="take another name", key="name")
        values = {"name": shown, "role": role.value, "secret": secret, "active": 1, "at": now()}
        connection.execute(insert(person).values(values))
    return find_person(record, shown)


def find_person(record: Record, name: str) -> Person:
    """A person by name. Raises NotThere."""
    found = next((one for one in people(record) if one.name.casefold() == " ".join(name.split()).casefold()), None)
    if found is None:
        raise NotThere.because(f'nobody is called "{name}" here', remedy="look at the list of people")
    return found


def people(record: Record) -> list[Person]:
    """Everybody, by name."""
    with record.reading() as connection:
        return [_person(row) for row in connection.execute(select(person).order_by(person.c.name)).mappings()]


def _person(row: Mapping[Any, Any]) -> Person:
    return Person(row["id"], row["name"], Role(row["role"]), bool(row["active"]), row["at"], row["secret"])


def change_person(
    record: Record, name: str, *, role: Role | None = None, secret: str | None = None, active: bool | None = None
) -> Person:
    """Change role, password or whether the person may sign in; ends the person's sessions. The last administrator stays one."""
    found = find_person(record, name)
    values: dict[str, Any] = {} if role is None else {"role": role.value}
    values |= {} if secret is None else {"secret": secret}
    values |= {} if active is None else {"active": int(active)}
    with record.writing() as connection:
        if values:
            connection.execute(update(person).where(person.c.id == found.id).values(values))
        connection.execute(delete(session).where(session.c.person_id == found.id))
        leading = (person.c.role == Role.ADMINISTRATOR.value, person.c.active == 1)
        left = connection.execute(select(func.count()).select_from(person).where(*leading)).scalar()
        if found.role is Role.ADMINISTRATOR and found.active and not left:
            raise InputRefused.because(f'"{found.name}" is the last administrator', remedy="make somebody else one first")
    return find_person(record, found.name)


def open_session(record: Record, who: Person, token: str, *, ends_at: datetime.datetime) -> None:
    """Keep a session under the SHA-256 of its token; sessions that have ended are swept away."""
    at = now()
    with record.writing() as connection:
        connection.execute(delete(session).where(session.c.ends_at < at))
        connection.execute(insert(session).values(token=token, person_id=who.id, seen_at=at, ends_at=ends_at, at=at))


def session_person(record: Record, token: str, *, idle: datetime.timedelta) -> Person | None:
    """Whose session that is; None if it has ended, was idle for too long, or the person may not sign in any more."""
    found = select(person, session.c.seen_at, session.c.ends_at).join(session, session.c.person_id == person.c.id)
    with record.reading() as connection:
        row = connection.execute(found.where(session.c.token == token)).mappings().first()
    at = now()
    if row is None or not row["active"] or row["ends_at"] <= at or row["seen_at"] + idle <= at:
        return None
    if at - row["seen_at"] > idle / 20:
        with record.writing() as connection:
            connection.execute(update(session).where(session.c.token == token).values(seen_at=at))
    return _person(row)


def close_sessions(record: Record, *, token: str | None = None, who: Person | None = None) -> None:
    """End the session of a token, or all of a person's."""
    which = session.c.token == token if who is None else session.c.person_id == who.id
    with record.writing() as connection:
        connection.execute(delete(session).where(which))


def note_audit(
    record: Record, action: str, *, by: str, subject: str = "", address: str = "", detail: Mapping[str, Any] | None = None
) -> None:
    """Add a line to the audit."""
    values = {"action": action, "subject": subject[:500], "address": address[:100], "detail": dict(detail or {})}
    with record.writing() as connection:
        connection.execute(insert(audit).values(by=by, at=now(), **values))


def audit_lines(record: Record, *, most: int = 200, before: int | None = None) -> list[AuditLine]:
    """The newest lines of the audit, the newest first; `before`: only lines older than that one."""
    found = select(audit).order_by(audit.c.id.desc()).limit(most)
    with record.reading() as connection:
        rows = connection.execute(found if before is None else found.where(audit.c.id < before)).mappings().all()
    return [AuditLine(**row) for row in rows]


def count_audit(
    record: Record, action: str, *, since: datetime.datetime, subject: str | None = None, address: str | None = None
) -> int:
    """How many lines of an action there are since a moment."""
    which = [audit.c.action == action, audit.c.at >= since]
    which += [audit.c.subject == subject] if subject is not None else []
    which += [audit.c.address == address] if address is not None else []
    with record.reading() as connection:
        return int(connection.execute(select(func.count()).select_from(audit).where(*which)).scalar() or 0)
