"""Deleting for good: a skater with every row of every table, or one thing alone; from the database and from its copies.

The log of a live program refuses to be changed (see the first migration): for a deletion, and for nothing else, its
triggers are taken down and put up again within the transaction.

Nothing stays behind in the files: SQLite overwrites what is deleted (`secure_delete`), the file is written anew without
its unused pages (`VACUUM`), and the write-ahead log is emptied into it (`wal_checkpoint(TRUNCATE)`). A PostgreSQL
server keeps logs and copies of its own, which only its keeper can clear.
"""

from __future__ import annotations

import sqlite3
import time
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from app.domain.words import say
from app.errors import StorageTrouble
from app.storage.backups import Backups
from app.storage.belongings import SKATER, Rows, Shape, Talk, belongings, in_turn, shape_of_file
from app.storage.database import Database
from app.storage.missing import NotStored
from app.storage.talk import ServerTalk, changing, file_opened, reading, tidied

KEYED = "skater_key"
"""The column that names a skater by key: whose own phone it is."""
SHORT = 200
"""Letters of a text that somebody may have typed a name into; files and hashes are longer."""
MARKS = {"day": "made_at", "live_program": "started_at", "layout": "skater_id"}
"""A column that tells one thing from another that had the same number before."""
PATIENCE_SECONDS = 10.0
"""How long readers may keep the write-ahead log from being emptied."""


@dataclass(frozen=True, slots=True)
class Erased:
    """What went: rows by table, how many copies were cleaned, the names of damaged ones that were removed whole."""

    rows: Mapping[str, int] = field(default_factory=dict)
    copies: int = 0
    copies_removed: tuple[str, ...] = ()


def forget_skater(database: Database, skater_id: int) -> Erased:
    """Delete a skater from the database and from every copy of it. Raises NotStored, StorageTrouble.

    The copies come first: whatever goes wrong there, the skater still stands on the page to be deleted again. A copy
    that is damaged cannot be cleaned and is removed whole.
    """
    with reading(database) as (talk, _):
        key = _key_of(talk, skater_id)
    removed, cleaned = (
        _clean(database.backups, skater_id, key),
        len(database.backups.all()) if database.backups else 0,
    )
    gone = _erase_here(database, SKATER, skater_id, key)
    # A copy made meanwhile still has the skater.
    removed += _clean(database.backups, skater_id, key) + _damaged_removed(database.file)
    return Erased(gone, cleaned, removed)


def erase_one(database: Database, table: str, key: int, *, copies: bool = False) -> Erased:
    """Delete one thing with what cannot be without it: a program, a layout, a day. Raises NotStored, StorageTrouble.

    `copies`: in every copy as well, where the row of that number is the same thing by its mark (`MARKS`); else copies
    keep it until they are let go of, or until its skater is deleted.
    """
    with reading(database) as (talk, _):
        found = talk.execute(f'SELECT "{MARKS[table]}" FROM "{table}" WHERE id = ?', (key,)).fetchone()
    if found is None:
        raise NotStored(table.replace("_", " "), key)
    if copies and database.backups is not None:
        database.backups.each(_eraser_of_one(table, key, found[0]))
    return Erased(_erase_here(database, table, key))


def counted(database: Database, skater_id: int) -> Mapping[str, int]:
    """How many rows of each table would go with a skater. Raises NotStored."""
    with reading(database) as (talk, shape):
        rows = _with_phones(talk, shape, belongings(talk, shape, SKATER, skater_id), _key_of(talk, skater_id))
        return {table: len(keys) for table, keys in rows.items()}


def named_elsewhere(database: Database, words: str) -> tuple[tuple[str, str], ...]:
    """(table, text) of every text that belongs to no skater and has these words in it, whatever their case.

    Compared here and not by the database: SQLite knows the small letters of a to z alone.
    """
    wanted = _folded(words.strip())
    if len(wanted) < 2:
        return ()
    found = []
    with reading(database) as (talk, shape):
        for table, columns in shape.columns.items():
            texts = [name for name, kind in columns.items() if kind.upper().startswith(("VARCHAR", "TEXT"))]
            for column in texts if table not in shape.owned else ():
                sql = f'SELECT DISTINCT "{column}" FROM "{table}" WHERE length("{column}") <= {SHORT}'
                said = (str(row[0]) for row in talk.execute(sql).fetchall())
                found += [(table, one) for one in said if wanted in _folded(one)]
    return tuple(found)


def _folded(text: str) -> str:
    """A text without what differs between two ways to write one name: case, and accents as signs of their own."""
    return unicodedata.normalize("NFKC", text).casefold()


def erase(connection: Talk, shape: Shape, rows: Rows) -> Mapping[str, int]:
    """Delete these rows, inside the caller's transaction; what points to them and may let go is let go of."""
    with _unguarded(connection, rows):
        for link in shape.links:
            for marks, some in in_turn(rows.get(link.target, ())) if link.lets_go else ():
                mine = (
                    f'SELECT "{link.key}" FROM "{link.target}" WHERE {shape.keys[link.target]} IN ({marks})'
                )
                sql = f'UPDATE "{link.table}" SET "{link.column}" = NULL WHERE "{link.column}" IN ({mine})'
                connection.execute(sql, some)
        for table in _last_first(shape, rows):
            for marks, some in in_turn(rows[table]):
                connection.execute(f'DELETE FROM "{table}" WHERE {shape.keys[table]} IN ({marks})', some)
    return {table: len(keys) for table, keys in rows.items()}


