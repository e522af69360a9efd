"""People, who is signed in, and the audit: every change and every refused sign-in, by whom and from where."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import Connection, delete, func, insert, select, update

from setwright.base.errors import InputRefused
from setwright.record.chain import link
from setwright.record.names import folded, person_name
from setwright.record.refusals import AlreadyThere, NotThere
from setwright.record.schema import audit, now, person, session, sign_in_try
from setwright.record.store import Record

__all__ = [
    "AuditLine", "Person", "Role", "add_person", "audit_lines", "change_person", "close_sessions", "count_try", "find_person",
    "forget_tries", "note_audit", "open_session", "people", "session_person",
]  # fmt: skip

_LOCK: Final = 7_310_226
"""On a server, the lock that only one change of people, or of tries to sign in, may hold."""


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
    shown = person_name(name)
    with record.writing() as connection:
        _one_at_a_time(connection)
        names = connection.scalars(select(person.c.name)).all()  # what an older release folded otherwise is folded anew
        like = next((one for one in names if folded(one) == folded(shown)), None)
        if like is not None:
            said = f'"{like}" is in the record already' + ("" if like == shown else f', and "{shown}" could be taken for it')
            raise AlreadyThere.because(said, remedy="take another name", key="name")
        values = {"name": shown, "folded": folded(shown), "role": role.value, "secret": secret, "active": 1, "at": now()}
        added = connection.execute(insert(person).values(values).returning(person.c.id)).one()
        link(connection, "person", id=added.id)
    return find_person(record, shown)


def _one_at_a_time(connection: Connection) -> None:
    """Who changes people waits here for whoever else does, until that one's transaction has ended; a file has one writer anyway."""
    if connection.dialect.name == "postgresql":
        connection.execute(select(func.pg_advisory_xact_lock(_LOCK)))


def find_person(record: Record, name: str) -> Person:
    """A person by name. Raises NotThere."""
    found = _found(people(record), name)
    if found is None:
        raise NotThere.because(f'nobody is called "{name}" here', remedy="look at the list of people")
    return found


def _found(known: list[Person], name: str) -> Person | None:
    """Whoever is called so, in capitals or not; no look-alike."""
    asked = " ".join(name.split()).casefold()
    return next((one for one in known if one.name.casefold() == asked), None)


def people(record: Record) -> list[Person]:
    """Everybody, by name."""
    with record.reading() as connection:
        return _everybody(connection)


def _everybody(connection: Connection) -> list[Person]:
    return [_person(row) for row in connection.execute(select(person).order_by(person.c.name)).mappings()]


def _person(row: Mapping[Any, Any]) -> Person:
    return Person(row["id"], row["name"], Role(row["role"]), bool(row["active"]), row["at"], row["secret"])


def change_person(
    record: Record, name: str, *, role: Role | None = None, secret: str | None = None, active: bool | None = None
) -> Person:
    """Change role, password or whether the person may sign in; ends the person's sessions. The last administrator stays one."""
    find_person(record, name)
    values: dict[str, Any] = {} if role is None else {"role": role.value}
    values |= {} if secret is None else {"secret": secret}
    values |= {} if active is None else {"active": int(active)}
    with record.writing() as connection:
        _one_at_a_time(connection)
        found = _found(_everybody(connection), name)
        if found is None:
            raise NotThere.because(f'nobody is called "{name}" here', remedy="look at the list of people")
        if values:
            connection.execute(update(person).where(person.c.id == found.id).values(values))
            link(connection, "person", id=found.id)
        connection.execute(delete(session).where(session.c.person_id == found.id))
        leading = [one for one in _everybody(connection) if one.role is Role.ADMINISTRATOR and one.active]
        if found.role is Role.ADMINISTRATOR and found.active and not leading:
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
        added = connection.execute(insert(audit).values(by=by, at=now(), **values).returning(audit.c.id)).one()
        link(connection, "audit", id=added.id)


def audit_lines(record: Record, *, most: int = 200, before: int | None = None) -> list[AuditLine]:
    """The newest lines of the audit, the newest first; `before`: only lines older than that one."""
    found = select(audit).order_by(audit.c.id.desc()).limit(most)
    with record.reading() as connection:
        rows = connection.execute(found if before is None else found.where(audit.c.id < before)).mappings().all()
    return [AuditLine(**row) for row in rows]


def count_try(record: Record, name: str, *, address: str, most_here: int, most: int, since: datetime.datetime) -> bool:
    """Count a try to sign in before anything is compared, in one step with the question whether it may be made.

    False, and not counted, where since then `most_here` were made for that name from that address, or `most` from anywhere: so that
    many tries at once are no more than as many one by one, and nobody shuts the door on others at the same address.
    """
    subject = _subject(name)
    with record.writing() as connection:
        _one_at_a_time(connection)
        connection.execute(delete(sign_in_try).where(sign_in_try.c.at < since))
        made = connection.scalars(select(sign_in_try.c.address).where(sign_in_try.c.subject == subject)).all()
        if len(made) >= most or made.count(address[:100]) >= most_here:
            return False
        connection.execute(insert(sign_in_try).values(subject=subject, address=address[:100], at=now()))
        return True


def forget_tries(record: Record, name: str, *, address: str | None = None) -> int:
    """Let somebody try again at once: from the address of a good sign-in, or from anywhere when an administrator says so.

    Returns how many tries were forgotten.
    """
    which = [sign_in_try.c.subject == _subject(name)]
    which += [sign_in_try.c.address == address[:100]] if address is not None else []
    with record.writing() as connection:
        return int(connection.execute(delete(sign_in_try).where(*which)).rowcount)


def _subject(name: str) -> str:
    return " ".join(name.casefold().split())[:200]
