"""Notes that several workers leave for one another."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"


def upgrade() -> None:
    """Create the table."""
    op.create_table(
        "worker_note",
        sa.Column("kind", sa.String, primary_key=True, nullable=False),
        sa.Column("key", sa.String, primary_key=True, nullable=False),
        sa.Column("sealed", sa.LargeBinary, nullable=False),
        sa.Column("at", sa.DateTime, nullable=False),
    )
