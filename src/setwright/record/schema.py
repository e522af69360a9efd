"""The tables. Rows of revisions, entries, artefacts and the audit are only ever added; what holds now is derived from them.

Times are UTC. Contents of files are not rows but blobs named by their SHA-256; a row only names them.
"""

from __future__ import annotations

import datetime
from typing import Any, Final

from sqlalchemy import (
    JSON,
    BigInteger,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
)
from sqlalchemy.dialects.sqlite import DATETIME
from sqlalchemy.types import TypeEngine

from setwright.record.refusals import Damaged

__all__ = [
    "Moment", "artefact", "audit", "blob", "calculation", "chain", "entry", "job", "metadata", "now", "person", "revision",
    "revision_file", "session", "shop_revision", "sign_in_try",
]  # fmt: skip

_NAMES: Final = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s", "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s", "pk": "pk_%(table_name)s",
}  # fmt: skip
_DIGEST: Final = 64
_NAME: Final = 200


class _AsItStands(DATETIME):
    """A moment in a file; read as the text that it is there."""

    def result_processor(self, dialect: Dialect, coltype: object) -> None:
        """None: nothing is made of it here."""


class Moment(TypeDecorator[datetime.datetime]):
    """A moment in UTC; given and returned with its zone, whatever the database keeps."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """In a file, the text as it stands there, so that one that is no moment is refused here in words."""
        kind = _AsItStands() if dialect.name == "sqlite" else DateTime(timezone=True)  # type: ignore[no-untyped-call]
        return dialect.type_descriptor(kind)

    def process_bind_param(self, value: datetime.datetime | None, dialect: Dialect) -> datetime.datetime | None:
        """To UTC; a moment without a zone is refused."""
        del dialect
        if value is not None and value.tzinfo is None:
            raise ValueError("a moment in the record needs its time zone")
        return None if value is None else value.astimezone(datetime.UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime.datetime | None:
        """With its zone. Raises Damaged for what is no moment."""
        del dialect
        if value is None:
            return None
        if isinstance(value, datetime.datetime):
            at = value
        else:
            try:
                at = datetime.datetime.fromisoformat(value)
            except (TypeError, ValueError) as error:
                raise Damaged.because(f"an entry of the record is dated {str(value)[:40]!r}", why="that is no date",
                                      remedy="look which one with: setwright record check") from error  # fmt: skip
        return at.replace(tzinfo=datetime.UTC) if at.tzinfo is None else at.astimezone(datetime.UTC)


def now() -> datetime.datetime:
    """This moment, UTC."""
    return datetime.datetime.now(datetime.UTC)


metadata: Final = MetaData(naming_convention=_NAMES)


def _at(name: str = "at") -> Column[Any]:
    return Column(name, Moment, nullable=False)


def _by() -> Column[Any]:
    return Column("by", String(_NAME), nullable=False)


def _of_revision() -> tuple[Column[Any], Column[Any], ForeignKeyConstraint]:
    """The revision a row speaks of."""
    target = ["revision.job_id", "revision.number"]
    return (Column("job_id", Integer, nullable=False), Column("revision", Integer, nullable=False),
            ForeignKeyConstraint(["job_id", "revision"], target))  # fmt: skip


blob: Final = Table(
    "blob", metadata,
    Column("sha256", String(_DIGEST), primary_key=True),
    Column("size", BigInteger, nullable=False),
)  # fmt: skip
"""Every content the record has taken in; its bytes lie in the folder of blobs."""

job: Final = Table(
    "job", metadata,
    Column("id", Integer, primary_key=True),
    Column("name", String(_NAME), nullable=False, unique=True),
    Column("head", Integer, nullable=False),
    _by(), _at(),
)  # fmt: skip
"""A job and the number of its newest revision."""

revision: Final = Table(
    "revision", metadata,
    Column("job_id", Integer, ForeignKey("job.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("digest", String(_DIGEST), nullable=False),
    Column("document", String(_DIGEST), nullable=False),
    Column("title", Text, nullable=False),
    Column("home", Text, nullable=False),
    Column("note", Text, nullable=False),
    _by(), _at(),
)  # fmt: skip
"""One state of a job's files. `digest` names all its files, `document` the parsed document; `home` is the job's folder in them."""

revision_file: Final = Table(
    "revision_file", metadata,
    Column("job_id", Integer, primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("path", String(500), primary_key=True),
    Column("sha256", String(_DIGEST), ForeignKey("blob.sha256"), nullable=False),
    ForeignKeyConstraint(["job_id", "number"], ["revision.job_id", "revision.number"]),
)  # fmt: skip

entry: Final = Table(
    "entry", metadata,
    Column("id", Integer, primary_key=True),
    *_of_revision(),
    Column("kind", String(40), nullable=False),
    Column("setup", String(_NAME), nullable=False),
    Column("subject", String(500), nullable=False),
    Column("looked_at", String(_DIGEST), nullable=False),
    Column("body", JSON, nullable=False),
    _by(), _at(),
    Index(None, "job_id", "kind"),
)  # fmt: skip
"""What people stated: checks ticked, findings accepted, sign-offs, runs."""

artefact: Final = Table(
    "artefact", metadata,
    Column("id", Integer, primary_key=True),
    *_of_revision(),
    Column("station", String(40), nullable=False),
    Column("setup", String(_NAME), nullable=False),
    Column("name", String(_NAME), nullable=False),
    Column("media_type", String(100), nullable=False),
    Column("inputs", String(_DIGEST), nullable=False),
    Column("sha256", String(_DIGEST), ForeignKey("blob.sha256"), nullable=False),
    _by(), _at(),
    Index(None, "job_id", "station"),
)  # fmt: skip
"""What a station made of a revision: a proof's result, a sheet. `inputs` names everything it was made from."""

