"""Export files for tests: made, read without the project's code, changed, brought in elsewhere."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Callable
from typing import Any

from app.storage.bring_in import BroughtIn, bring_in
from app.storage.database import Database
from app.storage.export import write_export
from app.storage.portable import MANIFEST
from tests.storage.everything import NOON

NAME, OTHER = "Quillfeather Xanthe", "Brambleworth Ondine"


def exported(database: Database, skater: int | None = None) -> bytes:
    target = io.BytesIO()
    write_export(database, target, skater, NOON)
    return target.getvalue()


def brought(database: Database, content: bytes, *, again: bool = False) -> BroughtIn:
    with database.session() as session:
        return bring_in(session, io.BytesIO(content), NOON, again=again)


def lines(content: bytes) -> dict[str, list[dict[str, Any]]]:
    """The rows of an export by table, read as its description says, without the project's code."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        manifest = json.loads(archive.read(MANIFEST))
        found = {}
        for entry in manifest["tables"]:
            raw = archive.read(entry["file"])
            assert hashlib.sha256(raw).hexdigest() == entry["sha256"]
            assert len(raw) == entry["bytes"]
            found[entry["table"]] = [json.loads(line) for line in raw.splitlines()]
            assert len(found[entry["table"]]) == entry["rows"]
        return found


def without_numbers(rows: dict[str, list[dict[str, Any]]]) -> dict[str, list[str]]:
    """What must be the same in every installation: all but numbers, and names that are made anew on the way."""
    anew = {"id", "sending", "place", "device", "mark"}

    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            kept = {key: one for key, one in value.items() if key not in anew and not key.endswith("_id")}
            return {key: plain(one) for key, one in kept.items() if key not in ("of", "layout_ids")}
        return [plain(one) for one in value] if isinstance(value, list) else value

    return {
        table: sorted(json.dumps(plain(row), sort_keys=True) for row in found)
        for table, found in rows.items()
    }


def rebuilt(content: bytes, changes: dict[str, Callable[[bytes], bytes]], *, honest: bool = True) -> bytes:
    """The same archive with some files changed; `honest`: the manifest says so too."""
    target = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        files = {one: changes.get(one, bytes)(old.read(one)) for one in old.namelist()}
        if honest and MANIFEST not in changes:
            manifest = json.loads(files[MANIFEST])
            for entry in manifest["tables"]:
                raw = files[entry["file"]]
                entry |= {
                    "rows": raw.count(b"\n"),
                    "bytes": len(raw),
                    "sha256": hashlib.sha256(raw).hexdigest(),
                }
            files[MANIFEST] = json.dumps(manifest).encode()
        for name, raw in files.items():
            new.writestr(name, raw)
    return target.getvalue()
