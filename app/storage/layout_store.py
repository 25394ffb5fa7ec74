"""Layouts: planned programs."""

from __future__ import annotations

from collections.abc import Callable

from sqlmodel import Session, select

from app.domain.words import say
from app.storage import rows, tables
from app.storage.missing import NotStored
from app.storage.records import LayoutRecord
from app.storage.rulebook_store import keep
from app.storage.writing import alone


class LayoutStore:
    """Planned programs, saved with the edition they were planned under."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of_skater(self, skater_id: int) -> tuple[LayoutRecord, ...]:
        """The layouts of one skater, by name."""
        query = select(tables.Layout).where(tables.Layout.skater_id == skater_id).order_by(tables.Layout.name)
        return tuple(rows.layout(row) for row in self._session.exec(query))

    def get(self, layout_id: int) -> LayoutRecord:
        """One layout. Raises NotStored."""
        return rows.layout(self._row(layout_id))

    def save(self, record: LayoutRecord) -> LayoutRecord:
        """Add (id 0) or replace a layout. Raises NotStored."""
        items = rows.items_json(record.items)
        keep(self._session, record.edition, record.fingerprint)
        if record.id:
            row = self._row(record.id)
            row.name, row.edition, row.fingerprint = record.name, record.edition, record.fingerprint
            row.items = items
        else:
            row = tables.Layout(
                skater_id=record.skater_id,
                name=record.name,
                edition=record.edition,
                fingerprint=record.fingerprint,
                items=items,
            )
        self._session.add(row)
        self._session.commit()
        return rows.layout(row)

    def change(self, layout_id: int, change: Callable[[LayoutRecord], LayoutRecord]) -> LayoutRecord:
        """Replace a layout by what `change` makes of it; nobody else changes it meanwhile. Raises NotStored.

        Whatever `change` raises leaves the layout as it was.
        """
        with alone(self._session, "layout", layout_id):
            row = self._row(layout_id, anew=True)
            record = change(rows.layout(row))
            keep(self._session, record.edition, record.fingerprint)
            row.name, row.edition, row.fingerprint = record.name, record.edition, record.fingerprint
            row.items = rows.items_json(record.items)
        return rows.layout(row)

    def delete(self, layout_id: int) -> None:
        """Remove a layout; programs skated from it keep their snapshot. Raises NotStored."""
        self._session.delete(self._row(layout_id))
        self._session.commit()

    def _row(self, layout_id: int, *, anew: bool = False) -> tables.Layout:
        row = self._session.get(tables.Layout, layout_id, populate_existing=anew)
        if row is None:
            raise NotStored(say("layout"), layout_id)
        return row
