"""Which published odds a live program reckons with: right after a fall, and in the second half."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the columns; programs started before go on without, as they began."""
    for name in ("after_fall_odds", "second_half_odds"):
        op.add_column("live_program", sa.Column(name, sa.Boolean, nullable=False, server_default=sa.false()))
