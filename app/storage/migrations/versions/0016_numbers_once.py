"""A number in an address is given once: a phone that still holds a tap for a deleted program must not reach another.

SQLite gives the number of a deleted last row to the next one, unless the table is declared AUTOINCREMENT, which takes a
rebuilt table ("SQLite Autoincrement", sqlite.org/autoinc.html). PostgreSQL's sequences never go back.
"""

from __future__ import annotations

from alembic import op

revision = "0016"
down_revision = "0015"

NUMBERED = (
    "skater",
    "trained_element",
    "attempt",
    "layout",
    "content_sheet",
    "live_program",
    "day",
    "day_start",
    "official_sheet",
    "device",
)


def upgrade() -> None:
    """Rebuild the tables whose numbers stand in addresses, with every row as it is."""
    if op.get_bind().dialect.name != "sqlite":
        return
    for table in NUMBERED:
        with op.batch_alter_table(table, recreate="always", table_kwargs={"sqlite_autoincrement": True}):
            pass
