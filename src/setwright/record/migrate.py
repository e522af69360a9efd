"""Bringing a database to the schema of this release, from every released one."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, text

from setwright.record.refusals import Unavailable

__all__ = ["NEWEST", "migrate", "schema_of"]

_HOME: Final = Path(__file__).resolve().parent / "migrations"
_LOCK: Final = 7_310_224
"""Any fixed number: on a server, the lock that only one process may hold while it changes the schema."""
NEWEST: Final = "newest"


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(_HOME).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def schema_of(connection: Connection) -> str | None:
    """The schema a database has, None for an empty one."""
    return MigrationContext.configure(connection).get_current_revision()


def migrate(connection: Connection, *, to: str = NEWEST) -> None:
    """Bring the database up to a schema, within the caller's transaction. Raises Unavailable for a database of a later release."""
    config = _config()
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    if connection.dialect.name == "postgresql":
        connection.execute(text(f"SELECT pg_advisory_xact_lock({_LOCK})"))
    held = schema_of(connection)
    for wanted in (held, None if to == NEWEST else to):
        if wanted is not None and wanted not in known:
            said = f'the record has the schema "{wanted}", which this release does not know'
            raise Unavailable.because(said, why="a later release has written it", remedy="install that release, or a newer one")
    config.attributes["connection"] = connection
    command.upgrade(config, "head" if to == NEWEST else to)
