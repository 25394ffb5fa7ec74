"""The easy jumps of rehearsal drills. A sending counts once; undo leaves it out, nothing is lost."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, datetime

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select, update

from app.domain.words import say
from app.storage import rows, tables
from app.storage.missing import NotStored
from app.storage.records import DrillRecord


class DrillStore:
    """Drills of every skater. They are added and left out again, never changed."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def append(self, record: DrillRecord, at: datetime) -> bool:
        """Add one; False when that sending has been counted before. Raises NotStored for an unknown skater."""
        if self._session.get(tables.Skater, record.skater_id) is None:
            raise NotStored(say("skater"), record.skater_id)
        plain = asdict(record) | {"codes": list(record.codes)}
        self._session.add(tables.Drill(**plain, logged_at=at))
        try:
            self._session.commit()
        except IntegrityError:
            self._session.rollback()
            return False
        return True

    def undo(self, skater_id: int, sending: str) -> None:
        """Leave one out again. A second undo changes nothing. Raises NotStored."""
        table = tables.Drill
        mine = (col(table.skater_id) == skater_id, col(table.sending) == sending)
        found = self._session.execute(update(table).where(*mine).values(undone=True).returning(col(table.id)))
        known = found.first() is not None
        self._session.commit()
        if not known:
            raise NotStored(say("drill"), sending)

    def of_skater(self, skater_id: int, since: date | None = None) -> tuple[DrillRecord, ...]:
        """Every drill that counts, by day and then in order of logging; from the day `since` on."""
        table = tables.Drill
        query = select(table).where(table.skater_id == skater_id, col(table.undone).is_(False))
        if since is not None:
            query = query.where(table.day >= since)
        return tuple(
            rows.drill(row) for row in self._session.exec(query.order_by(col(table.day), col(table.id)))
        )
