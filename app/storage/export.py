"""Writing the export file: one skater, or everything. The format stands in `app.storage.portable`."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import IO, Any
from uuid import uuid4

from app import __version__
from app.domain.words import say
from app.storage.belongings import SKATER, Rows, Shape, Talk, belongings, in_turn
from app.storage.database import NEWEST, Database
from app.storage.missing import NotStored
from app.storage.portable import FOLDER, FORMAT, FORMAT_VERSION, MANIFEST, NEVER, NOTE, OF_EVERYBODY, written
from app.storage.talk import reading

EPOCH = (1980, 1, 1, 0, 0, 0)
TOLD = """This file was written by Recoup, a program that helps coaches of figure skaters.

It holds {what}. Nothing in it is encrypted: whoever has the file can read it. Keep it as you would keep a diary.

manifest.json says which tables there are, how many rows each has and the SHA-256 of each file.
tables/*.jsonl holds the rows, one a line, each a JSON object with the names of its columns.
Any Recoup of the same or a later version brings it in: "Your data", "Bring a file in".
"""


def write_export(database: Database, target: IO[bytes], skater_id: int | None, now: datetime) -> str:
    """Write an export of the database into `target`; the name of this export. Raises NotStored.

    `skater_id` None: everything. All of it is read at one moment, whatever is being written meanwhile.
    """
    export_id = uuid4().hex
    with reading(database) as (talk, shape):
        rows = _everything(talk, shape) if skater_id is None else _of_skater(talk, shape, skater_id)
        with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
            entries = [_write_table(archive, talk, shape, table, rows[table]) for table in sorted(rows)]
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


def _everything(talk: Talk, shape: Shape) -> Rows:
    """Every row but those that decide who may come in."""
    return {
        table: {row[0] for row in talk.execute(f'SELECT {key} FROM "{table}"').fetchall()}
        for table, key in shape.keys.items()
        if table not in NEVER and table != "alembic_version"
    }


def _of_skater(talk: Talk, shape: Shape, skater_id: int) -> Rows:
    """The skater's rows, the days of its starts, and the rulebooks its layouts and programs rest on."""
    if not talk.execute("SELECT 1 FROM skater WHERE id = ?", (skater_id,)).fetchone():
        raise NotStored(say("skater"), skater_id)
    found = belongings(talk, shape, SKATER, skater_id)
    named = _editions(talk, shape, found)
    versions = {tuple(name.split("/")[1:3]) for name in named if name.startswith("own/")}
    days = talk.execute("SELECT day_id FROM day_start WHERE skater_id = ?", (skater_id,)).fetchall()
    kept = talk.execute(f"SELECT {shape.keys['kept_rulebook']}, edition FROM kept_rulebook").fetchall()
    books = talk.execute("SELECT id, slug, version FROM own_rulebook").fetchall()
    found |= {table: set() for table in OF_EVERYBODY}
    found["day"] = {row[0] for row in days}
    found["kept_rulebook"] = {key for key, name in kept if name in named}
    found["own_rulebook"] = {key for key, slug, version in books if (slug, str(version)) in versions}
    return found


def _editions(talk: Talk, shape: Shape, rows: Rows) -> frozenset[str]:
    """The rulebooks that these rows name."""
    named: set[str] = set()
    for table, keys in rows.items():
        for marks, some in in_turn(keys) if "edition" in shape.columns[table] else ():
            sql = f'SELECT DISTINCT edition FROM "{table}" WHERE {shape.keys[table]} IN ({marks})'
            named |= {str(one[0]) for one in talk.execute(sql, some).fetchall()}
    return frozenset(named)


def _write_table(
    archive: zipfile.ZipFile, talk: Talk, shape: Shape, table: str, keys: set[Any]
) -> dict[str, Any]:
    name, digest, size = f"{FOLDER}{table}.jsonl", hashlib.sha256(), 0
    with archive.open(_entry(name), "w") as opened:
        for line in _lines(talk, shape, table, keys):
            digest.update(line)
            size += len(line)
            opened.write(line)
    return {"table": table, "file": name, "rows": len(keys), "bytes": size, "sha256": digest.hexdigest()}


def _lines(talk: Talk, shape: Shape, table: str, keys: set[Any]) -> Iterator[bytes]:
    key, columns = shape.keys[table], list(shape.columns[table])
    asked = ", ".join(f'"{one}"' for one in columns)
    for marks, some in in_turn(keys):
        sql = f'SELECT {asked} FROM "{table}" WHERE {key} IN ({marks}) ORDER BY {key}'
        for row in talk.execute(sql, some).fetchall():
            yield (written(table, dict(zip(columns, row, strict=True))) + "\n").encode()


def _add(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    with archive.open(_entry(name), "w") as opened:
        opened.write(content)


def _entry(name: str) -> zipfile.ZipInfo:
    """An entry that tells nothing of this machine: no user, no clock."""
    entry = zipfile.ZipInfo(name, EPOCH)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o600 << 16
    return entry
