"""A key for every skater, the same in every installation, and the list of what was handed over."""

from __future__ import annotations

from uuid import uuid4

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"


def upgrade() -> None:
    """Give every skater a key and create the list.

    The column is added, the table never made anew: its old self would take all that belongs to the skaters along.
    """
    op.add_column("skater", sa.Column("key", sa.String, nullable=False, server_default=""))
    bound = op.get_bind()
    for (number,) in bound.execute(sa.text("SELECT id FROM skater")).fetchall():
        given = {"key": uuid4().hex, "id": number}
        bound.execute(sa.text("UPDATE skater SET key = :key WHERE id = :id"), given)
    op.create_index("ix_skater_key", "skater", ["key"], unique=True)
    op.create_table(
        "handed_over",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("skater_id", sa.Integer, sa.ForeignKey("skater.id", ondelete="CASCADE"), nullable=True),
        sa.Column("at", sa.DateTime, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("given_to", sa.String, nullable=False),
        sa.Column("mark", sa.String, nullable=False),
    )
    op.create_index("ix_handed_over_skater_id", "handed_over", ["skater_id"])
