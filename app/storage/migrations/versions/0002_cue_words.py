"""The skater's own words for an element."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the column; elements stored before have no words yet."""
    column = sa.Column("cue", sa.String, nullable=False, server_default="")
    op.add_column("trained_element", column)
