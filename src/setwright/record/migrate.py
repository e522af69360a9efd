"""Bringing a database to the schema of this release, from every released one."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import DBAPIError

from setwright.base.errors import InputRefused
from setwright.record.refusals import Damaged, Unavailable
from setwright.record.schema import metadata

__all__ = ["NEWEST", "migrate", "one_at_a_time", "schema_of"]

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


def one_at_a_time(connection: Connection) -> None:
    """Wait for whoever else changes the schema of a server's database, until that one's transaction has ended."""
    if connection.dialect.name == "postgresql":
        connection.execute(text(f"SELECT pg_advisory_xact_lock({_LOCK})"))


def migrate(connection: Connection, *, to: str = NEWEST) -> None:
    """Bring the database up to a schema, within the caller's transaction. Raises Unavailable for a database of a later release,
    Damaged where its tables are not those of the schema that it names."""
    config = _config()
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    one_at_a_time(connection)
    heads = MigrationContext.configure(connection).get_current_heads()
    if len(heads) > 1:
        raise _other_tables(f"it names {len(heads)} schemas: {', '.join(sorted(heads))}")
    held = heads[0] if heads else None
    if held is None and set(inspect(connection).get_table_names()) & set(metadata.tables):
        raise _other_tables("it names none, while the database holds a record")
    for wanted in (held, None if to == NEWEST else to):
        if wanted is not None and wanted not in known:
            said = f'the record has the schema "{wanted}", which this release does not know'
            raise Unavailable.because(said, why="a later release has written it", remedy="install that release, or a newer one")
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, "head" if to == NEWEST else to)
    except DBAPIError as error:
        if not any(words in str(error.orig) for words in ("already exists", "no such", "does not exist")):
            raise
        raise _other_tables(f'it names "{held}": {str(error.orig).splitlines()[0]}') from error
    if to == NEWEST:
        _look(connection)


def _look(connection: Connection) -> None:
    """Whether every table has the columns, and the uniqueness, that this release relies on."""
    there = {name: {column["name"] for column in columns}
             for (_, name), columns in inspect(connection).get_multi_columns().items()}  # fmt: skip
    unique = {name: {tuple(one["column_names"]) for one in found}
              for (_, name), found in inspect(connection).get_multi_unique_constraints().items()}  # fmt: skip
    for name, table in metadata.tables.items():
        missing = sorted(column.name for column in table.columns if column.name not in there.get(name, ()))
        alone = sorted(column.name for column in table.columns if column.unique and (column.name,) not in unique.get(name, ()))
        if missing:
            what = f"columns {', '.join(missing)} of the table {name} are" if name in there else f"the table {name} is"
            raise _other_tables(f"{what} missing")
        if alone:
            raise _other_tables(f"the table {name} may hold the same {', '.join(alone)} twice")


def _other_tables(said: str) -> InputRefused:
    what = "the record's tables are not those of the schema that its table alembic_version names"
    return Damaged.because(what, why=said, remedy="restore the record from its last good backup")
