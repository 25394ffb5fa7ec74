"""Several devices: a role for each phone and code, and who logged each event on which device when."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0003"


def upgrade() -> None:
    """Add the columns; phones and codes there are belong to coaches, events logged before have no device clock."""
    for table in ("device", "pairing_code", "live_event"):
        op.add_column(table, sa.Column("role", sa.String, nullable=False, server_default="coach"))
    op.add_column("device", sa.Column("sees_advice", sa.Boolean, nullable=False, server_default=sa.true()))
    op.add_column("live_event", sa.Column("device", sa.String, nullable=False, server_default="laptop"))
    op.add_column("live_event", sa.Column("made_at", sa.DateTime, nullable=True))
