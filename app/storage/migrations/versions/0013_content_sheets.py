"""Content sheets as they were handed in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"


def upgrade() -> None:
    """Create the list of sheets."""
    op.create_table(
        "content_sheet",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("layout_id", sa.Integer, sa.ForeignKey("layout.id", ondelete="CASCADE"), nullable=False),
        sa.Column("codes", sa.JSON, nullable=False),
        sa.Column("note", sa.String, nullable=False),
        sa.Column("handed_in_at", sa.DateTime, nullable=False),
    )
    op.create_index("ix_content_sheet_layout_id", "content_sheet", ["layout_id"])
