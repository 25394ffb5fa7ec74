"""Live programs and their append-only log."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any, TypedDict, Unpack

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, func, select

from app.domain.words import say
from app.errors import ProgramError
from app.storage import rows, tables
from app.storage.missing import NotStored
from app.storage.records import EnteredEvent, LiveProgramRecord, LoggedEvent, Role
from app.storage.rulebook_store import keep
from app.storage.writing import alone

PASS_KINDS = ("pass skated", "pass left out", "inserted", "corrected")
"""Events about a pass, by name (`app.live.events`); a test holds them together."""
KEPT_AT_RENEWAL = frozenset({"skater_id", "kind", "event", "started_at", "advice_confirmed_at"})


class Stamp(TypedDict, total=False):
    """Where an event comes from beside its author: the device, the role it had, its own clock."""

    device: str
    role: Role
    made_at: datetime | None


class LiveStore:
    """Programs being skated. Their events are added one by one and never changed."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def start(self, record: LiveProgramRecord, start_id: int | None = None) -> LiveProgramRecord:
        """Open a live program; its plan and trained elements are kept as they are now.

        `start_id`: for that start of a day, which has one program for good: two phones that open it get the same one.
        """
        if start_id is None:
            row = self._insert_program(record)
            self._session.commit()
            return rows.program(row)
        with alone(self._session, "start", start_id):
            start = self._session.get(tables.DayStart, start_id, populate_existing=True)
            if start is None:
                raise NotStored(say("start"), start_id)
            if start.program_id is not None:
                return self.program(start.program_id)
            row = self._insert_program(record)
            start.program_id = row.id
        return rows.program(row)

    def enter(self, record: LiveProgramRecord, events: Sequence[EnteredEvent]) -> LiveProgramRecord:
        """A program with all its events at one moment, or not at all; entered before, the program it became then.

        `events`: at least one. Raises ProgramError when the id of a later one stands in another program's log.
        """
        with alone(self._session):
            known = self._session.get(tables.LiveEvent, events[0].id, populate_existing=True)
            if known is not None:
                return self.program(known.program_id)
            row = self._insert_program(record)
            for seq, one in enumerate(events, start=1):
                if self._session.get(tables.LiveEvent, one.id) is not None:
                    raise ProgramError(
                        say("event"), say("%(id)s is already in the log of another program", id=repr(one.id))
                    )
                self._session.add(tables.LiveEvent(program_id=rows.stored_id(row.id), seq=seq, **asdict(one)))
        return rows.program(row)

    def _insert_program(self, record: LiveProgramRecord) -> tables.LiveProgram:
        row = tables.LiveProgram(**_plain(record))
        self._session.add(row)
        keep(self._session, record.edition, record.fingerprint)
        self._session.flush()
        return row

    def renew(self, program_id: int, record: LiveProgramRecord) -> bool:
        """Take layouts, elements and limits anew, as long as no pass was ever logged; whether that could be done."""
        table = tables.LiveEvent
        query = select(func.count()).where(table.program_id == program_id, col(table.kind).in_(PASS_KINDS))
        with alone(self._session, "program", program_id):
            row = self._row(program_id)
            if self._session.exec(query).one():
                return False
            for name, value in _plain(record).items():
                if name not in KEPT_AT_RENEWAL:
                    setattr(row, name, value)
            keep(self._session, record.edition, record.fingerprint)
        return True

    def touched(self, since: datetime) -> tuple[LiveProgramRecord, ...]:
        """Programs with something logged since then, the latest entry first."""
        table = tables.LiveEvent
        latest = func.max(table.at)
        query = (
            select(table.program_id)
            .where(table.at >= since)
            .group_by(col(table.program_id))
            .order_by(latest.desc())
        )
        return tuple(self.program(found) for found in self._session.exec(query))

    def program(self, program_id: int) -> LiveProgramRecord:
        """One live program. Raises NotStored."""
        return rows.program(self._row(program_id))

    def holds(self, program_id: int) -> bool:
        """Whether there is that program."""
        query = select(tables.LiveProgram.id).where(tables.LiveProgram.id == program_id)
        return self._session.exec(query).first() is not None

    def latest(self, program_id: int) -> tuple[int, str]:
        """Number and id of the last entry of a log, 0 and "" when there is none. Raises NotStored."""
        table = tables.LiveEvent
        query = select(table.seq, table.id).where(table.program_id == program_id)
        found = self._session.exec(query.order_by(col(table.seq).desc()).limit(1)).first()
        if found is None:
            self._check(program_id)
        return found or (0, "")

    def recent(self, skater_id: int | None = None, limit: int = 20) -> tuple[LiveProgramRecord, ...]:
        """The latest programs, newest first."""
        table = tables.LiveProgram
        query = select(table).order_by(col(table.started_at).desc(), col(table.id).desc()).limit(limit)
        if skater_id is not None:
            query = query.where(table.skater_id == skater_id)
        return tuple(rows.program(row) for row in self._session.exec(query))

    def between(self, skater_id: int, start: datetime, end: datetime) -> tuple[LiveProgramRecord, ...]:
        """A skater's programs begun from `start` up to `end`, the earliest first."""
        table = tables.LiveProgram
        mine = (table.skater_id == skater_id, table.started_at >= start, table.started_at < end)
        query = select(table).where(*mine).order_by(col(table.started_at), col(table.id))
        return tuple(rows.program(row) for row in self._session.exec(query))

    def lengths(self, skater_id: int) -> Mapping[int, int]:
        """How many events each of a skater's programs has; one without any is not there."""
        event, program = tables.LiveEvent, tables.LiveProgram
        query = (
            select(event.program_id, func.count())
            .join(program, col(program.id) == col(event.program_id))
            .where(program.skater_id == skater_id)
            .group_by(col(event.program_id))
        )
        return dict(self._session.exec(query).all())

    def begun(self, skater_id: int) -> tuple[datetime, ...]:
        """When each of a skater's programs began, the earliest first."""
        table = tables.LiveProgram
        query = select(table.started_at).where(table.skater_id == skater_id).order_by(col(table.started_at))
        return tuple(self._session.exec(query))

    def rehearsals(self, skater_id: int) -> tuple[LiveProgramRecord, ...]:
        """A skater's run-throughs in which failures were called, the earliest first."""
        table = tables.LiveProgram
        query = select(table).where(table.skater_id == skater_id, col(table.rehearsal).is_not(None))
        return tuple(rows.program(row) for row in self._session.exec(query.order_by(col(table.started_at))))

    def confirm_advice(self, program_id: int, at: datetime) -> LiveProgramRecord:
        """The user has confirmed that this event's rules allow advice. The first confirmation stays."""
        row = self._row(program_id)
        if row.advice_confirmed_at is None:
            row.advice_confirmed_at = at
            self._session.commit()
        return rows.program(row)

    def append(
        self,
        program_id: int,
        event_id: str,
        at: datetime,
        author: str,
        kind: str,
        payload: Mapping[str, Any],
        **stamp: Unpack[Stamp],
    ) -> LoggedEvent:
        """Add one event at the end of the log; an id already there returns the entry it has.

        Raises NotStored, and ProgramError when the id belongs to another program.
        """
        self._check(program_id)
        try:
            # The write lock before the last number is read: two phones never get the same one.
            with alone(self._session, "program", program_id):
                known = self._session.get(tables.LiveEvent, event_id, populate_existing=True)
                if known is None:
                    known = tables.LiveEvent(
                        id=event_id,
                        program_id=program_id,
                        seq=self._last(program_id) + 1,
                        at=at,
                        author=author,
                        kind=kind,
                        payload=dict(payload),
                        **stamp,
                    )
                    self._session.add(known)
        except IntegrityError:
            # On a server two programs are written at the same time: the id has just come in with the other one.
            known = self._session.get_one(tables.LiveEvent, event_id)
        if known.program_id != program_id:
            raise ProgramError(
                say("event"),
                say("%(event_id)s is already in the log of another program", event_id=repr(event_id)),
            )
        return rows.event(known)

    def fill(self, log: Iterable[LoggedEvent]) -> None:
        """Add whole logs in one go, as they are; for the invented demo."""
        for one in log:
            self._session.add(tables.LiveEvent(**asdict(one)))
        self._session.commit()

    def events(self, program_id: int, after: int = 0) -> tuple[LoggedEvent, ...]:
        """The log in order, from the entry that follows number `after`."""
        table = tables.LiveEvent
        query = (
            select(table).where(table.program_id == program_id, table.seq > after).order_by(col(table.seq))
        )
        return tuple(rows.event(row) for row in self._session.exec(query))

    def _last(self, program_id: int) -> int:
        last = select(func.max(tables.LiveEvent.seq)).where(tables.LiveEvent.program_id == program_id)
        return self._session.exec(last).one() or 0

    def _check(self, program_id: int) -> None:
        """Raises NotStored."""
        table = tables.LiveProgram
        if self._session.exec(select(table.id).where(table.id == program_id)).first() is None:
            raise NotStored(say("program"), program_id)

    def _row(self, program_id: int) -> tables.LiveProgram:
        row = self._session.get(tables.LiveProgram, program_id)
        if row is None:
            raise NotStored(say("program"), program_id)
        return row


def _plain(record: LiveProgramRecord) -> dict[str, Any]:
    """The columns of a program, its id aside."""
    as_json = {
        "items": rows.items_json(record.items),
        "trained": [rows.trained_json(element) for element in record.trained],
        "variants": rows.variants_json(record.variants),
        "rehearsal": rows.rehearsal_json(record.rehearsal),
    }
    plain = {name: getattr(record, name) for name in tables.LiveProgram.model_fields if name != "id"}
    return plain | as_json
