"""Deleting for good: a skater with every row of every table, or one thing alone; from the database and from its copies.

`erase` works on a plain connection to a file of any age. The log of a live program refuses to be changed (see the first
migration): for a deletion, and for nothing else, its triggers are taken down and put up again within the transaction.

Nothing stays behind in the files: SQLite overwrites what is deleted (`secure_delete`), the file is written anew without
its unused pages (`VACUUM`), and the write-ahead log is emptied into it (`wal_checkpoint(TRUNCATE)`).
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from app.errors import StorageTrouble
from app.storage.backups import Backups
from app.storage.belongings import SKATER, Rows, belongings, in_turn, links_of, tables_of
from app.storage.missing import NotStored
from app.storage.trouble import in_words

WAIT_SECONDS = 30
SHORT = 200
"""Letters of a text that somebody may have typed a name into; files and hashes are longer."""
PATIENCE_SECONDS = 10.0
"""How long readers may keep the write-ahead log from being emptied."""


@dataclass(frozen=True, slots=True)
class Erased:
    """What went: rows by table, how many copies were cleaned, the names of damaged copies that were removed whole."""

    rows: Mapping[str, int] = field(default_factory=dict)
    copies: int = 0
    copies_removed: tuple[str, ...] = ()


def forget_skater(file: Path, skater_id: int) -> Erased:
    """Delete a skater from a database file and from every copy of it. Raises NotStored, StorageTrouble.

    The copies come first: whatever goes wrong there, the skater still stands on the page to be deleted again. A copy
    that is damaged cannot be cleaned and is removed whole.
    """
    with in_words(file), closing(_opened(file)) as connection:
        key = _key_of(connection, skater_id)
        backups = Backups(file)
        removed = _clean(backups, skater_id, key)
        cleaned = len(backups.all())
        gone = _erase_here(connection, SKATER, skater_id)
        # A copy made meanwhile still has the skater.
        removed += _clean(backups, skater_id, key) + _damaged_removed(file)
        return Erased(gone, cleaned, removed)


def erase_one(file: Path, table: str, row: int) -> Erased:
    """Delete one thing with what cannot be without it, in the database alone: a program, a layout, a day.

    Copies keep it until they are let go of, or until its skater is deleted. Raises NotStored, StorageTrouble.
    """
    with in_words(file), closing(_opened(file)) as connection:
        if not connection.execute(f'SELECT 1 FROM "{table}" WHERE rowid = ?', (row,)).fetchone():
            raise NotStored(table.replace("_", " "), row)
        return Erased(_erase_here(connection, table, row))


def erase(connection: sqlite3.Connection, rows: Rows) -> Mapping[str, int]:
    """Delete these rows, inside the caller's transaction; what points to them and may let go is let go of."""
    put_up = _take_down(connection, rows)
    for link in links_of(connection):
        if not link.lets_go or link.target not in rows:
            continue
        for marks, some in in_turn(rows[link.target]):
            connection.execute(
                f'UPDATE "{link.table}" SET "{link.column}" = NULL WHERE "{link.column}" IN '
                f'(SELECT "{link.key}" FROM "{link.target}" WHERE rowid IN ({marks}))',
                some,
            )
    for table, numbers in rows.items():
        for marks, some in in_turn(numbers):
            connection.execute(f'DELETE FROM "{table}" WHERE rowid IN ({marks})', some)
    for sql in put_up:
        connection.execute(sql)
    return {table: len(numbers) for table, numbers in rows.items()}


def eraser_of(skater_id: int, key: str) -> Callable[[sqlite3.Connection], None]:
    """The change for one copy: `key` names the skater where the copy has keys; copies made before go by the number."""

    def change(connection: sqlite3.Connection) -> None:
        if SKATER not in tables_of(connection):
            return
        columns = {str(row[1]) for row in connection.execute(f'PRAGMA table_info("{SKATER}")')}
        column, given = ("key", key) if "key" in columns else ("id", str(skater_id))
        for (row,) in connection.execute(
            f'SELECT rowid FROM "{SKATER}" WHERE "{column}" = ?', (given,)
        ).fetchall():
            erase(connection, belongings(connection, SKATER, int(row)))

    return change


