"""Bringing an export file in: new numbers for everything, nothing that is here already is touched.

A skater is known by a key that is the same in every installation. One who is here already is left out, with all that
belongs to her or him; `again` brings a second copy in under a new key. All of it happens in one transaction: a row that
cannot be used anywhere in the file, and nothing has happened.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import IO, Any
from uuid import uuid4

from sqlalchemy import Table
from sqlmodel import Session, SQLModel, col, func, select

from app.domain.words import say
from app.errors import InputError, RecoupError
from app.rulebook.editions import edition
from app.rulebook.snapshot import from_snapshot
from app.storage import tables
from app.storage.belongings import SKATER
from app.storage.export_reading import FIELD, ExportFile, opened
from app.storage.portable import LINKS_IN_JSON, NEVER, check_event, table_named
from app.storage.rulebook_store import MOST_VERSIONS
from app.storage.setting_store import SettingStore
from app.storage.writing import alone

LEFT_OUT = ("handed_over",)
"""What was given out elsewhere is that installation's own list."""
GONE = 0
"""In place of a number: the row belongs to a skater who is left out."""
IDS_OF_EVENTS = frozenset({"of", "instead_of", "over", "keeps", "called"})
"""Keys of an event's payload that hold ids of events (`app.live.events`)."""


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """What came in: skaters with their new numbers, names of those who were here already, rows by table."""

    skaters: tuple[tuple[int, str], ...]
    known: tuple[str, ...]
    rows: Mapping[str, int]


def bring_in(session: Session, source: IO[bytes], now: datetime, *, again: bool = False) -> BroughtIn:
    """Bring an export file in. Raises InputError naming file and line; nothing has happened then.

    `again`: skaters who are here already come in a second time, beside themselves.
    """
    known = frozenset(SQLModel.metadata.tables) - frozenset(NEVER)
    file = opened(source, known)
    with alone(session):
        placing = _Placing(session, file, again)
        for table in SQLModel.metadata.sorted_tables:
            if table.name in known and table.name not in LEFT_OUT:
                placing.table(table)
        placing.empty_days()
        for number, _ in placing.skaters:
            note = tables.HandedOver(
                skater_id=number, at=now, kind="brought in", mark=file.manifest.export_id
            )
            session.add(note)
        return BroughtIn(tuple(placing.skaters), tuple(placing.known), dict(placing.counts))


