"""The export file: everything of one skater or of all, brought in elsewhere, twice, damaged, and from bad people."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import JSON
from sqlalchemy.exc import DatabaseError
from sqlmodel import SQLModel

from app.errors import InputError
from app.rulebook.editions import SHELF
from app.storage import export_reading
from app.storage.bring_in import BroughtIn, bring_in
from app.storage.database import Database
from app.storage.erase import erase_one, forget_skater
from app.storage.export import write_export
from app.storage.missing import NotStored
from app.storage.portable import CHECKS, LINKS_IN_JSON, MANIFEST, NEVER
from app.storage.stores import Stores, open_stores
from tests.storage.everything import NOON, fill
from tests.storage.test_erase import dump, owned

NAME, OTHER = "Quillfeather Xanthe", "Brambleworth Ondine"


@pytest.fixture
def elsewhere(migrated_file: Path, tmp_path: Path) -> Iterator[Database]:
    """Another installation, empty."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    (folder / "recoup.sqlite3").write_bytes(migrated_file.read_bytes())
    opened = Database(folder / "recoup.sqlite3")
    yield opened
    opened.close()


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


def test_every_column_of_json_is_looked_at_before_it_comes_in() -> None:
    """What a page reads without a check could bring that page down. A new column gets its row in CHECKS."""
    found = {
        (table.name, column.name)
        for table in SQLModel.metadata.tables.values()
        for column in table.columns
        if isinstance(column.type, JSON) and table.name not in NEVER
    }
    assert found <= set(CHECKS)
    assert set(LINKS_IN_JSON) <= found


def test_an_export_is_a_file_anybody_can_read(stores: Stores, database: Database) -> None:
    skater = fill(stores, NAME)
    found = lines(exported(database, skater))
    assert set(found) == owned() | {"own_rulebook", "kept_rulebook", "day", "setting"}
    assert found["skater"][0]["name"] == NAME
    assert found["attempt"][0]["day"] == "2026-11-20"
    assert found["live_event"][0]["at"] == "2026-11-20T12:00:00Z"
    assert found["trained_element"][0]["ready"] is True
    assert found["layout"][0]["items"][0]["options"] == ["3Lz", "2Lz", None]


@pytest.mark.file_database
def test_the_file_of_one_skater_has_nobody_else_in_it(stores: Stores, database: Database) -> None:
    skater, _ = fill(stores, NAME), fill(stores, OTHER, "Other cup")
    stores.devices.add("boards", "secret-hash", NOON)
    stores.settings.change("threshold", "0.7")
    found = lines(exported(database, skater))
    assert OTHER not in repr(found)
    assert "secret-hash" not in repr(found)
    assert [row["slug"] for row in found["own_rulebook"]] == ["club-cup"]
    assert found["setting"] == []
    whole = lines(exported(database))
    assert {row["name"] for row in whole["skater"]} == {NAME, OTHER}
    assert "secret-hash" not in repr(whole)
    assert whole["setting"] == [{"name": "threshold", "value": "0.7"}]
    # Every row of every table but those that decide who may come in.
    here = dump(database.file)
    assert {table: len(rows) for table, rows in whole.items()} == {
        table: len(rows) for table, rows in here.items() if table not in (*NEVER, "alembic_version")
    }


@pytest.mark.parametrize("whole", [False, True])
def test_what_goes_out_comes_in(stores: Stores, database: Database, elsewhere: Database, whole: bool) -> None:
    skater = fill(stores, NAME)
    stores.settings.change("threshold", "0.7")
    said = exported(database, None if whole else skater)
    SHELF.own.clear()  # the other installation knows no rulebook of ours
    report = brought(elsewhere, said)
    assert [name for _, name in report.skaters] == [NAME]
    assert report.known == ()
    mine, theirs = without_numbers(lines(said)), without_numbers(lines(exported(elsewhere)))
    assert mine.pop("handed_over")
    (note,) = lines(exported(elsewhere))["handed_over"]
    assert note["kind"] == "brought in"
    theirs.pop("handed_over")
    assert theirs == mine
    assert dump(elsewhere.file)["device"] == []


def test_links_lead_to_the_same_things_under_new_numbers(
    stores: Stores, database: Database, elsewhere: Database
) -> None:
    with open_stores(elsewhere) as there:
        fill(there, OTHER, "Other cup")  # so that no number is the same
    report = brought(elsewhere, exported(database, fill(stores, NAME)))
    ((skater, _),) = report.skaters
    with open_stores(elsewhere) as there:
        (program,) = there.live.recent(skater)
        layouts = {one.name: one.id for one in there.layouts.of_skater(skater)}
        assert program.layout_id == layouts[f"A of {NAME}"]
        assert [one.layout_id for one in program.variants] == [
            layouts[f"A of {NAME}"],
            layouts[f"B of {NAME}"],
        ]
        (element,) = there.skaters.trained(skater)
        assert [(one.skater_id, one.id) for one in program.trained] == [(skater, element.id)]
        start = there.days.of_program(program.id)
        assert start is not None
        assert start.layout_ids == tuple(one.layout_id for one in program.variants)
        assert start.skater_id == skater
        assert start.place == 2  # the same day was here already: it is used, and its order kept
        assert len(there.days.all()) == 1
        events = there.live.events(program.id)
        assert [one.seq for one in events] == [1, 2, 3, 4]
        assert events[1].payload["of"] == [events[0].id]
        assert {one.device for one in events} == {"elsewhere-3"}
        assert len(there.sheets.of_program(program.id)) == 2
        (answer,) = there.call_outs.of_program(skater, "p" * 32)
        assert answer.skater_id == skater


