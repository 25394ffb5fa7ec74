"""Skaters and their trained elements."""

from __future__ import annotations

from dataclasses import asdict

from sqlmodel import Session, col, select

from app.domain.words import say
from app.errors import InputError
from app.storage import rows, tables
from app.storage.attempt_store import AttemptStore
from app.storage.missing import NotStored
from app.storage.records import SkaterRecord, TrainedRecord


class SkaterStore:
    """Skaters, and for each the elements with their logged attempts."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def all(self) -> tuple[SkaterRecord, ...]:
        """Every skater, by name."""
        found = self._session.exec(select(tables.Skater).order_by(tables.Skater.name))
        return tuple(rows.skater(row) for row in found)

    def get(self, skater_id: int) -> SkaterRecord:
        """One skater. Raises NotStored."""
        row = self._session.get(tables.Skater, skater_id)
        if row is None:
            raise NotStored(say("skater"), skater_id)
        return rows.skater(row)

    def add(self, name: str, invented: bool = False) -> SkaterRecord:
        """A new skater. Initials will do; a name is never needed."""
        if not name.strip():
            raise InputError(say("name"), say("nothing given; expected initials or a name"))
        row = tables.Skater(name=name.strip(), invented=invented)
        self._session.add(row)
        self._session.commit()
        return rows.skater(row)

    def trained(self, skater_id: int) -> tuple[TrainedRecord, ...]:
        """The elements of one skater, ticked or not, by code and entry."""
        table = tables.TrainedElement
        query = select(table).where(table.skater_id == skater_id).order_by(table.code, table.entry)
        log = AttemptStore(self._session).summary(skater_id)
        return tuple(rows.trained(row, log.get((row.code, row.entry))) for row in self._session.exec(query))

    def save_trained(self, record: TrainedRecord) -> TrainedRecord:
        """Add (id 0) or replace an element. Raises NotStored; InputError when counts contradict each other.

        What the record's own `log` counts stays in the log; the rest is kept as the number the counting starts from.
        """
        attempts, landed = record.attempts - record.log.attempts, record.landed - record.log.landed
        if not 0 <= landed <= attempts:
            given = say("%(landed)s landed of %(attempts)s attempts", landed=landed, attempts=attempts)
            raise InputError(
                say("landed"),
                say("%(given)s given; expected between 0 and the number of attempts", given=given),
            )
        row = self._row(record)
        values = asdict(record) | {"attempts": attempts, "landed": landed}
        for name in ("code", "entry", "cue", "ready", "attempts", "landed", "outcomes", "last_logged"):
            setattr(row, name, list(values[name]) if name == "outcomes" else values[name])
        self._session.add(row)
        self._session.commit()
        return self._with_log(row)

    def _with_log(self, row: tables.TrainedElement) -> TrainedRecord:
        log = AttemptStore(self._session).summary(row.skater_id)
        return rows.trained(row, log.get((row.code, row.entry)))

    def _row(self, record: TrainedRecord) -> tables.TrainedElement:
        if record.id:
            row = self._session.get(tables.TrainedElement, record.id)
            if row is None:
                raise NotStored(say("element"), record.id)
            return row
        table = tables.TrainedElement
        same = select(table.id).where(
            col(table.skater_id) == record.skater_id, table.code == record.code, table.entry == record.entry
        )
        if self._session.exec(same).first() is not None:
            what = say(
                "%(code)s with entry %(entry)s is already in this skater's list; change it there"
                if record.entry
                else "%(code)s is already in this skater's list; change it there",
                code=record.code,
                entry=repr(record.entry),
            )
            raise InputError(say("code"), what)
        return table(skater_id=record.skater_id, code=record.code, outcomes=[])
