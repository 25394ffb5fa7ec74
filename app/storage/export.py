"""Writing the export file: one skater, or everything. The format stands in `app.storage.portable`."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any
from uuid import uuid4

from app import __version__
from app.storage.belongings import SKATER, Rows, belongings, in_turn, tables_of
from app.storage.database import NEWEST
from app.storage.missing import NotStored
from app.storage.portable import FOLDER, FORMAT, FORMAT_VERSION, MANIFEST, NEVER, NOTE, OF_EVERYBODY, written
from app.storage.trouble import in_words

EPOCH = (1980, 1, 1, 0, 0, 0)
TOLD = """This file was written by Recoup, a program that helps coaches of figure skaters.

It holds {what}. Nothing in it is encrypted: whoever has the file can read it. Keep it as you would keep a diary.

manifest.json says which tables there are, how many rows each has and the SHA-256 of each file.
tables/*.jsonl holds the rows, one a line, each a JSON object with the names of its columns.
Any Recoup of the same or a later version brings it in: "Your data", "Bring a file in".
"""


def write_export(file: Path, target: IO[bytes], skater_id: int | None, now: datetime) -> str:
    """Write an export of the database `file` into `target`; the name of this export. Raises NotStored.

    `skater_id` None: everything. All of it is read at one moment, whatever is being written meanwhile.
    """
    export_id = uuid4().hex
    with in_words(file), closing(_reading(file)) as connection:
        rows = _everything(connection) if skater_id is None else _of_skater(connection, skater_id)
        with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
            entries = [_write_table(archive, connection, table, rows[table]) for table in sorted(rows)]
            manifest = {
                "format": FORMAT,
                "format_version": FORMAT_VERSION,
                "schema": NEWEST,
                "export_id": export_id,
                "made_at": now.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"),
                "program_version": __version__,
                "whole": skater_id is None,
                "tables": entries,
            }
            _add(archive, MANIFEST, json.dumps(manifest, indent=1).encode())
            what = "everything of one installation" if skater_id is None else "everything of one skater"
            _add(archive, NOTE, TOLD.format(what=what).encode())
    return export_id


def _reading(file: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"{file.resolve().as_uri()}?mode=ro", uri=True, timeout=30, isolation_level=None
    )
    connection.row_factory = sqlite3.Row
    connection.execute("BEGIN")
    return connection


def _everything(connection: sqlite3.Connection) -> Rows:
    """Every row but those that decide who may come in."""
    found: Rows = {}
    for table in tables_of(connection):
        if table not in NEVER and table != "alembic_version":
            found[table] = {int(row[0]) for row in connection.execute(f'SELECT rowid FROM "{table}"')}
    return found


def _of_skater(connection: sqlite3.Connection, skater_id: int) -> Rows:
    """The skater's rows, the days of its starts, and the rulebooks its layouts and programs rest on."""
    if not connection.execute("SELECT 1 FROM skater WHERE id = ?", (skater_id,)).fetchone():
        raise NotStored("skater", skater_id)
    found = belongings(connection, SKATER, skater_id)
    found |= {table: set() for table in OF_EVERYBODY}
    days = "SELECT day_id FROM day_start WHERE skater_id = ?"
    found["day"] = {int(row[0]) for row in connection.execute(days, (skater_id,))}
    for row in connection.execute("SELECT rowid, edition FROM kept_rulebook"):
        if str(row["edition"]) in _editions(connection, found):
            found["kept_rulebook"].add(int(row["rowid"]))
    versions = {
        tuple(name.split("/")[1:3]) for name in _editions(connection, found) if name.startswith("own/")
    }
    for row, slug, version in connection.execute("SELECT rowid, slug, version FROM own_rulebook"):
        if (str(slug), str(version)) in versions:
            found["own_rulebook"].add(int(row))
    return found


def _editions(connection: sqlite3.Connection, rows: Rows) -> frozenset[str]:
    """The rulebooks that these rows name."""
    named: set[str] = set()
    for table, numbers in rows.items():
        columns = {str(one[1]) for one in connection.execute(f'PRAGMA table_info("{table}")')}
        if "edition" in columns and table != "kept_rulebook":
            for marks, some in in_turn(numbers):
                sql = f'SELECT DISTINCT edition FROM "{table}" WHERE rowid IN ({marks})'
                named |= {str(one[0]) for one in connection.execute(sql, some)}
    return frozenset(named)


def _write_table(
    archive: zipfile.ZipFile, connection: sqlite3.Connection, table: str, rows: set[int]
) -> dict[str, Any]:
    name, digest, size = f"{FOLDER}{table}.jsonl", hashlib.sha256(), 0
    with archive.open(_entry(name), "w") as opened:
        for line in _lines(connection, table, rows):
            digest.update(line)
            size += len(line)
            opened.write(line)
    return {"table": table, "file": name, "rows": len(rows), "bytes": size, "sha256": digest.hexdigest()}


def _lines(connection: sqlite3.Connection, table: str, rows: set[int]) -> Iterator[bytes]:
    for marks, some in in_turn(rows):
        for row in connection.execute(
            f'SELECT * FROM "{table}" WHERE rowid IN ({marks}) ORDER BY rowid', some
        ):
            yield (written(table, dict(row)) + "\n").encode()


def _add(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    with archive.open(_entry(name), "w") as opened:
        opened.write(content)


def _entry(name: str) -> zipfile.ZipInfo:
    """An entry that tells nothing of this machine: no user, no clock."""
    entry = zipfile.ZipInfo(name, EPOCH)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o600 << 16
    return entry
