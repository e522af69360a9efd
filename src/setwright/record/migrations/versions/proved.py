"""A chain that proves the record whole, names that cannot be mistaken for one another, tries to sign in counted by themselves."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from setwright.record.chain import link_everything
from setwright.record.names import folded

__all__ = ["down_revision", "revision", "upgrade"]

revision = "proved"
down_revision = "first"


def upgrade() -> None:
    """Fold the names of those who are there (of two that look alike, the later one keeps its own by its number), link every row."""
    op.create_table("chain", sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
                    sa.Column("of", sa.String(40), nullable=False), sa.Column("key", sa.String(700), nullable=False),
                    sa.Column("row", sa.String(64), nullable=False), sa.Column("digest", sa.String(64), nullable=False),
                    sa.Column("at", sa.DateTime(timezone=True), nullable=False),
                    sa.PrimaryKeyConstraint("number", name=op.f("pk_chain")))  # fmt: skip
    op.create_table("sign_in_try", sa.Column("id", sa.Integer(), nullable=False),
                    sa.Column("subject", sa.String(200), nullable=False), sa.Column("address", sa.String(100), nullable=False),
                    sa.Column("at", sa.DateTime(timezone=True), nullable=False),
                    sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in_try")))  # fmt: skip
    op.create_index(op.f("ix_sign_in_try_subject_at"), "sign_in_try", ["subject", "at"])
    op.add_column("person", sa.Column("folded", sa.String(200), nullable=True))
    connection = op.get_bind()
    taken: set[str] = set()
    for number, name in connection.execute(sa.text("SELECT id, name FROM person ORDER BY id")).all():
        fold = folded(name)
        fold = f"{fold} #{number}" if fold in taken else fold
        taken.add(fold)
        connection.execute(sa.text("UPDATE person SET folded = :fold WHERE id = :number"), {"fold": fold, "number": number})
    with op.batch_alter_table("person") as table:
        table.alter_column("folded", existing_type=sa.String(200), nullable=False)
        table.create_unique_constraint(op.f("uq_person_folded"), ["folded"])
    link_everything(connection)
