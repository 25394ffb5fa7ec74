"""A deleted skater is in no table, in no copy and in no byte of the data folder; everybody else is untouched."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import DatabaseError
from sqlmodel import SQLModel

from app.errors import StorageTrouble
from app.storage import erase as module
from app.storage.backups import Backups
from app.storage.belongings import belongings, shape_declared, shape_of_file
from app.storage.database import Database
from app.storage.erase import counted, erase_one, forget_skater, named_elsewhere
from app.storage.missing import NotStored
from app.storage.portable import NEVER, OF_EVERYBODY
from app.storage.stores import Stores, open_stores
from app.storage.talk import reading
from tests.storage.everything import NOON, fill

TABLES = "type = 'table' AND name NOT LIKE 'sqlite_%'"
NAME = "Quillfeather Xanthe"
OTHER = "Brambleworth Ondine"
NOBODYS = {*OF_EVERYBODY, *NEVER}
BY_KEY = {"device", "pairing_code"}
"""Tables that may name a skater by the key, without a foreign key: whose own phone it is."""


def owned() -> set[str]:
    """Every table that a foreign key, or a chain of them, leads from to a skater."""
    tables, found = SQLModel.metadata.tables, {"skater"}
    while True:
        more = {
            name
            for name, table in tables.items()
            if name not in found and any(key.column.table.name in found for key in table.foreign_keys)
        }
        if not more:
            return found
        found |= more


def opened(file: Path) -> closing[sqlite3.Connection]:
    return closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True))


def dump(file: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table; what SQLite keeps for itself is the last number of each."""
    with opened(file) as connection:
        names = [row[0] for row in connection.execute(f"SELECT name FROM sqlite_master WHERE {TABLES}")]
        return {
            name: sorted(connection.execute(f'SELECT * FROM "{name}"').fetchall(), key=repr) for name in names
        }


def rows_of(database: Database) -> dict[str, list[tuple[Any, ...]]]:
    """The same of a database in use, on a server too."""
    with database.engine.connect() as connection:
        return {
            name: sorted(
                (tuple(row) for row in connection.execute(sa.text(f'SELECT * FROM "{name}"'))), key=repr
            )
            for name in sa.inspect(connection).get_table_names()
        }


def holding(folder: Path, name: str) -> list[str]:
    """The files whose bytes have the name in them, in any of the ways a database may write text."""
    spellings = [name.encode(code) for code in ("utf-8", "utf-16-le", "utf-16-be")]
    return [
        str(file.relative_to(folder))
        for file in folder.rglob("*")
        if file.is_file() and any(one in file.read_bytes() for one in spellings)
    ]


def test_every_table_belongs_to_a_skater_or_holds_nothing_of_one() -> None:
    """A new table with something of a skater needs a foreign key to it; one without goes into OF_EVERYBODY."""
    assert owned() | NOBODYS == set(SQLModel.metadata.tables)
    assert not owned() & NOBODYS


def test_the_invented_skater_has_something_in_every_table(stores: Stores, database: Database) -> None:
    """A table missing here has to be filled in tests/storage/everything.py."""
    skater = fill(stores, NAME)
    assert set(counted(database, skater)) == owned() | BY_KEY


def test_every_table_that_names_a_skater_by_the_key_is_known() -> None:
    tables = SQLModel.metadata.tables.values()
    assert {one.name for one in tables if module.KEYED in one.columns} == BY_KEY


@pytest.fixture
def two(stores: Stores) -> tuple[int, int]:
    """The one to be deleted, and somebody else on the same day."""
    return fill(stores, NAME), fill(stores, OTHER, "Other cup")


@pytest.mark.file_database
def test_no_byte_of_a_deleted_skater_is_left_in_the_folder(
    two: tuple[int, int], database: Database, tmp_path: Path
) -> None:
    backups = Backups(database.file)
    backups.make("daily", NOON)
    backups.make("asked", NOON)
    assert len(holding(tmp_path, NAME)) >= 3  # the database or its log, and both copies
    erased = forget_skater(database, two[0])
    assert holding(tmp_path, NAME) == []
    assert set(erased.rows) == owned() | BY_KEY
    assert erased.copies == 2
    assert erased.copies_removed == ()
    # The other one is still wherever she was.
    assert len(holding(tmp_path, OTHER)) >= 3


def test_everybody_else_keeps_every_row(two: tuple[int, int], database: Database) -> None:
    with reading(database) as (talk, shape):
        rows = belongings(talk, shape, "skater", two[0]) | {"device": {1}, "pairing_code": {1}}
        mine = {
            table: [
                talk.execute(f'SELECT * FROM "{table}" WHERE {shape.keys[table]} = ?', (key,)).fetchone()
                for key in keys
            ]
            for table, keys in rows.items()
        }
    before = rows_of(database)
    forget_skater(database, two[0])
    after = rows_of(database)
    for table, there in before.items():
        assert after[table] == [row for row in there if row not in mine.get(table, [])], table
    assert NAME not in repr(after)
    assert OTHER in repr(after)


