"""Export files that are damaged, that lie, or that somebody made to do harm: refused whole and in words."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from app.errors import InputError
from app.rulebook.editions import SHELF
from app.storage import export_reading
from app.storage.database import Database
from app.storage.portable import MANIFEST
from app.storage.stores import open_stores
from tests.storage.everything import fill
from tests.storage.export_files import NAME, brought, exported, rebuilt
from tests.storage.test_erase import dump


def row_changed(table: str, **values: Any) -> dict[str, Callable[[bytes], bytes]]:
    """The first row of a table with other values."""

    def change(raw: bytes) -> bytes:
        first, *rest = raw.splitlines(keepends=True)
        return (json.dumps(json.loads(first) | values) + "\n").encode() + b"".join(rest)

    return {f"tables/{table}.jsonl": change}


def manifest_changed(**values: Any) -> dict[str, Callable[[bytes], bytes]]:
    return {MANIFEST: lambda raw: json.dumps(json.loads(raw) | values).encode()}


def with_table(name: str) -> dict[str, Callable[[bytes], bytes]]:
    """A manifest that names a table of that name."""
    entry = {"table": name, "file": "tables/skater.jsonl", "rows": 0, "bytes": 0, "sha256": "0" * 64}
    return manifest_changed(tables=[entry])


def item(kind: str, code: str) -> dict[str, Any]:
    return {"kind": kind, "code": code, "start": 1}


BAD: list[tuple[str, dict[str, Callable[[bytes], bytes]], str]] = [
    ("a number as text", row_changed("attempt", count="3"), r"attempt.jsonl, line 1: count"),
    ("a strange column", row_changed("attempt", shoe=3), r"attempt.jsonl, line 1: shoe"),
    ("a code nobody reads", row_changed("attempt", code="9Q"), r"attempt.jsonl, line 1"),
    ("a day that is none", row_changed("attempt", day="2026-13-01"), r"line 1: day"),
    ("a name without end", row_changed("skater", name="x" * 5_000), r"skater.jsonl, line 1: name"),
    ("no name", row_changed("skater", name="  "), "without any name"),
    (
        "an item of no kind",
        row_changed("layout", items=[item("song", "x")]),
        r"layout.jsonl",
    ),
    (
        "an item that is no element",
        row_changed("layout", items=[item("jump", "9Q")]),
        r"layout",
    ),
    (
        "a list without end",
        row_changed("layout", items=[item("spin", "x")] * 500),
        "500",
    ),
    (
        "a rulebook nobody has",
        row_changed("layout", edition="isu/2999-00/senior/women/free"),
        "update Recoup",
    ),
    ("an event nobody knows", row_changed("live_event", kind="flew away"), "cannot be read"),
    ("an event without a place", row_changed("live_event", payload={}), "cannot be read"),
    ("a sheet that is none", row_changed("official_sheet", sheet={"rows": 3}), r"official_sheet.jsonl"),
    ("a link to nothing", row_changed("live_event", program_id=99), "not in the file"),
    ("a rulebook that is none", row_changed("own_rulebook", text="x = "), r"own_rulebook.jsonl"),
    # A layout here that rests on that fingerprint would have been ruled by a stranger's numbers from then on.
    (
        "another rulebook's fingerprint",
        row_changed("kept_rulebook", fingerprint="0" * 16),
        "was changed after it was kept",
    ),
    ("a snapshot that is none", row_changed("kept_rulebook", snapshot={}), r"kept_rulebook.jsonl"),
    ("no JSON", {"tables/skater.jsonl": lambda _: b"skater\n"}, r"skater.jsonl, line 1"),
    (
        "JSON that is too deep",
        {"tables/skater.jsonl": lambda _: b"[" * 100_000 + b"\n"},
        r"skater.jsonl, line 1",
    ),
    ("another format", manifest_changed(format="something else"), "no export file"),
    ("a newer format", manifest_changed(format_version=2), "a newer Recoup"),
    ("a newer schema", manifest_changed(schema="9999"), "a newer Recoup"),
    ("a manifest that is none", {MANIFEST: lambda _: b"{}"}, "manifest.json: format"),
    (
        "a table nobody knows",
        manifest_changed(
            tables=[
                {"table": "spell", "file": "tables/spell.jsonl", "rows": 0, "bytes": 0, "sha256": "0" * 64}
            ]
        ),
        "'spell'",
    ),
    (
        "phones",
        manifest_changed(
            tables=[
                {"table": "device", "file": "tables/skater.jsonl", "rows": 0, "bytes": 0, "sha256": "0" * 64}
            ]
        ),
        "'device'",
    ),
]


@pytest.fixture(scope="module")
def one_file(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """An export of the invented skater, made once."""
    file = tmp_path_factory.mktemp("exported") / "recoup.sqlite3"
    file.write_bytes(migrated_file.read_bytes())
    database = Database(file)
    with open_stores(database) as stores:
        said = exported(database, fill(stores, NAME))
    database.close()
    SHELF.own.clear()
    SHELF.kept.clear()
    return said


@pytest.mark.parametrize(("changes", "said"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_what_cannot_be_used_is_refused_whole_and_in_words(
    one_file: bytes, elsewhere: Database, changes: Any, said: str
) -> None:
    content = rebuilt(one_file, changes)
    before = dump(elsewhere.file)
    with pytest.raises(InputError, match=said):
        brought(elsewhere, content)
    assert dump(elsewhere.file) == before


def test_a_file_damaged_on_the_way_is_noticed(one_file: bytes, elsewhere: Database) -> None:
    said = one_file
    for content in (b"", b"no archive", said[:-100], said[:500] + b"\0" * 40 + said[540:]):
        with pytest.raises(InputError):
            brought(elsewhere, content)
    swapped = rebuilt(
        said, {"tables/skater.jsonl": lambda raw: raw.replace(b"Quill", b"Quall")}, honest=False
    )
    with pytest.raises(InputError, match="checksum"):
        brought(elsewhere, swapped)


def test_an_archive_that_would_unpack_to_a_mountain_is_not_unpacked(
    one_file: bytes, elsewhere: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = one_file
    bomb = rebuilt(said, {"tables/skater.jsonl": lambda _: b" " * 60_000_000})
    assert len(bomb) < 1_000_000
    monkeypatch.setattr(export_reading, "MOST_UNPACKED", 50_000_000)
    with pytest.raises(InputError, match="expected at most"):
        brought(elsewhere, bomb)
    monkeypatch.undo()
    long_line = rebuilt(said, {"tables/skater.jsonl": lambda _: b" " * 5_000_000 + b"\n"})
    with pytest.raises(InputError, match="a row of more than"):
        brought(elsewhere, long_line)
    many = io.BytesIO(said)
    with zipfile.ZipFile(many, "a") as archive:
        for number in range(100):
            archive.writestr(f"tables/{number}.jsonl", b"")
    with pytest.raises(InputError, match="expected at most"):
        brought(elsewhere, many.getvalue())


def test_a_size_that_lies_is_noticed(one_file: bytes, elsewhere: Database) -> None:
    """The size in the directory is believed for nothing but refusing: reading stops where the manifest says."""
    said = one_file
    lying = rebuilt(said, {"tables/skater.jsonl": lambda raw: raw + b" " * 1000}, honest=False)
    with pytest.raises(InputError, match="another size"):
        brought(elsewhere, lying)


def test_nothing_is_written_under_a_name_from_the_file(
    one_file: bytes, elsewhere: Database, tmp_path: Path
) -> None:
    said = io.BytesIO(one_file)
    with zipfile.ZipFile(said, "a") as archive:
        archive.writestr("../../outside.txt", b"x")
    with pytest.raises(InputError, match="not those its manifest names"):
        brought(elsewhere, said.getvalue())
    link = zipfile.ZipInfo(MANIFEST)
    link.external_attr = 0o120777 << 16
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(one_file)) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            new.writestr(link if name == MANIFEST else name, old.read(name))
    with pytest.raises(InputError, match="a link"):
        brought(elsewhere, target.getvalue())
    assert not list(tmp_path.rglob("outside.txt"))