calculation: Final = Table(
    "calculation", metadata,
    Column("id", Integer, primary_key=True),
    *_of_revision(),
    Column("station", String(40), nullable=False),
    Column("setup", String(_NAME), nullable=False),
    Column("options", JSON, nullable=False),
    Column("state", String(20), nullable=False),
    Column("artefact_id", Integer, ForeignKey("artefact.id"), nullable=True),
    Column("said", JSON, nullable=False),
    Column("ended_at", Moment, nullable=True),
    _by(), _at(),
    Index(None, "job_id", "state"),
)  # fmt: skip
"""Long work asked for, and what became of it. `said` holds the problems it ended with."""

shop_revision: Final = Table(
    "shop_revision", metadata,
    Column("kind", String(40), primary_key=True),
    Column("name", String(_NAME), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("sha256", String(_DIGEST), ForeignKey("blob.sha256"), nullable=True),
    Column("note", Text, nullable=False),
    _by(), _at(),
)  # fmt: skip
"""What the shop has: machines, holding, tools, instruments. No content: the thing was taken out of the shop."""

person: Final = Table(
    "person", metadata,
    Column("id", Integer, primary_key=True),
    Column("name", String(_NAME), nullable=False, unique=True),
    Column("folded", String(_NAME), nullable=False, unique=True),
    Column("role", String(20), nullable=False),
    Column("secret", Text, nullable=False),
    Column("active", Integer, nullable=False),
    _at(),
)  # fmt: skip
"""Who may work with the record. `folded`: what the name has in common with those that it could be taken for. `secret`: salted hash
of the password, empty while none is set."""

session: Final = Table(
    "session", metadata,
    Column("token", String(_DIGEST), primary_key=True),
    Column("person_id", Integer, ForeignKey("person.id"), nullable=False),
    Column("seen_at", Moment, nullable=False),
    Column("ends_at", Moment, nullable=False),
    _at(),
)  # fmt: skip
"""Who is signed in. `token` is the SHA-256 of the cookie's token: who reads the table cannot sign in with it."""

audit: Final = Table(
    "audit", metadata,
    Column("id", Integer, primary_key=True),
    Column("action", String(60), nullable=False),
    Column("subject", String(500), nullable=False),
    Column("address", String(100), nullable=False),
    Column("detail", JSON, nullable=False),
    _by(), _at(),
    Index(None, "action", "at"),
)  # fmt: skip
"""Every change and every refused sign-in, by whom and from where."""

sign_in_try: Final = Table(
    "sign_in_try", metadata,
    Column("id", Integer, primary_key=True),
    Column("subject", String(_NAME), nullable=False),
    Column("address", String(100), nullable=False),
    _at(),
    Index(None, "subject", "at"),
)  # fmt: skip
"""Tries to sign in that were not found good (yet): counted before the password is looked at, taken back when it fits."""

chain: Final = Table(
    "chain", metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("of", String(40), nullable=False),
    Column("key", String(700), nullable=False),
    Column("row", String(_DIGEST), nullable=False),
    Column("digest", String(_DIGEST), nullable=False),
    _at(),
)  # fmt: skip
"""What proves that the other tables are whole: see `chain.py`."""
