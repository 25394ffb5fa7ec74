"""From every schema ever released to the newest: every value is where it belongs, or nothing has happened."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from alembic import op
from sqlalchemy import inspect, text

from app.errors import StorageTrouble
from app.storage import migrating
from app.storage.backups import Backups, check
from app.storage.database import NEWEST, Database
from tests import databases
from tests.storage.old_schemas import DRAWN, RELEASED, expected, fill, old_database


def said(value: Any) -> Any:
    """A value the same way whatever the database gives: moments and days as text, JSON read, numbers for yes and no."""
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M:%S.%f")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str) and value.startswith(("[", "{")) and value != "[file]":
        return json.loads(value)
    if isinstance(value, bytes | memoryview):
        return bytes(value).decode()
    return int(value) if isinstance(value, bool) else value


def read(database: Database) -> dict[str, list[dict[str, Any]]]:
    """Every row of every table."""
    with database.engine.connect() as connection:
        tables = [name for name in inspect(connection).get_table_names() if name != "alembic_version"]
        return {
            table: [
                {name: said(value) for name, value in row.items()}
                for row in connection.execute(text(f'SELECT * FROM "{table}"')).mappings()
            ]
            for table in tables
        }


def in_order(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted(rows, key=lambda row: json.dumps(row, sort_keys=True))


def test_every_migration_has_its_schema_in_the_list() -> None:
    files = sorted(file.name[:4] for file in (migrating.MIGRATIONS / "versions").glob("[0-9]*.py"))
    assert files == list(RELEASED), "a new migration: add it to RELEASED, and its table or column to ROWS"


@pytest.fixture(scope="session")
def without_tables() -> Iterator[str]:
    """The address of a database on PostgreSQL for old tables; "" where tests run on SQLite."""
    if not databases.SERVER:
        yield ""
        return
    with databases.made("old") as address:
        yield address


@pytest.mark.usefixtures("on_server")  # it runs on a server as well, in a database without tables there
@pytest.mark.parametrize("version", RELEASED)
def test_data_of_every_released_schema_are_whole_in_the_newest(
    version: str, tmp_path: Path, without_tables: str
) -> None:
    database = Database(databases.bare(without_tables) if without_tables else tmp_path / "recoup.sqlite3")
    fill(database.engine, version)
    database.migrate()
    found = read(database)
    for table, rows in expected(version).items():
        wanted = [{name: said(value) for name, value in row.items()} for row in rows]
        there = found.pop(table)
        for row, drawn in zip(there, wanted, strict=False):
            for name in [name for name, value in drawn.items() if value == DRAWN]:
                assert len(row[name]) == 32, "a key of 32 signs"
                row[name] = DRAWN
        assert in_order(there) == in_order(wanted), table
    assert all(rows == [] for rows in found.values()), "tables that no row of old_schemas.py knows"
    database.close()


@pytest.mark.file_database
@pytest.mark.parametrize("version", RELEASED[:-1])
def test_a_copy_is_made_before_the_tables_change(version: str, tmp_path: Path) -> None:
    file = old_database(tmp_path / "recoup.sqlite3", version)
    database = Database(file)
    database.migrate()
    (copy,) = Backups(file).all()
    assert copy.reason == "before-update"
    assert migrating.version_of(Database(copy.file).engine, copy.file) == version
    database.migrate()
    assert len(Backups(file).all()) == 1, "nothing to update, nothing to copy"
    database.close()


@pytest.mark.file_database
def test_a_migration_that_fails_half_way_leaves_the_old_tables(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = old_database(tmp_path / "recoup.sqlite3", "0005")
    before = Database(file)
    rows = read(before)
    made = op.create_table

    def fails_at_the_last(name: str, *columns: Any, **more: Any) -> Any:
        if name == "call_out":
            raise RuntimeError("the power went")
        return made(name, *columns, **more)

    monkeypatch.setattr(op, "create_table", fails_at_the_last)
    database = Database(file)
    with pytest.raises(RuntimeError, match="power"):
        database.migrate()
    assert migrating.version_of(database.engine, file) == "0005"
    assert read(database) == rows
    monkeypatch.undo()
    database.migrate()
    assert migrating.version_of(database.engine, file) == NEWEST
    check(file)
    for one in (before, database):
        one.close()


@pytest.mark.file_database
def test_tables_of_a_newer_recoup_are_not_touched(tmp_path: Path) -> None:
    file = tmp_path / "recoup.sqlite3"
    database = Database(file)
    database.migrate()
    with database.engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    database.close()
    before = file.read_bytes()
    older = Database(file)
    with pytest.raises(
        StorageTrouble, match=r"newer Recoup \(tables 9999; .*Nothing was\s+touched\. Start the newer"
    ):
        older.migrate()
    older.close()
    assert file.read_bytes() == before
    assert sorted(one.name for one in tmp_path.iterdir()) == ["recoup.sqlite3"], "not even a copy"
