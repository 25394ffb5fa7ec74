"""Content sheets as they were handed in, so that an old one can be told from the layout of today."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session, col, select

from app.domain.words import say
from app.storage import rows, tables
from app.storage.missing import NotStored
from app.storage.records import ContentRecord


class ContentStore:
    """A sheet is never changed: a new one is handed in. It goes with its layout."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, layout_id: int, codes: tuple[str, ...], note: str, at: datetime) -> ContentRecord:
        """Keep what was handed in of a layout. `note`: to whom or for which event, in the user's words."""
        row = tables.ContentSheet(layout_id=layout_id, codes=list(codes), note=note, handed_in_at=at)
        self._session.add(row)
        self._session.commit()
        return _record(row)

    def of_layout(self, layout_id: int) -> tuple[ContentRecord, ...]:
        """The sheets of one layout, the latest first."""
        table = tables.ContentSheet
        query = select(table).where(table.layout_id == layout_id).order_by(col(table.id).desc())
        return tuple(_record(row) for row in self._session.exec(query))

    def get(self, sheet_id: int) -> ContentRecord:
        """One sheet. Raises NotStored."""
        return _record(self._row(sheet_id))

    def delete(self, sheet_id: int) -> None:
        """Forget a sheet. Raises NotStored."""
        self._session.delete(self._row(sheet_id))
        self._session.commit()

    def _row(self, sheet_id: int) -> tables.ContentSheet:
        row = self._session.get(tables.ContentSheet, sheet_id)
        if row is None:
            raise NotStored(say("content sheet"), sheet_id)
        return row


def _record(row: tables.ContentSheet) -> ContentRecord:
    return ContentRecord(rows.stored_id(row.id), row.layout_id, tuple(row.codes), row.note, row.handed_in_at)