def wipe(connection: sqlite3.Connection) -> None:
    """Write the file anew without unused pages and empty the write-ahead log. Raises StorageTrouble."""
    connection.execute("VACUUM")
    until = time.monotonic() + PATIENCE_SECONDS
    while connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]:
        if time.monotonic() > until:
            raise StorageTrouble(
                "It is deleted, but traces are still in the write-ahead log because another page is reading. "
                "They go when Recoup is stopped."
            )
        time.sleep(0.05)


def mentions(connection: sqlite3.Connection, words: str) -> tuple[tuple[str, str], ...]:
    """(table, text) of every text outside what belongs to a skater that has these words in it, whatever their case."""
    found = []
    owned = {SKATER} | {one.table for one in links_of(connection) if one.target == SKATER}
    for table in tables_of(connection):
        if table in owned:
            continue
        for column, kind in [
            (str(row[1]), str(row[2])) for row in connection.execute(f'PRAGMA table_info("{table}")')
        ]:
            if not kind.upper().startswith(("VARCHAR", "TEXT", "STRING")):
                continue
            there = f'instr(lower("{column}"), lower(?)) AND length("{column}") <= {SHORT}'
            sql = f'SELECT "{column}" FROM "{table}" WHERE {there}'
            found += [(table, str(row[0])) for row in connection.execute(sql, (words,))]
    return tuple(found)


def named_elsewhere(file: Path, words: str) -> tuple[tuple[str, str], ...]:
    """`mentions`, of a file."""
    with in_words(file), closing(_opened(file)) as connection:
        return mentions(connection, words) if len(words.strip()) > 1 else ()


def counted(file: Path, skater_id: int) -> Mapping[str, int]:
    """How many rows of each table belong to a skater. Raises NotStored."""
    with in_words(file), closing(_opened(file)) as connection:
        _key_of(connection, skater_id)
        return {table: len(rows) for table, rows in belongings(connection, SKATER, skater_id).items()}


def _opened(file: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(file, timeout=WAIT_SECONDS, isolation_level=None)
    for pragma in ("secure_delete=ON", "temp_store=MEMORY", "synchronous=FULL", "foreign_keys=OFF"):
        connection.execute(f"PRAGMA {pragma}")
    return connection


def _key_of(connection: sqlite3.Connection, skater_id: int) -> str:
    found = connection.execute(f'SELECT "key" FROM "{SKATER}" WHERE id = ?', (skater_id,)).fetchone()
    if found is None:
        raise NotStored("skater", skater_id)
    return str(found[0])


def _erase_here(connection: sqlite3.Connection, table: str, row: int) -> Mapping[str, int]:
    connection.execute("BEGIN IMMEDIATE")
    try:
        before = _loose_ends(connection)
        gone = erase(connection, belongings(connection, table, row))
        broken = _loose_ends(connection) - before
        if broken:
            raise StorageTrouble(
                f"Nothing was deleted: {broken.pop()[0]} would point to something that is gone."
            )
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    wipe(connection)
    return gone


def _loose_ends(connection: sqlite3.Connection) -> set[tuple[object, ...]]:
    """Rows that point to nothing, as SQLite finds them."""
    return set(connection.execute("PRAGMA foreign_key_check").fetchall())


def _clean(backups: Backups, skater_id: int, key: str) -> tuple[str, ...]:
    damaged = backups.each(eraser_of(skater_id, key))
    for name in damaged:
        backups.remove(name)
    return damaged


def _damaged_removed(file: Path) -> tuple[str, ...]:
    """Damaged databases that a restore has set aside: nobody can clean them, and the skater may be in them."""
    left = sorted(file.parent.glob(f"{file.stem}-damaged-*"))
    for one in left:
        one.unlink()
    return tuple(one.name for one in left)


def _take_down(connection: sqlite3.Connection, rows: Rows) -> list[str]:
    """Drop the triggers that guard the tables of these rows; what puts them up again."""
    found = connection.execute(
        "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall()
    mine = [(str(name), str(sql)) for name, table, sql in found if table in rows]
    for name, _ in mine:
        connection.execute(f'DROP TRIGGER "{name}"')
    return [sql for _, sql in mine]
