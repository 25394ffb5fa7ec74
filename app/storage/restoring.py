"""Bringing a copy back: the present is copied first, then exchanged in one transaction.

The copy is brought to the newest tables beside the database, so the database itself goes from the present to the
restored state in one step that a power cut either does or does not do. Screens that are open read on, before it the
old and after it the restored state. Phones: who may come in is what it is now, not what it was then, or a phone that
was removed since would be let in again; and numbers go on from now, or a tap that waits on a phone would reach another
program than the one it was made for.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from app.domain.words import say
from app.errors import InputError, StorageTrouble
from app.storage.backups import Backup, Backups, check, copy
from app.storage.database import Database
from app.storage.trouble import in_words

DOORS = ("device", "pairing_code")
"""Tables that say which phones may come in."""
PARTS = ("", "-wal", "-shm")
UNKNOWN_NUMBERS = 1000
"""Left out where the present cannot be read: it may have given so many numbers since the copy was made."""


def named(backups: Backups, name: str) -> Backup:
    """The copy of that name. Raises InputError listing those there are."""
    found = backups.get(name)
    if found is None:
        there = ", ".join(one.name for one in backups.all()[:5]) or say("none yet")
        raise InputError(
            say("backup"),
            say("%(given)s given; expected one of: %(expected)s", given=repr(name[:80]), expected=there),
        )
    return found


def restore(database: Database, name: str, now: datetime) -> Backup | None:
    """Bring that copy back; the copy of the present made before, None when the present could not be read.

    A damaged database file is kept beside, under another name. Raises InputError for an unknown name, StorageTrouble
    when the copy is damaged or the disk is full; then nothing has changed.
    """
    if database.file is None or database.backups is None:
        raise InputError(
            say("backup"),
            say("there is no file to restore: PostgreSQL has its own tools (see DEVELOPERS.md)"),
        )
    wanted = named(database.backups, name)
    check(wanted.file)
    ready = database.backups.folder / "restored.part"
    try:
        _prepare(wanted, ready)
        before = _present(database.backups, now)
        _doors(ready, database.file if before else None, now)
        if before is None:
            database.close()
            _put_aside(database.file, now)
        copy(ready, database.file, in_use=True)
    finally:
        _remove(ready)
    # Connections that were open prepare themselves anew: another file may lie under the name now.
    database.close()
    database.migrate()
    return before


def _prepare(wanted: Backup, ready: Path) -> None:
    """A copy of the copy, with the newest tables."""
    _remove(ready)
    copy(wanted.file, ready)
    ready.chmod(0o600)
    beside = Database(ready)
    beside.backups = None
    try:
        beside.migrate()
    finally:
        beside.close()


def _present(backups: Backups, now: datetime) -> Backup | None:
    if not backups.source.exists():
        return None
    try:
        return backups.make("before-restore", now)
    except StorageTrouble:
        try:
            check(backups.source)
        except StorageTrouble:
            return None  # the file itself is damaged: that is why somebody restores
        raise


def _doors(ready: Path, present: Path | None, now: datetime) -> None:
    """Who may come in: as now; without a readable present nobody, so phones are paired anew."""
    with in_words(ready), closing(sqlite3.connect(ready)) as opened:
        if present is None:
            with opened:
                for table, last in opened.execute("SELECT name, seq FROM sqlite_sequence").fetchall():
                    _number_on(opened, table, last + UNKNOWN_NUMBERS)
                opened.execute("UPDATE device SET revoked_at = ? WHERE revoked_at IS NULL", (_moment(now),))
                opened.execute("DELETE FROM pairing_code")
            return
        opened.execute("ATTACH DATABASE ? AS present", (str(present),))
        with opened:
            for table, last in opened.execute("SELECT name, seq FROM present.sqlite_sequence").fetchall():
                _number_on(opened, table, last)
            for table in DOORS:
                columns = ", ".join(_columns(opened, "main", table) & _columns(opened, "present", table))
                opened.execute(f"DELETE FROM main.{table}")
                opened.execute(f"INSERT INTO main.{table} ({columns}) SELECT {columns} FROM present.{table}")


def _number_on(opened: sqlite3.Connection, table: str, last: int) -> None:
    """The next row of that table gets a number behind `last`, which a phone may still know for something else."""
    sql = "UPDATE main.sqlite_sequence SET seq = max(seq, ?) WHERE name = ?"
    if opened.execute(sql, (last, table)).rowcount == 0:
        opened.execute("INSERT INTO main.sqlite_sequence (name, seq) VALUES (?, ?)", (table, last))


def _columns(opened: sqlite3.Connection, place: str, table: str) -> set[str]:
    return {f'"{row[1]}"' for row in opened.execute(f"PRAGMA {place}.table_info({table})")}


def _moment(now: datetime) -> str:
    return now.replace(tzinfo=None).isoformat(sep=" ")


def _put_aside(file: Path, now: datetime) -> None:
    """The damaged file, and what belongs to it, under another name."""
    for part in PARTS:
        there = file.with_name(file.name + part)
        if there.exists():
            there.replace(file.with_name(f"{file.stem}-damaged-{now:%Y%m%dT%H%M%S}{file.suffix}{part}"))


def _remove(file: Path) -> None:
    for part in (*PARTS, "-journal"):
        file.with_name(file.name + part).unlink(missing_ok=True)
