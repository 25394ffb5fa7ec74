"""Official score sheets, without names."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Create the table."""
    op.create_table(
        "official_sheet",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("skater_id", sa.Integer, sa.ForeignKey("skater.id", ondelete="CASCADE"), nullable=True),
        sa.Column(
            "program_id", sa.Integer, sa.ForeignKey("live_program.id", ondelete="SET NULL"), nullable=True
        ),
        sa.Column("edition", sa.String, nullable=False),
        sa.Column("note", sa.String, nullable=False),
        sa.Column("sheet", sa.JSON, nullable=False),
        sa.Column("read_at", sa.DateTime, nullable=False),
    )
    op.create_index("ix_official_sheet_skater_id", "official_sheet", ["skater_id"])
    op.create_index("ix_official_sheet_program_id", "official_sheet", ["program_id"])
