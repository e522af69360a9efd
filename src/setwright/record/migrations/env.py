"""Run by the migration tool: the steps go through the connection that the caller holds, in its transaction."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"], render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
