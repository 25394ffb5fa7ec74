"""Official score sheets that were kept."""

from __future__ import annotations

from sqlmodel import Session, col, desc, or_, select

from app.domain.words import say
from app.storage import tables
from app.storage.missing import NotStored
from app.storage.records import SheetRecord
from app.storage.rows import stored_id


class SheetStore:
    """Sheets of one skater each; nobody's name is in them."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, record: SheetRecord) -> SheetRecord:
        """Keep a sheet."""
        row = tables.OfficialSheet(
            skater_id=record.skater_id,
            program_id=record.program_id,
            edition=record.edition,
            note=record.note,
            sheet=dict(record.sheet),
            read_at=record.read_at,
        )
        self._session.add(row)
        self._session.commit()
        return _record(row)

    def get(self, sheet_id: int) -> SheetRecord:
        """One sheet. Raises NotStored."""
        return _record(self._row(sheet_id))

    def of_program(self, program_id: int) -> tuple[SheetRecord, ...]:
        """The sheets added to one live program, the latest first."""
        query = select(tables.OfficialSheet).where(tables.OfficialSheet.program_id == program_id)
        return tuple(
            _record(row) for row in self._session.exec(query.order_by(desc(tables.OfficialSheet.id)))
        )

    def of_skater(self, skater_id: int) -> tuple[SheetRecord, ...]:
        """The sheets of one skater, the earliest first: those kept for them, and those added to their programs."""
        sheet, program = tables.OfficialSheet, tables.LiveProgram
        query = (
            select(sheet)
            .join(program, col(program.id) == col(sheet.program_id), isouter=True)
            .where(or_(col(sheet.skater_id) == skater_id, col(program.skater_id) == skater_id))
            .order_by(col(sheet.id))
        )
        return tuple(_record(row) for row in self._session.exec(query))

    def recent(self, limit: int = 20) -> tuple[SheetRecord, ...]:
        """The latest sheets."""
        query = select(tables.OfficialSheet).order_by(desc(tables.OfficialSheet.id)).limit(limit)
        return tuple(_record(row) for row in self._session.exec(query))

    def delete(self, sheet_id: int) -> None:
        """Forget a sheet. Raises NotStored."""
        self._session.delete(self._row(sheet_id))
        self._session.commit()

    def _row(self, sheet_id: int) -> tables.OfficialSheet:
        row = self._session.get(tables.OfficialSheet, sheet_id)
        if row is None:
            raise NotStored(say("sheet"), sheet_id)
        return row


def _record(row: tables.OfficialSheet) -> SheetRecord:
    return SheetRecord(
        edition=row.edition,
        sheet=row.sheet,
        read_at=row.read_at,
        skater_id=row.skater_id,
        program_id=row.program_id,
        note=row.note,
        id=stored_id(row.id),
    )
