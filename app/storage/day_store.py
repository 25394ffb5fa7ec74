"""Competition days: who starts in which order, with which layouts, and which live program is whose."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session, col, func, select

from app.domain.words import say
from app.storage import rows, tables
from app.storage.missing import NotStored
from app.storage.records import DayRecord, ProgramKind, StartMark, StartRecord


class DayStore:
    """Days and the starts of each. A start that has a live program is never removed."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, name: str, kind: ProgramKind, at: datetime) -> DayRecord:
        """A new day without skaters."""
        row = tables.Day(name=name, kind=kind, made_at=at)
        self._session.add(row)
        self._session.commit()
        return rows.day(row)

    def all(self) -> tuple[DayRecord, ...]:
        """Every day, the newest first."""
        query = select(tables.Day).order_by(col(tables.Day.id).desc())
        return tuple(rows.day(row) for row in self._session.exec(query))

    def get(self, day_id: int) -> DayRecord:
        """One day. Raises NotStored."""
        row = self._session.get(tables.Day, day_id)
        if row is None:
            raise NotStored(say("day"), day_id)
        return rows.day(row)

    def starts(self, day_id: int) -> tuple[StartRecord, ...]:
        """The starts of a day in their order."""
        return tuple(rows.start(row) for row in self._rows(day_id))

    def start(self, day_id: int, start_id: int) -> StartRecord:
        """One start of that day. Raises NotStored."""
        return rows.start(self._row(day_id, start_id))

    def of_program(self, program_id: int) -> StartRecord | None:
        """The start a live program belongs to; None: it was started by itself."""
        query = select(tables.DayStart).where(tables.DayStart.program_id == program_id)
        row = self._session.exec(query).first()
        return None if row is None else rows.start(row)

    def add_start(self, day_id: int, skater_id: int, layout_ids: tuple[int, ...]) -> StartRecord:
        """One more skater, at the end of the order. Raises NotStored."""
        self.get(day_id)
        last = self._session.exec(
            select(func.max(tables.DayStart.place)).where(tables.DayStart.day_id == day_id)
        ).one()
        row = tables.DayStart(
            day_id=day_id, skater_id=skater_id, place=(last or 0) + 1, layout_ids=list(layout_ids)
        )
        self._session.add(row)
        self._session.commit()
        return rows.start(row)

    def agree(self, day_id: int, start_id: int, layout_ids: tuple[int, ...]) -> StartRecord:
        """Other layouts A, B, C for a start. Raises NotStored."""
        row = self._row(day_id, start_id)
        row.layout_ids = list(layout_ids)
        self._session.commit()
        return rows.start(row)

    def withdraw(self, day_id: int, start_id: int, withdrawn: bool) -> None:
        """The skater does not start, or does after all. Raises NotStored."""
        self._row(day_id, start_id).withdrawn = withdrawn
        self._session.commit()

    def mark(self, day_id: int, start_id: int, mark: StartMark) -> None:
        """What the coach says about a start. Raises NotStored."""
        self._row(day_id, start_id).mark = mark
        self._session.commit()

    def move(self, day_id: int, start_id: int, by: int) -> None:
        """So many places later (negative: earlier); at the ends of the order it stays. Raises NotStored."""
        moved = self._row(day_id, start_id)
        order = self._rows(day_id)
        here = order.index(moved)
        order.insert(min(max(here + by, 0), len(order) - 1), order.pop(here))
        for place, row in enumerate(order, start=1):
            row.place = place
        self._session.commit()

    def close_gaps(self) -> None:
        """Number the starts of every day through again, after some have gone."""
        for day in self.all():
            for place, row in enumerate(self._rows(day.id), start=1):
                row.place = place
        self._session.commit()

    def remove(self, day_id: int, start_id: int) -> bool:
        """Take a start out that was added by mistake; False and untouched when it has a live program."""
        row = self._row(day_id, start_id)
        if row.program_id is not None:
            return False
        self._session.delete(row)
        self._session.commit()
        return True

    def confirmed(self, day_id: int) -> datetime | None:
        """When advice was confirmed for this day, in any of its programs; once is enough."""
        table, start = tables.LiveProgram, tables.DayStart
        query = select(func.min(table.advice_confirmed_at)).where(
            table.id == start.program_id, start.day_id == day_id
        )
        return self._session.exec(query).one()

    def _rows(self, day_id: int) -> list[tables.DayStart]:
        table = tables.DayStart
        query = select(table).where(table.day_id == day_id).order_by(col(table.place), col(table.id))
        return list(self._session.exec(query))

    def _row(self, day_id: int, start_id: int) -> tables.DayStart:
        row = self._session.get(tables.DayStart, start_id)
        if row is None or row.day_id != day_id:
            raise NotStored(say("start"), start_id)
        return row