def test_a_filled_installation_keeps_every_row(
    stores: Stores, database: Database, elsewhere: Database
) -> None:
    with open_stores(elsewhere) as there:
        fill(there, OTHER)  # an own rulebook of the same name as ours
        there.settings.change("threshold", "0.9")
    before = dump(elsewhere.file)
    stores.settings.change("threshold", "0.7")
    fill(stores, NAME)
    brought(elsewhere, exported(database))
    after = dump(elsewhere.file)
    for table, rows in before.items():
        assert [row for row in rows if row not in after[table]] == [], table
    assert after["setting"] == before["setting"]


def test_the_same_file_twice_is_noticed(stores: Stores, database: Database, elsewhere: Database) -> None:
    said = exported(database, fill(stores, NAME))
    brought(elsewhere, said)
    before = dump(elsewhere.file)
    report = brought(elsewhere, said)
    assert (report.skaters, report.known, dict(report.rows)) == ((), (NAME,), {})
    assert dump(elsewhere.file) == before
    # A later file of the same skater is the same skater; and so is one that comes home.
    with open_stores(elsewhere) as there:
        number = there.skaters.all()[0].id
    assert brought(database, exported(elsewhere, number)).known == (NAME,)


def test_as_a_copy_it_comes_in_beside_itself(stores: Stores, database: Database) -> None:
    first = fill(stores, NAME)
    said = exported(database, first)
    ((second, _),) = brought(database, said, again=True).skaters
    assert second != first
    assert (
        without_numbers(lines(exported(database, second)))["live_event"]
        == without_numbers(lines(said))["live_event"]
    )
    with open_stores(database) as there:
        (program,) = there.live.recent(second)
        events = there.live.events(program.id)
        assert events[1].payload["of"] == [events[0].id]
        assert events[3].payload["of"] == [events[2].id]
        assert len({one.name for one in there.days.all()}) == 1
    # Deleted again, it takes nothing of the first along.
    before = without_numbers(lines(exported(database, first)))
    forget_skater(database, second)
    assert without_numbers(lines(exported(database, first))) == before


def test_an_own_rulebook_of_the_same_name_becomes_the_next_version(
    stores: Stores, database: Database, elsewhere: Database
) -> None:
    said = exported(database, fill(stores, NAME))
    same = brought(elsewhere, said)
    assert same.rows["own_rulebook"] == 1

    def other(raw: bytes) -> bytes:
        row = json.loads(raw)
        return (json.dumps(row | {"text": f"# another\n{row['text']}"}) + "\n").encode()

    changed = rebuilt(said, {"tables/own_rulebook.jsonl": other})
    report = brought(elsewhere, changed, again=True)
    with open_stores(elsewhere) as there:
        names = {one.edition for one in there.layouts.of_skater(report.skaters[0][0])}
    assert "own/club-cup/2/women/free" in names


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


def test_a_skater_who_is_not_there(database: Database) -> None:
    with pytest.raises(NotStored):
        exported(database, 7)


def test_a_deleted_skater_is_in_no_row_whatever_the_database(stores: Stores, database: Database) -> None:
    first, second = fill(stores, NAME), fill(stores, OTHER, "Other cup")
    before = without_numbers(lines(exported(database, second)))
    erased = forget_skater(database, first)
    assert owned() <= set(erased.rows)
    assert NAME not in repr(lines(exported(database)))
    assert without_numbers(lines(exported(database, second))) == before
    assert [one.skater_id for one in stores.devices.all()] == [second]
    (program,) = stores.live.recent(second)
    assert dict(erase_one(database, "live_program", program.id).rows) == {"live_program": 1, "live_event": 4}
    assert len(stores.layouts.of_skater(second)) == 2


def test_the_log_refuses_deletion_after_one(stores: Stores, database: Database) -> None:
    first, _ = fill(stores, NAME), fill(stores, OTHER, "Other cup")
    forget_skater(database, first)
    for sql in ("UPDATE live_event SET author = 'x'", "DELETE FROM live_event"):
        with pytest.raises(DatabaseError, match="append-only"), database.engine.begin() as connection:
            connection.exec_driver_sql(sql)
