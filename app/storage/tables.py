"""Every table, as SQLModel classes. Only this package sees them; the stores turn rows into records."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

from sqlalchemy import JSON, Column, DateTime, Dialect, Index, TypeDecorator, UniqueConstraint
from sqlmodel import Field, SQLModel


class UtcDateTime(TypeDecorator[datetime]):
    """Moments with their zone: SQLite forgets it, so they are stored in UTC and read back as UTC."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To the database: must carry a zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"moment without a time zone: {value!r}")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """From the database: in UTC."""
        return None if value is None else value.replace(tzinfo=UTC)


def new_key() -> str:
    """A name for a skater that no other installation gives."""
    return uuid4().hex


NUMBERS_ONCE = {"sqlite_autoincrement": True}
"""For tables whose numbers stand in addresses: the number of a deleted row is never given to another."""


class Skater(SQLModel, table=True):
    """A skater; `invented` for the demo. `key` is the same wherever an export of the skater is brought in."""

    __table_args__ = NUMBERS_ONCE

    id: int | None = Field(default=None, primary_key=True)
    key: str = Field(default_factory=new_key, index=True, unique=True)
    name: str
    invented: bool = False


class TrainedElement(SQLModel, table=True):
    """An element (with its entry) a skater trains, with counts from the log and outcome chances."""

    __tablename__ = "trained_element"
    __table_args__ = (UniqueConstraint("skater_id", "code", "entry"), NUMBERS_ONCE)

    id: int | None = Field(default=None, primary_key=True)
    skater_id: int = Field(foreign_key="skater.id", ondelete="CASCADE", index=True)
    code: str
    entry: str = ""
    cue: str = ""
    ready: bool = False
    attempts: int = 0
    landed: int = 0
    outcomes: list[dict[str, Any]] = Field(sa_type=JSON)
    last_logged: date | None = None


class Attempt(SQLModel, table=True):
    """One line of a skater's own log: `count` attempts at an element that ended alike. `undone`: left out again."""

    __table_args__ = (UniqueConstraint("sending", "line"), NUMBERS_ONCE)

    id: int | None = Field(default=None, primary_key=True)
    skater_id: int = Field(foreign_key="skater.id", ondelete="CASCADE", index=True)
    sending: str
    line: int
    code: str
    entry: str
    day: date
    place: str
    fate: str
    count: int
    undone: bool = False
    logged_at: datetime = Field(sa_type=UtcDateTime)


class CallOut(SQLModel, table=True):
    """One answer in the call-out trainer: what was called, what was picked, what was right then, how fast."""

    __tablename__ = "call_out"
    __table_args__ = (
        UniqueConstraint("sending"),
        Index("ix_call_out_skater_id_program", "skater_id", "program"),
    )

    id: int | None = Field(default=None, primary_key=True)
    skater_id: int = Field(foreign_key="skater.id", ondelete="CASCADE")
    sending: str
    program: str
    number: int
    kind: str
    jump: str
    answer: str
    right: str
    seconds: float
    rating: int
    answered_at: datetime = Field(sa_type=UtcDateTime)


class Drill(SQLModel, table=True):
    """The easy jumps of one rehearsal drill: no attempts at an element of the log. `undone`: left out again."""

    __table_args__ = (UniqueConstraint("sending"),)

    id: int | None = Field(default=None, primary_key=True)
    skater_id: int = Field(foreign_key="skater.id", ondelete="CASCADE", index=True)
    sending: str
    day: date
    program: str
    number: int
    failure: str
    jump: str
    codes: list[str] = Field(sa_type=JSON)
    undone: bool = False
    logged_at: datetime = Field(sa_type=UtcDateTime)


class Layout(SQLModel, table=True):
    """A planned program; `items` is a JSON list in skating order."""

    __table_args__ = NUMBERS_ONCE

    id: int | None = Field(default=None, primary_key=True)
    skater_id: int = Field(foreign_key="skater.id", ondelete="CASCADE", index=True)
    name: str
    edition: str
    fingerprint: str
    items: list[dict[str, Any]] = Field(sa_type=JSON)


class ContentSheet(SQLModel, table=True):
    """What was handed in of a layout: `codes` as the content sheet listed them on that day."""

    __tablename__ = "content_sheet"
    __table_args__ = NUMBERS_ONCE

    id: int | None = Field(default=None, primary_key=True)
    layout_id: int = Field(foreign_key="layout.id", ondelete="CASCADE", index=True)
    codes: list[str] = Field(sa_type=JSON)
    note: str = ""
    handed_in_at: datetime = Field(sa_type=UtcDateTime)


class OwnRulebook(SQLModel, table=True):
    """One version of a rulebook of the coach's own, as a file. A version is never changed."""

    __tablename__ = "own_rulebook"
    __table_args__ = (UniqueConstraint("slug", "version"),)

    id: int | None = Field(default=None, primary_key=True)
    slug: str
    version: int
    text: str
    made_at: datetime = Field(sa_type=UtcDateTime)


class KeptRulebook(SQLModel, table=True):
    """An edition as it was when a layout or a live program began to rest on it, whole, with its values."""

    __tablename__ = "kept_rulebook"

    edition: str = Field(primary_key=True)
    fingerprint: str = Field(primary_key=True)
    snapshot: dict[str, Any] = Field(sa_type=JSON)


