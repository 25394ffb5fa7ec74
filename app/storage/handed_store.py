"""What was handed over as a file, in and out, so that it can be shown to the people it is about."""

from __future__ import annotations

from dataclasses import asdict
from typing import cast

from sqlmodel import Session, col, or_, select
from sqlmodel.sql.expression import SelectOfScalar

from app.storage import tables
from app.storage.records import HandedKind, HandedRecord


class HandedStore:
    """The list is added to; a skater's entries go with the skater."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, record: HandedRecord) -> None:
        """Note one file."""
        self._session.add(tables.HandedOver(**asdict(record)))
        self._session.commit()

    def of_skater(self, skater_id: int) -> tuple[HandedRecord, ...]:
        """Files with this skater in them, those with everything included, the latest first."""
        table = tables.HandedOver
        mine = or_(col(table.skater_id) == skater_id, col(table.skater_id).is_(None))
        return self._read(select(table).where(mine).order_by(col(table.id).desc()))

    def all(self) -> tuple[HandedRecord, ...]:
        """Every file, the latest first."""
        return self._read(select(tables.HandedOver).order_by(col(tables.HandedOver.id).desc()))

    def _read(self, query: SelectOfScalar[tables.HandedOver]) -> tuple[HandedRecord, ...]:
        return tuple(_record(row) for row in self._session.exec(query))


def _record(row: tables.HandedOver) -> HandedRecord:
    return HandedRecord(row.at, cast(HandedKind, row.kind), row.skater_id, row.given_to, row.mark)
