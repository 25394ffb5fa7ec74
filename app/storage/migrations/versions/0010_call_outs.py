"""Answers given in the call-out trainer."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Create the list of answers."""
    op.create_table(
        "call_out",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("skater_id", sa.Integer, sa.ForeignKey("skater.id", ondelete="CASCADE"), nullable=False),
        sa.Column("sending", sa.String, nullable=False),
        sa.Column("program", sa.String, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("jump", sa.String, nullable=False),
        sa.Column("answer", sa.String, nullable=False),
        sa.Column("right", sa.String, nullable=False),
        sa.Column("seconds", sa.Float, nullable=False),
        sa.Column("rating", sa.Integer, nullable=False),
        sa.Column("answered_at", sa.DateTime, nullable=False),
        sa.UniqueConstraint("sending"),
    )
    op.create_index("ix_call_out_skater_id_program", "call_out", ["skater_id", "program"])