def eraser_of(skater_id: int, key: str) -> Callable[[sqlite3.Connection], None]:
    """The change for one copy: `key` names the skater where the copy has keys; copies made before go by the number."""

    def change(connection: sqlite3.Connection) -> None:
        shape = shape_of_file(connection)
        column, given = ("key", key) if "key" in shape.columns.get(SKATER, {}) else ("id", str(skater_id))
        if SKATER not in shape.keys:
            return
        for (found,) in connection.execute(
            f'SELECT id FROM "{SKATER}" WHERE "{column}" = ?', (given,)
        ).fetchall():
            rows = belongings(connection, shape, SKATER, found)
            erase(connection, shape, _with_phones(connection, shape, rows, key))

    return change


def _eraser_of_one(table: str, key: int, mark: object) -> Callable[[sqlite3.Connection], None]:
    def change(connection: sqlite3.Connection) -> None:
        shape = shape_of_file(connection)
        if MARKS[table] in shape.columns.get(table, {}):
            same = f'SELECT 1 FROM "{table}" WHERE id = ? AND "{MARKS[table]}" = ?'
            if connection.execute(same, (key, mark)).fetchone():
                erase(connection, shape, belongings(connection, shape, table, key))

    return change


def _with_phones(connection: Talk, shape: Shape, rows: Rows, key: str) -> Rows:
    """These rows, and those that name the skater by the key: phones of the skater's own, and codes for one."""
    found = dict(rows)
    for table, columns in shape.columns.items():
        if KEYED in columns:
            sql = f'SELECT {shape.keys[table]} FROM "{table}" WHERE "{KEYED}" = ?'
            mine = {row[0] for row in connection.execute(sql, (key,)).fetchall()}
            found |= {table: mine} if mine else {}
    return found


def _erase_here(database: Database, table: str, key: int, skater_key: str = "") -> Mapping[str, int]:
    with changing(database) as (talk, shape):
        if not talk.execute(f'SELECT 1 FROM "{table}" WHERE {shape.keys[table]} = ?', (key,)).fetchone():
            raise NotStored(table.replace("_", " "), key)
        before = _loose_ends(talk)
        rows = belongings(talk, shape, table, key)
        gone = erase(talk, shape, _with_phones(talk, shape, rows, skater_key) if skater_key else rows)
        broken = _loose_ends(talk) - before
        if broken:
            raise StorageTrouble(
                say(
                    "Nothing was deleted: %(table)s would point to something that is gone.",
                    table=broken.pop()[0],
                )
            )
    if database.file is None:
        tidied(database.engine)
    else:
        with file_opened(database.file) as connection:
            _wipe(connection)
    return gone


def _wipe(connection: sqlite3.Connection) -> None:
    """Write the file anew without unused pages and empty the write-ahead log."""
    connection.execute("VACUUM")
    until = time.monotonic() + PATIENCE_SECONDS
    while connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]:
        if time.monotonic() > until:
            raise StorageTrouble(
                say(
                    "It is deleted, but traces are still in the write-ahead log because another page is reading. "
                    "They go when Recoup is stopped."
                )
            )
        time.sleep(0.05)


def _key_of(connection: Talk, skater_id: int) -> str:
    found = connection.execute(f'SELECT "key" FROM "{SKATER}" WHERE id = ?', (skater_id,)).fetchone()
    if found is None:
        raise NotStored(say("skater"), skater_id)
    return str(found[0])


def _clean(backups: Backups | None, skater_id: int, key: str) -> tuple[str, ...]:
    if backups is None:
        return ()
    damaged = backups.each(eraser_of(skater_id, key))
    for name in damaged:
        backups.remove(name)
    return damaged


def _damaged_removed(file: Path | None) -> tuple[str, ...]:
    """Damaged databases that a restore has set aside: nobody can clean them, and the skater may be in them."""
    left = sorted(file.parent.glob(f"{file.stem}-damaged-*")) if file is not None else []
    for one in left:
        one.unlink()
    return tuple(one.name for one in left)


def _last_first(shape: Shape, rows: Rows) -> list[str]:
    """The tables of these rows so that none comes before one that points to it."""
    waiting, ordered = set(rows), []
    while waiting:
        free = [
            table
            for table in sorted(waiting)
            if not any(one.target == table and one.table in waiting - {table} for one in shape.links)
        ]
        ordered += free or sorted(waiting)  # tables that point to each other go together
        waiting -= set(ordered)
    return ordered


def _loose_ends(connection: Talk) -> set[tuple[Any, ...]]:
    """Rows that point to nothing, as SQLite finds them; PostgreSQL lets none arise."""
    if isinstance(connection, ServerTalk):
        return set()
    return set(connection.execute("PRAGMA foreign_key_check").fetchall())


@contextmanager
def _unguarded(connection: Talk, rows: Rows) -> Iterator[None]:
    """Without the triggers that guard the tables of these rows."""
    if isinstance(connection, ServerTalk):
        for table in rows:
            connection.execute(f'ALTER TABLE "{table}" DISABLE TRIGGER USER')
        yield
        for table in rows:
            connection.execute(f'ALTER TABLE "{table}" ENABLE TRIGGER USER')
        return
    said = connection.execute(
        "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall()
    mine = [(str(name), str(sql)) for name, table, sql in said if table in rows]
    for name, _ in mine:
        connection.execute(f'DROP TRIGGER "{name}"')
    yield
    for _, sql in mine:
        connection.execute(sql)
