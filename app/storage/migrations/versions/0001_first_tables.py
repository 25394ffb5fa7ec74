"""First tables, and the triggers that keep the live log append-only."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

APPEND_ONLY = """
CREATE TRIGGER live_event_never_{verb} BEFORE {verb} ON live_event
BEGIN SELECT RAISE(ABORT, 'live_event is append-only: undo is an event, never a {verb}'); END
"""
ON_A_SERVER = (
    """
CREATE FUNCTION live_event_refuses_{verb}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'live_event is append-only: undo is an event, never a {verb}'; END $$
""",
    """
CREATE TRIGGER live_event_never_{verb} BEFORE {verb} ON live_event
FOR EACH ROW EXECUTE FUNCTION live_event_refuses_{verb}()
""",
)


def upgrade() -> None:
    """Create everything."""
    _skater_tables()
    _live_tables()
    _access_tables()
    statements = (APPEND_ONLY,) if op.get_bind().dialect.name == "sqlite" else ON_A_SERVER
    for verb in ("update", "delete"):
        for statement in statements:
            op.execute(statement.format(verb=verb))


def _skater_tables() -> None:
    op.create_table(
        "skater",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("invented", sa.Boolean, nullable=False),
    )
    op.create_table(
        "trained_element",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("skater_id", sa.Integer, sa.ForeignKey("skater.id", ondelete="CASCADE"), nullable=False),
        sa.Column("code", sa.String, nullable=False),
        sa.Column("entry", sa.String, nullable=False),
        sa.Column("ready", sa.Boolean, nullable=False),
        sa.Column("attempts", sa.Integer, nullable=False),
        sa.Column("landed", sa.Integer, nullable=False),
        sa.Column("outcomes", sa.JSON, nullable=False),
        sa.Column("last_logged", sa.Date, nullable=True),
        sa.UniqueConstraint("skater_id", "code", "entry"),
    )
    op.create_index("ix_trained_element_skater_id", "trained_element", ["skater_id"])
    op.create_table(
        "layout",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("skater_id", sa.Integer, sa.ForeignKey("skater.id", ondelete="CASCADE"), nullable=False),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("edition", sa.String, nullable=False),
        sa.Column("fingerprint", sa.String, nullable=False),
        sa.Column("items", sa.JSON, nullable=False),
    )
    op.create_index("ix_layout_skater_id", "layout", ["skater_id"])


def _live_tables() -> None:
    op.create_table(
        "live_program",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("skater_id", sa.Integer, sa.ForeignKey("skater.id"), nullable=False),
        sa.Column("layout_id", sa.Integer, sa.ForeignKey("layout.id", ondelete="SET NULL"), nullable=True),
        sa.Column("layout_name", sa.String, nullable=False),
        sa.Column("edition", sa.String, nullable=False),
        sa.Column("fingerprint", sa.String, nullable=False),
        sa.Column("items", sa.JSON, nullable=False),
        sa.Column("trained", sa.JSON, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("event", sa.String, nullable=False),
        sa.Column("threshold", sa.Float, nullable=False),
        sa.Column("most_changes", sa.Integer, nullable=False),
        sa.Column("harder_after_fall", sa.Boolean, nullable=False),
        sa.Column("advice_confirmed_at", sa.DateTime, nullable=True),
        sa.Column("started_at", sa.DateTime, nullable=False),
    )
    op.create_index("ix_live_program_skater_id", "live_program", ["skater_id"])
    op.create_table(
        "live_event",
        sa.Column("id", sa.String, primary_key=True, nullable=False),
        sa.Column("program_id", sa.Integer, sa.ForeignKey("live_program.id"), nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("at", sa.DateTime, nullable=False),
        sa.Column("author", sa.String, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("payload", sa.JSON, nullable=False),
        sa.UniqueConstraint("program_id", "seq"),
    )
    op.create_index("ix_live_event_program_id", "live_event", ["program_id"])


def _access_tables() -> None:
    op.create_table(
        "device",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("token_hash", sa.String, nullable=False, unique=True),
        sa.Column("paired_at", sa.DateTime, nullable=False),
        sa.Column("last_seen", sa.DateTime, nullable=True),
        sa.Column("revoked_at", sa.DateTime, nullable=True),
    )
    op.create_table(
        "pairing_code",
        sa.Column("id", sa.Integer, primary_key=True, nullable=False),
        sa.Column("code_hash", sa.String, nullable=False),
        sa.Column("created_at", sa.DateTime, nullable=False),
        sa.Column("expires_at", sa.DateTime, nullable=False),
        sa.Column("used_at", sa.DateTime, nullable=True),
        sa.Column("wrong_tries", sa.Integer, nullable=False),
    )
    op.create_index("ix_pairing_code_expires_at", "pairing_code", ["expires_at"])
    op.create_table(
        "setting",
        sa.Column("name", sa.String, primary_key=True, nullable=False),
        sa.Column("value", sa.String, nullable=False),
    )