@dataclass
class _Placing:
    """One file on its way in. `numbers`: by table, the old number of a row and the new one."""

    session: Session
    file: ExportFile
    again: bool
    skaters: list[tuple[int, str]] = field(default_factory=list)
    known: list[str] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    numbers: dict[str, dict[int, int]] = field(default_factory=dict)
    books: dict[str, str] = field(default_factory=dict)
    days: dict[int, dict[str, Any]] = field(default_factory=dict)
    salt: str = field(default_factory=lambda: uuid4().hex)

    def table(self, table: Table) -> None:
        """Every row of one table; the tables it points to have come in before."""
        place = {
            "skater": self._skater,
            "own_rulebook": self._book,
            "kept_rulebook": self._kept,
            "setting": self._setting,
            "day": self._day,
        }.get(table.name)
        for row in self.file.rows(table.name):
            if place is not None:
                place(row)
            else:
                self._row(table, row)

    def empty_days(self) -> None:
        """Days without any start come in last; those whose starts were all left out stay away."""
        for old, row in self.days.items():
            if not row["has_starts"]:
                self._day_here(old)

    def _skater(self, row: dict[str, Any]) -> None:
        here = self.session.exec(select(tables.Skater).where(tables.Skater.key == row["key"])).first()
        if here is not None and not self.again:
            self.known.append(here.name)
            self._numbers(SKATER)[row["id"]] = GONE
            return
        if here is not None:
            row["key"] = tables.new_key()
        if not row["name"].strip():
            raise InputError(FIELD, say("a skater without any name; expected initials at least"))
        number = self._insert(table_named(SKATER), row)
        self.skaters.append((number, row["name"]))

    def _row(self, table: Table, row: dict[str, Any]) -> None:
        """A row that belongs to somebody: its links by their new numbers, its names by names nobody has."""
        links = [(column, link.column.table.name) for column in table.columns for link in column.foreign_keys]
        if not all(self._linked(row, column.name, target, bool(column.nullable)) for column, target in links):
            if isinstance(row.get("id"), int):
                self._numbers(table.name)[row["id"]] = GONE
            return
        for (name, column_name), inside in LINKS_IN_JSON.items():
            if name == table.name:
                row[column_name] = self._linked_inside(row[column_name], inside)
        self._named(table.name, row)
        self._insert(table, row)

    def _named(self, table: str, row: dict[str, Any]) -> None:
        """What is called by a name: rulebooks by theirs here, the rest by names that nobody has."""
        if "edition" in row:
            row["edition"] = self._edition(row["edition"])
        if "sending" in row:
            row["sending"] = self._fresh(row["sending"])
        if table == "live_event":
            self._event(row)
        if table == "day_start":
            row["place"] = self._last_place(row["day_id"]) + 1

    def _linked(self, row: dict[str, Any], column: str, target: str, nullable: bool) -> bool:
        """Put the new number in; False: the row belongs to a skater who is left out."""
        old = row[column]
        if old is None:
            return True
        if target == "day" and old in self.days:
            self.days[old]["has_starts"] = True
            if row.get("skater_id") is not None and self._numbers(SKATER).get(row["skater_id"]) == GONE:
                return False
            row[column] = self._day_here(old)
            return True
        new = self._numbers(target).get(old)
        if new is None and not nullable:
            raise InputError(
                FIELD,
                say("a row points to %(target)s %(old)s, which is not in the file", target=target, old=old),
            )
        row[column] = new
        return new != GONE

    def _linked_inside(self, value: Sequence[Any], inside: Mapping[str, str]) -> list[Any]:
        if "" in inside:
            known = self._numbers(inside[""])
            return [known[one] for one in value if known.get(one)]
        changed = []
        for one in value:
            new = {key: self._numbers(target).get(one.get(key), GONE) for key, target in inside.items()}
            changed.append({**one, **new})
        return changed

    def _event(self, row: dict[str, Any]) -> None:
        try:
            check_event(row)
        except (RecoupError, KeyError, TypeError, ValueError) as error:
            raise InputError(
                FIELD, say("an entry of a log cannot be read: %(error)s", error=str(error)[:200])
            ) from error
        if row["device"] != "laptop":
            row["device"] = f"elsewhere-{row['device']}"  # its number may be that of another phone here
        if self.again:
            row["payload"] = self._ids_inside(row["payload"])
            row["id"] = self._fresh(row["id"])
        elif self.session.get(tables.LiveEvent, row["id"]) is not None:
            raise InputError(
                FIELD, say("its programs are here already, under another skater; bring it in as a copy")
            )

    def _ids_inside(self, payload: Mapping[str, Any]) -> dict[str, Any]:
        def changed(key: str, value: Any) -> Any:
            if isinstance(value, Mapping):
                return self._ids_inside(value)
            if key not in IDS_OF_EVENTS:
                return value
            if isinstance(value, list):
                return [self._fresh(one) for one in value]
            return self._fresh(value) if value else value

        return {key: changed(key, value) for key, value in payload.items()}

    def _book(self, row: dict[str, Any]) -> None:
        """A rulebook of one's own: the same one is used, another of that name becomes its next version."""
        table = tables.OwnRulebook
        mine = (table.slug == row["slug"], table.version == row["version"])
        here = self.session.exec(select(table).where(*mine)).first()
        old = f"own/{row['slug']}/{row['version']}/"
        if here is None or here.text != row["text"]:
            if self.session.exec(select(func.count()).select_from(table)).one() >= MOST_VERSIONS:
                raise InputError(
                    FIELD,
                    say(
                        "%(most_versions)s versions of own rulebooks are kept already; delete some",
                        most_versions=MOST_VERSIONS,
                    ),
                )
            if here is not None:
                last = self.session.exec(
                    select(func.max(table.version)).where(table.slug == row["slug"])
                ).one()
                row["version"] = (last or 0) + 1
            self._insert(table_named("own_rulebook"), row)
        self.books[old] = f"own/{row['slug']}/{row['version']}/"

    def _kept(self, row: dict[str, Any]) -> None:
        """An edition as it was: the very one its fingerprint names, for what is here may come to rest on it."""
        if from_snapshot(row["edition"], row["snapshot"]).fingerprint != row["fingerprint"]:
            raise InputError(
                FIELD, say("its kept rulebook %(row)s was changed after it was kept", row=row["edition"])
            )
        row["edition"] = self._renamed(row["edition"])
        if self.session.get(tables.KeptRulebook, (row["edition"], row["fingerprint"])) is None:
            self._insert(table_named("kept_rulebook"), row)

    def _setting(self, row: dict[str, Any]) -> None:
        """A setting nobody has changed here."""
        if self.session.get(tables.Setting, row["name"]) is None:
            SettingStore(self.session).check(row["name"], row["value"])
            self._insert(table_named("setting"), row)

    def _day(self, row: dict[str, Any]) -> None:
        self.days[row["id"]] = {**row, "has_starts": False}

    def _day_here(self, old: int) -> int:
        """The new number of a day: of the same one if it is here already."""
        known = self._numbers("day")
        if old not in known:
            table, row = (
                tables.Day,
                {key: value for key, value in self.days[old].items() if key != "has_starts"},
            )
            same = (table.name == row["name"], table.kind == row["kind"], table.made_at == row["made_at"])
            here = self.session.exec(select(table.id).where(*same)).first()
            known[old] = here if here is not None else self._insert(table_named("day"), row)
        return known[old]

    def _last_place(self, day_id: int) -> int:
        table = tables.DayStart
        return self.session.exec(select(func.max(table.place)).where(col(table.day_id) == day_id)).one() or 0

    def _edition(self, name: str) -> str:
        """The rulebook's name here. Raises InputError when there is no such rulebook."""
        new = self._renamed(name)
        if not any(new.startswith(one) for one in self.books.values()):
            try:
                edition(new)
            except RecoupError:
                raise InputError(
                    FIELD,
                    say("it rests on the rulebook %(name)s, which is not here; update Recoup", name=name),
                ) from None
        return new

    def _renamed(self, name: str) -> str:
        for old, new in self.books.items():
            if name.startswith(old):
                return new + name.removeprefix(old)
        return name

    def _fresh(self, name: str) -> str:
        """A name in place of one made elsewhere, the same for the same within this file."""
        return hashlib.sha256(f"{self.salt} {name}".encode()).hexdigest()[:32]

    def _numbers(self, table: str) -> dict[int, int]:
        return self.numbers.setdefault(table, {})

    def _insert(self, table: Table, row: Mapping[str, Any]) -> int:
        """Write a row; its new number, 0 where rows have none."""
        numbered = "id" in table.columns and table.columns["id"].type.python_type is int
        given = {key: value for key, value in row.items() if not (numbered and key == "id")}
        made = self.session.connection().execute(table.insert().values(**given))
        self.counts[table.name] = self.counts.get(table.name, 0) + 1
        if not numbered or made.inserted_primary_key is None:
            return 0
        number = int(made.inserted_primary_key[0])
        self._numbers(table.name)[row["id"]] = number
        return number
