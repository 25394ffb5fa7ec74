"""Answers given in the call-out trainer. They are added, never changed; a sending counts once."""

from __future__ import annotations

from dataclasses import asdict

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from app.domain.words import say
from app.storage import rows, tables
from app.storage.missing import NotStored
from app.storage.records import CallOutRecord


class CallOutStore:
    """Answers of every skater, by the layout they are about."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def append(self, record: CallOutRecord) -> bool:
        """Add one answer; False when that sending has been counted before. Raises NotStored for an unknown skater."""
        if self._session.get(tables.Skater, record.skater_id) is None:
            raise NotStored(say("skater"), record.skater_id)
        self._session.add(tables.CallOut(**asdict(record)))
        try:
            self._session.commit()
        except IntegrityError:
            self._session.rollback()
            self.get(record.sending)
            return False
        return True

    def get(self, sending: str) -> CallOutRecord:
        """One answer. Raises NotStored."""
        found = self._session.exec(select(tables.CallOut).where(tables.CallOut.sending == sending)).first()
        if found is None:
            raise NotStored(say("answer"), sending)
        return rows.call_out(found)

    def of_skater(self, skater_id: int) -> tuple[CallOutRecord, ...]:
        """Every answer of a skater, in order."""
        table = tables.CallOut
        query = select(table).where(table.skater_id == skater_id)
        found = self._session.exec(query.order_by(col(table.answered_at), col(table.id)))
        return tuple(rows.call_out(row) for row in found)

    def of_program(self, skater_id: int, program: str) -> tuple[CallOutRecord, ...]:
        """Every answer to one layout's calls, in order; `program` is the layout's fingerprint."""
        table = tables.CallOut
        query = select(table).where(table.skater_id == skater_id, table.program == program)
        found = self._session.exec(query.order_by(col(table.answered_at), col(table.id)))
        return tuple(rows.call_out(row) for row in found)