class LiveProgram(SQLModel, table=True):
    """One program being skated; the plan is a snapshot, so later edits of the layout do not touch it."""

    __tablename__ = "live_program"
    __table_args__ = NUMBERS_ONCE

    id: int | None = Field(default=None, primary_key=True)
    skater_id: int = Field(foreign_key="skater.id", index=True)
    layout_id: int | None = Field(default=None, foreign_key="layout.id", ondelete="SET NULL", nullable=True)
    layout_name: str
    edition: str
    fingerprint: str
    items: list[dict[str, Any]] = Field(sa_type=JSON)
    trained: list[dict[str, Any]] = Field(sa_type=JSON)
    kind: str
    event: str = ""
    threshold: float
    most_changes: int
    harder_after_fall: bool
    after_fall_odds: bool = False
    second_half_odds: bool = False
    advice_confirmed_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    started_at: datetime = Field(sa_type=UtcDateTime)
    variants: list[dict[str, Any]] = Field(default_factory=list, sa_type=JSON)
    rehearsal: dict[str, Any] | None = Field(
        default=None, sa_column=Column(JSON(none_as_null=True), nullable=True)
    )


class Day(SQLModel, table=True):
    """A competition day, or a day of run-throughs, by the name its coach typed."""

    __table_args__ = NUMBERS_ONCE

    id: int | None = Field(default=None, primary_key=True)
    name: str
    kind: str
    made_at: datetime = Field(sa_type=UtcDateTime)


class DayStart(SQLModel, table=True):
    """One skater's start on a day; `layout_ids` are the agreed layouts A, B, C."""

    __tablename__ = "day_start"
    __table_args__ = NUMBERS_ONCE

    id: int | None = Field(default=None, primary_key=True)
    day_id: int = Field(foreign_key="day.id", ondelete="CASCADE", index=True)
    skater_id: int = Field(foreign_key="skater.id", ondelete="CASCADE")
    place: int
    layout_ids: list[int] = Field(sa_type=JSON)
    program_id: int | None = Field(
        default=None, foreign_key="live_program.id", ondelete="SET NULL", nullable=True, index=True
    )
    withdrawn: bool = False
    mark: str = ""


class LiveEvent(SQLModel, table=True):
    """The log. Rows are added, never changed or removed: triggers refuse it (see the first migration)."""

    __tablename__ = "live_event"
    __table_args__ = (UniqueConstraint("program_id", "seq"),)

    id: str = Field(primary_key=True)
    program_id: int = Field(foreign_key="live_program.id", index=True)
    seq: int
    at: datetime = Field(sa_type=UtcDateTime)
    author: str
    device: str = "laptop"
    role: str = "coach"
    made_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    kind: str
    payload: dict[str, Any] = Field(sa_type=JSON)


class OfficialSheet(SQLModel, table=True):
    """An official score sheet of one skater, without a name: `sheet` is JSON as `app.review.official` gives it."""

    __tablename__ = "official_sheet"
    __table_args__ = NUMBERS_ONCE

    id: int | None = Field(default=None, primary_key=True)
    skater_id: int | None = Field(
        default=None, foreign_key="skater.id", ondelete="CASCADE", nullable=True, index=True
    )
    program_id: int | None = Field(
        default=None, foreign_key="live_program.id", ondelete="SET NULL", nullable=True, index=True
    )
    edition: str
    note: str = ""
    sheet: dict[str, Any] = Field(sa_type=JSON)
    read_at: datetime = Field(sa_type=UtcDateTime)


class HandedOver(SQLModel, table=True):
    """What went out as a file or came in by one. `skater_id` empty: everything; `mark`: which file it was."""

    __tablename__ = "handed_over"

    id: int | None = Field(default=None, primary_key=True)
    skater_id: int | None = Field(
        default=None, foreign_key="skater.id", ondelete="CASCADE", nullable=True, index=True
    )
    at: datetime = Field(sa_type=UtcDateTime)
    kind: str
    given_to: str = ""
    mark: str = ""


class Device(SQLModel, table=True):
    """A paired phone; only the hash of its token is kept."""

    __table_args__ = NUMBERS_ONCE

    id: int | None = Field(default=None, primary_key=True)
    name: str
    token_hash: str = Field(unique=True)
    role: str = "coach"
    sees_advice: bool = True
    skater_key: str = ""
    """The key of the skater whose own phone it is: no number, which a later skater might be given again."""
    paired_at: datetime = Field(sa_type=UtcDateTime)
    last_seen: datetime | None = Field(default=None, sa_type=UtcDateTime)
    revoked_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class PairingCode(SQLModel, table=True):
    """A one-time code; only its hash is kept."""

    __tablename__ = "pairing_code"
    __table_args__ = (Index("ix_pairing_code_expires_at", "expires_at"),)

    id: int | None = Field(default=None, primary_key=True)
    code_hash: str
    role: str = "coach"
    skater_key: str = ""
    created_at: datetime = Field(sa_type=UtcDateTime)
    expires_at: datetime = Field(sa_type=UtcDateTime)
    used_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    wrong_tries: int = 0


class WorkerNote(SQLModel, table=True):
    """What one worker leaves for the others, sealed; gone after a day. Empty where one process does everything."""

    __tablename__ = "worker_note"

    kind: str = Field(primary_key=True)
    key: str = Field(primary_key=True)
    sealed: bytes
    at: datetime = Field(sa_type=UtcDateTime)


class Setting(SQLModel, table=True):
    """A coach's setting that differs from its default."""

    name: str = Field(primary_key=True)
    value: str
