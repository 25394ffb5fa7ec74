"""Rulebooks of one's own, and editions as they were when something began to rest on them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Create both tables. What older layouts rest on is kept at the next start."""
    op.create_table(
        "own_rulebook",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("slug", sa.String, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("text", sa.String, nullable=False),
        sa.Column("made_at", sa.DateTime, nullable=False),
        sa.UniqueConstraint("slug", "version"),
    )
    op.create_table(
        "kept_rulebook",
        sa.Column("edition", sa.String, primary_key=True, nullable=False),
        sa.Column("fingerprint", sa.String, primary_key=True, nullable=False),
        sa.Column("snapshot", sa.JSON, nullable=False),
    )
