"""A skater's own phone: whose it is, on the phone and on the code it is paired with."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    """Phones there are belong to nobody in particular."""
    for table in ("device", "pairing_code"):
        op.add_column(table, sa.Column("skater_key", sa.String, nullable=False, server_default=""))