def test_the_log_still_refuses_to_be_changed_afterwards(two: tuple[int, int], database: Database) -> None:
    forget_skater(database, two[0])
    for sql in ("DELETE FROM live_event", "UPDATE live_event SET author = 'x'"):
        with database.engine.begin() as connection, pytest.raises(DatabaseError, match="append-only"):
            connection.execute(sa.text(sql))


@pytest.mark.file_database
def test_every_trigger_of_the_file_is_back_afterwards(two: tuple[int, int], database: Database) -> None:
    triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    with opened(database.file) as connection:
        before = connection.execute(triggers).fetchall()
    forget_skater(database, two[0])
    with opened(database.file) as connection:
        assert connection.execute(triggers).fetchall() == before
    assert len(before) >= 2


def test_nothing_is_deleted_when_something_goes_wrong(
    two: tuple[int, int], database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = rows_of(database)
    said = iter([set(), {("layout",)}])
    monkeypatch.setattr(module, "_loose_ends", lambda _: next(said))
    with pytest.raises(StorageTrouble, match="Nothing was deleted"):
        forget_skater(database, two[0])
    assert rows_of(database) == before
    with database.engine.begin() as connection, pytest.raises(DatabaseError, match="append-only"):
        connection.execute(sa.text("DELETE FROM live_event"))


def test_the_app_goes_on_while_somebody_is_deleted(two: tuple[int, int], database: Database) -> None:
    with open_stores(database) as reading:
        assert {one.name for one in reading.skaters.all()} == {NAME, OTHER}
        forget_skater(database, two[0])
    with open_stores(database) as reading:
        assert [one.name for one in reading.skaters.all()] == [OTHER]
        assert reading.skaters.add("C.D.").id


@pytest.mark.file_database
def test_traces_held_back_by_a_reader_are_said(
    two: tuple[int, int], database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "PATIENCE_SECONDS", 0.2)
    with opened(database.file) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM skater").fetchone()
        with pytest.raises(StorageTrouble, match="write-ahead log"):
            forget_skater(database, two[0])


def test_a_skater_who_is_not_there(database: Database) -> None:
    with pytest.raises(NotStored):
        forget_skater(database, 7)
    with pytest.raises(NotStored):
        erase_one(database, "layout", 7)


@pytest.mark.file_database
def test_a_damaged_copy_is_removed_whole(two: tuple[int, int], database: Database, tmp_path: Path) -> None:
    """It cannot be cleaned, and the name may be in it."""
    made = Backups(database.file).make("asked", NOON)
    content = bytearray(made.file.read_bytes())
    content[:64] = b"\0" * 64
    made.file.write_bytes(content)
    aside = database.file.with_name("recoup-damaged-20261120T120000.sqlite3")  # as a restore leaves it
    aside.write_bytes(content)
    assert forget_skater(database, two[0]).copies_removed == (made.name, aside.name)
    assert holding(tmp_path, NAME) == []


@pytest.mark.file_database
def test_a_copy_from_before_there_were_keys_goes_by_the_number(
    two: tuple[int, int], database: Database, tmp_path: Path
) -> None:
    made = Backups(database.file).make("before-update", NOON)
    with closing(sqlite3.connect(made.file)) as connection:
        connection.executescript(
            "DROP INDEX ix_skater_key; ALTER TABLE skater DROP COLUMN key; DROP TABLE handed_over"
        )
    forget_skater(database, two[0])
    assert holding(tmp_path, NAME) == []
    assert [row[1] for row in dump(made.file)["skater"]] == [OTHER]


@pytest.mark.file_database
def test_a_copy_with_another_skater_under_the_number_keeps_that_one(
    two: tuple[int, int], database: Database
) -> None:
    made = Backups(database.file).make("asked", NOON)
    with closing(sqlite3.connect(made.file)) as connection:
        connection.execute("UPDATE skater SET key = 'another' WHERE id = ?", (two[0],))
        connection.commit()
    forget_skater(database, two[0])
    assert len(dump(made.file)["skater"]) == 2


def test_where_the_name_stands_besides_is_found(
    two: tuple[int, int], stores: Stores, database: Database
) -> None:
    """Free text of everybody: the app says where, and the coach decides."""
    stores.days.add(f"First day of {NAME.lower()}", "run-through", NOON)
    stores.devices.add(f"{NAME}'s phone", "hash", datetime.now(UTC))
    forget_skater(database, two[0])
    assert set(named_elsewhere(database, NAME)) == {
        ("day", f"First day of {NAME.lower()}"),
        ("device", f"{NAME}'s phone"),
    }
    assert named_elsewhere(database, "100%_") == ()


@pytest.mark.parametrize("typed", ["ÉVA ÖTVÖS", "E\u0301va O\u0308tvo\u0308s", "éva ötvös"])
def test_a_name_with_accents_is_found_however_it_was_written(
    stores: Stores, database: Database, typed: str
) -> None:
    # SQLite's own lower() leaves É as it is, so the page said that the name stands nowhere else.
    stores.days.add(f"Day of {typed}", "run-through", NOON)
    assert named_elsewhere(database, "Éva Ötvös") == (("day", f"Day of {typed}"),)


def test_the_number_of_a_deleted_program_is_never_given_again(
    two: tuple[int, int], stores: Stores, database: Database
) -> None:
    # A tap that waited on a phone for the deleted program was logged in the next skater's.
    last = stores.live.recent()[0]
    erase_one(database, "live_program", last.id)
    forget_skater(database, two[1])
    with open_stores(database) as found:
        assert found.skaters.add("Next").id > max(two)
        again = found.live.start(replace(last, id=0, skater_id=two[0], layout_id=None))
    assert again.id > last.id


def program_of(database: Database, skater: int) -> int:
    with open_stores(database) as stores:
        (program,) = stores.live.recent(skater)
    return program.id


def test_one_program_goes_with_its_log_and_lets_the_rest_go(two: tuple[int, int], database: Database) -> None:
    before = rows_of(database)
    program = program_of(database, two[0])
    erased = erase_one(database, "live_program", program)
    assert dict(erased.rows) == {"live_program": 1, "live_event": 4}
    after = rows_of(database)
    for table in ("official_sheet", "day_start", "layout", "attempt", "skater"):
        assert len(after[table]) == len(before[table]), table
    with reading(database) as (talk, _):
        for table in ("official_sheet", "day_start"):
            sql = f"SELECT count(*) FROM {table} WHERE program_id = ?"
            assert talk.execute(sql, (program,)).fetchone() == (0,)


@pytest.mark.file_database
def test_one_program_goes_from_the_copies_too_when_asked(two: tuple[int, int], database: Database) -> None:
    copies = [Backups(database.file).make("asked", NOON) for _ in range(2)]
    program = program_of(database, two[0])
    with closing(
        sqlite3.connect(copies[0].file)
    ) as connection:  # another program that had this number before
        connection.execute(
            "UPDATE live_program SET started_at = '2020-01-01 00:00:00.000000' WHERE id = ?", (program,)
        )
        connection.commit()
    erase_one(database, "live_program", program, copies=True)
    assert [len(dump(one.file)["live_program"]) for one in copies] == [2, 1]


def strange_tables() -> Iterator[sa.Table]:
    """Tables as somebody might add them tomorrow."""
    made = sa.MetaData()
    sa.Table("skater", made, sa.Column("id", sa.Integer, primary_key=True))
    yield sa.Table(
        "lesson",
        made,
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("who", sa.ForeignKey("skater.id")),
    )
    yield sa.Table(
        "lesson_note",
        made,
        sa.Column("name", sa.String, primary_key=True),
        sa.Column("lesson", sa.ForeignKey("lesson.id", ondelete="SET NULL")),
        sa.Column("words", sa.String),
    )


@pytest.mark.file_database
def test_a_table_of_tomorrow_is_found_without_being_named(
    two: tuple[int, int], database: Database, tmp_path: Path
) -> None:
    with database.engine.begin() as connection:
        for table in strange_tables():
            table.create(connection)
        connection.exec_driver_sql("INSERT INTO lesson VALUES (1, ?), (2, ?)", two)
        notes = (f"note of {NAME}", 1, "x", f"note of {OTHER}", 2, "y")
        connection.exec_driver_sql("INSERT INTO lesson_note VALUES (?, ?, ?), (?, ?, ?)", notes)
    forget_skater(database, two[0])
    assert holding(tmp_path, NAME) == []
    after = dump(database.file)
    assert after["lesson"] == [(2, two[1])]
    assert len(after["lesson_note"]) == 1


@pytest.mark.file_database
def test_the_declared_tables_have_the_shape_of_the_file(database: Database) -> None:
    """A file is read as it is, a server as declared: both ways must find the same."""
    with opened(database.file) as connection:
        found = shape_of_file(connection)
    declared = shape_declared()
    assert set(found.links) == set(declared.links)
    assert dict(found.keys) == {**declared.keys, "alembic_version": found.keys["alembic_version"]}
    for table, columns in declared.columns.items():
        assert set(columns) == set(found.columns[table])
