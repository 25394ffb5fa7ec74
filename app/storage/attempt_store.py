"""The skater's own log: attempts as they were counted. A sending counts once; undo leaves it out, nothing is lost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date, datetime

from sqlmodel import Session, col, func, select, update

from app.chances.record import LANDED
from app.domain.words import say
from app.errors import InputError
from app.storage import rows, tables
from app.storage.missing import NotStored
from app.storage.records import IN_PROGRAMS, AttemptRecord, EntryRecord, LogCounts
from app.storage.writing import alone

ElementKey = tuple[str, str]
"""Code and entry: what one row of a skater's elements is."""


class AttemptStore:
    """Attempts of every skater. They are added and left out again, never changed."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def append(self, records: Sequence[AttemptRecord], at: datetime) -> bool:
        """Add the attempts of one sending, all or none; False when that sending has been counted before.

        Raises NotStored for an unknown skater, InputError when the sending's number belongs to other attempts.
        """
        skater_id, sending = _one_sending(records)
        if self._session.get(tables.Skater, skater_id) is None:
            raise NotStored(say("skater"), skater_id)
        # The write lock before looking: two sendings of one form never both count.
        with alone(self._session, "sending", sending):
            known = self._sent(sending)
            if not known:
                for record in records:
                    self._session.add(tables.Attempt(**asdict(record), logged_at=at))
        if known and known != tuple(records):
            raise InputError(
                say("sending"), say("this form has already been counted, with another result: undo it first")
            )
        return not known

    def undo(self, skater_id: int, sending: str) -> None:
        """Leave a whole sending out again. A second undo changes nothing. Raises NotStored."""
        table = tables.Attempt
        mine = (col(table.skater_id) == skater_id, col(table.sending) == sending)
        found = self._session.execute(update(table).where(*mine).values(undone=True).returning(col(table.id)))
        known = found.first() is not None
        self._session.commit()
        if not known:
            raise NotStored(say("attempt"), sending)

    def entries(self, skater_id: int, limit: int, start: int = 0) -> tuple[EntryRecord, ...]:
        """Lines from number `start` on, those left out included, the latest day first."""
        table = tables.Attempt
        query = select(table).where(table.skater_id == skater_id)
        found = self._session.exec(
            query.order_by(col(table.day).desc(), col(table.id).desc()).offset(start).limit(limit)
        )
        return tuple(EntryRecord(rows.stored_id(row.id), rows.attempt(row), row.undone) for row in found)

    def leave_out(self, skater_id: int, entry_id: int, *, left_out: bool) -> None:
        """Leave one line out, or count it again. Raises NotStored."""
        row = self._session.get(tables.Attempt, entry_id)
        if row is None or row.skater_id != skater_id:
            raise NotStored(say("attempt"), entry_id)
        row.undone = left_out
        self._session.commit()

    def of_skater(self, skater_id: int, since: date | None = None) -> tuple[AttemptRecord, ...]:
        """Every attempt that counts, by day and then in order of logging; from the day `since` on."""
        table = tables.Attempt
        query = select(table).where(table.skater_id == skater_id, col(table.undone).is_(False))
        if since is not None:
            query = query.where(table.day >= since)
        found = self._session.exec(query.order_by(col(table.day), col(table.id)))
        return tuple(rows.attempt(row) for row in found)

    def sendings(self, skater_id: int, begins: str) -> Mapping[str, bool]:
        """Numbers of sendings that begin so, in order, and whether each still counts."""
        table = tables.Attempt
        query = (
            select(table.sending, table.undone)
            .where(table.skater_id == skater_id, col(table.sending).startswith(begins, autoescape=True))
            .order_by(col(table.id))
        )
        return {sending: not undone for sending, undone in self._session.exec(query)}

    def last(self, skater_id: int, since: datetime) -> tuple[AttemptRecord, ...]:
        """The attempts of the last sending that still counts; empty when none came from the moment `since` on."""
        table = tables.Attempt
        counts = (table.skater_id == skater_id, col(table.undone).is_(False), table.logged_at >= since)
        newest = select(table.sending).where(*counts).order_by(col(table.id).desc()).limit(1)
        sending = self._session.exec(newest).first()
        return () if sending is None else self._sent(sending)

    def summary(self, skater_id: int) -> Mapping[ElementKey, LogCounts]:
        """What the log counts for each element with its entry."""
        table = tables.Attempt
        parts = (table.code, table.entry, table.place, table.fate)
        query = (
            select(*parts, func.sum(table.count), func.max(table.day))  # type: ignore[call-overload]
            .where(table.skater_id == skater_id, col(table.undone).is_(False))
            .group_by(*parts)
        )
        found: dict[ElementKey, LogCounts] = {}
        for code, entry, place, fate, count, day in self._session.exec(query):
            found[code, entry] = _more(found.get((code, entry), LogCounts()), place, fate, count, day)
        return found

    def _sent(self, sending: str) -> tuple[AttemptRecord, ...]:
        table = tables.Attempt
        query = select(table).where(table.sending == sending).order_by(col(table.line))
        return tuple(rows.attempt(row) for row in self._session.exec(query))


def _one_sending(records: Sequence[AttemptRecord]) -> tuple[int, str]:
    """Skater and number of the sending all these attempts belong to."""
    owners = {(record.skater_id, record.sending) for record in records}
    if len(owners) != 1:
        raise InputError(
            say("attempts"),
            say("%(count)s attempts given; expected at least one, of one skater", count=len(records)),
        )
    return owners.pop()


def _more(counts: LogCounts, place: str, fate: str, count: int, day: date) -> LogCounts:
    """The counts with `count` more attempts of one fate in one place."""
    landed = count * (fate in LANDED)
    in_programs = place in IN_PROGRAMS
    fates, program_fates = dict(counts.fates), dict(counts.program_fates)
    fates[fate] = fates.get(fate, 0) + count
    if in_programs:
        program_fates[fate] = program_fates.get(fate, 0) + count
    return LogCounts(
        attempts=counts.attempts + count,
        landed=counts.landed + landed,
        fates=fates,
        program_attempts=counts.program_attempts + count * in_programs,
        program_landed=counts.program_landed + landed * in_programs,
        program_fates=program_fates,
        last=max(day, counts.last or day),
    )
