"""The first schema."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "first"
down_revision = None


def upgrade() -> None:
    """Make the tables."""
    _contents_and_people()
    _jobs()
    _statements()


def _moment(name: str = "at", *, open_end: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.DateTime(timezone=True), nullable=open_end)


def _text(name: str, size: int) -> sa.Column[Any]:
    return sa.Column(name, sa.String(size), nullable=False)


def _long(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Text(), nullable=False)


def _json(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.JSON(), nullable=False)


def _number(name: str, **options: Any) -> sa.Column[Any]:
    return sa.Column(name, sa.Integer(), nullable=False, **options)


def _key(table: str, *columns: str) -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint(*columns, name=op.f(f"pk_{table}"))


def _to(table: str, columns: str, target: str, fields: str) -> sa.ForeignKeyConstraint:
    own, theirs = columns.split(), [f"{target}.{name}" for name in fields.split()]
    return sa.ForeignKeyConstraint(own, theirs, name=op.f(f"fk_{table}_{'_'.join(own)}_{target}"))


def _contents_and_people() -> None:
    op.create_table("blob", _text("sha256", 64), sa.Column("size", sa.BigInteger(), nullable=False), _key("blob", "sha256"))
    op.create_table("person", _number("id"), _text("name", 200), _text("role", 20), _long("secret"), _number("active"), _moment(),
                    _key("person", "id"), sa.UniqueConstraint("name", name=op.f("uq_person_name")))  # fmt: skip
    op.create_table("session", _text("token", 64), _number("person_id"), _moment("seen_at"), _moment("ends_at"), _moment(),
                    _key("session", "token"), _to("session", "person_id", "person", "id"))  # fmt: skip
    op.create_table("audit", _number("id"), _text("action", 60), _text("subject", 500), _text("address", 100), _json("detail"),
                    _text("by", 200), _moment(), _key("audit", "id"))  # fmt: skip
    op.create_index(op.f("ix_audit_action_at"), "audit", ["action", "at"])
    op.create_table("shop_revision", _text("kind", 40), _text("name", 200), _number("number", autoincrement=False),
                    sa.Column("sha256", sa.String(64), nullable=True), _long("note"), _text("by", 200), _moment(),
                    _key("shop_revision", "kind", "name", "number"),
                    _to("shop_revision", "sha256", "blob", "sha256"))  # fmt: skip


def _jobs() -> None:
    op.create_table("job", _number("id"), _text("name", 200), _number("head"), _text("by", 200), _moment(), _key("job", "id"),
                    sa.UniqueConstraint("name", name=op.f("uq_job_name")))  # fmt: skip
    op.create_table("revision", _number("job_id"), _number("number", autoincrement=False), _text("digest", 64),
                    _text("document", 64), _long("title"), _long("home"), _long("note"), _text("by", 200), _moment(),
                    _key("revision", "job_id", "number"), _to("revision", "job_id", "job", "id"))  # fmt: skip
    op.create_table("revision_file", _number("job_id"), _number("number"), _text("path", 500), _text("sha256", 64),
                    _key("revision_file", "job_id", "number", "path"),
                    _to("revision_file", "job_id number", "revision", "job_id number"),
                    _to("revision_file", "sha256", "blob", "sha256"))  # fmt: skip


def _statements() -> None:
    op.create_table("entry", _number("id"), _number("job_id"), _number("revision"), _text("kind", 40), _text("setup", 200),
                    _text("subject", 500), _text("looked_at", 64), _json("body"), _text("by", 200), _moment(), _key("entry", "id"),
                    _to("entry", "job_id revision", "revision", "job_id number"))  # fmt: skip
    op.create_index(op.f("ix_entry_job_id_kind"), "entry", ["job_id", "kind"])
    op.create_table("artefact", _number("id"), _number("job_id"), _number("revision"), _text("station", 40), _text("setup", 200),
                    _text("name", 200), _text("media_type", 100), _text("inputs", 64), _text("sha256", 64), _text("by", 200),
                    _moment(), _key("artefact", "id"), _to("artefact", "job_id revision", "revision", "job_id number"),
                    _to("artefact", "sha256", "blob", "sha256"))  # fmt: skip
    op.create_index(op.f("ix_artefact_job_id_station"), "artefact", ["job_id", "station"])
    op.create_table("calculation", _number("id"), _number("job_id"), _number("revision"), _text("station", 40),
                    _text("setup", 200), _json("options"), _text("state", 20),
                    sa.Column("artefact_id", sa.Integer(), nullable=True), _json("said"), _moment("ended_at", open_end=True),
                    _text("by", 200), _moment(), _key("calculation", "id"),
                    _to("calculation", "artefact_id", "artefact", "id"),
                    _to("calculation", "job_id revision", "revision", "job_id number"))  # fmt: skip
    op.create_index(op.f("ix_calculation_job_id_state"), "calculation", ["job_id", "state"])
