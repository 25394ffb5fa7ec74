"""Rehearsals: what a run-through may call, and the easy jumps of a drill that no element's log holds."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"


def upgrade() -> None:
    """No program there is was a rehearsal."""
    op.add_column("live_program", sa.Column("rehearsal", sa.JSON, nullable=True))
    op.create_table(
        "drill",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("skater_id", sa.Integer, sa.ForeignKey("skater.id", ondelete="CASCADE"), nullable=False),
        sa.Column("sending", sa.String, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("program", sa.String, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("failure", sa.String, nullable=False),
        sa.Column("jump", sa.String, nullable=False),
        sa.Column("codes", sa.JSON, nullable=False),
        sa.Column("undone", sa.Boolean, nullable=False),
        sa.Column("logged_at", sa.DateTime, nullable=False),
        sa.UniqueConstraint("sending"),
    )
    op.create_index("ix_drill_skater_id", "drill", ["skater_id"])
