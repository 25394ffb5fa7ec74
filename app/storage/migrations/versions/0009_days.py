"""Competition days: skaters in start order with the layouts agreed for each, and those of a live program."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Create both tables; programs there are have no agreed layouts beside their own."""
    op.add_column("live_program", sa.Column("variants", sa.JSON, nullable=False, server_default="[]"))
    op.create_table(
        "day",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("made_at", sa.DateTime, nullable=False),
    )
    op.create_table(
        "day_start",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("day_id", sa.Integer, sa.ForeignKey("day.id", ondelete="CASCADE"), nullable=False),
        sa.Column("skater_id", sa.Integer, sa.ForeignKey("skater.id", ondelete="CASCADE"), nullable=False),
        sa.Column("place", sa.Integer, nullable=False),
        sa.Column("layout_ids", sa.JSON, nullable=False),
        sa.Column(
            "program_id", sa.Integer, sa.ForeignKey("live_program.id", ondelete="SET NULL"), nullable=True
        ),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.Column("mark", sa.String, nullable=False),
    )
    op.create_index("ix_day_start_day_id", "day_start", ["day_id"])
    op.create_index("ix_day_start_program_id", "day_start", ["program_id"])
