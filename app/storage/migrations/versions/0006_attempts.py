"""The skater's own log: attempts with day, place and how they ended."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Create the log. Counts entered before stay where they are: they are where the counting starts."""
    op.create_table(
        "attempt",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("skater_id", sa.Integer, sa.ForeignKey("skater.id", ondelete="CASCADE"), nullable=False),
        sa.Column("sending", sa.String, nullable=False),
        sa.Column("line", sa.Integer, nullable=False),
        sa.Column("code", sa.String, nullable=False),
        sa.Column("entry", sa.String, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("place", sa.String, nullable=False),
        sa.Column("fate", sa.String, nullable=False),
        sa.Column("count", sa.Integer, nullable=False),
        sa.Column("undone", sa.Boolean, nullable=False),
        sa.Column("logged_at", sa.DateTime, nullable=False),
        sa.UniqueConstraint("sending", "line"),
    )
    op.create_index("ix_attempt_skater_id", "attempt", ["skater_id"])
