"""The export file: everything of one skater or of all, brought in elsewhere, and twice."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import JSON
from sqlalchemy.exc import DatabaseError
from sqlmodel import SQLModel

from app.rulebook.editions import SHELF
from app.storage.database import Database
from app.storage.erase import erase_one, forget_skater
from app.storage.missing import NotStored
from app.storage.portable import CHECKS, LINKS_IN_JSON, NEVER
from app.storage.stores import Stores, open_stores
from tests.storage.everything import NOON, fill
from tests.storage.export_files import NAME, OTHER, brought, exported, lines, rebuilt, without_numbers
from tests.storage.test_erase import dump, owned


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
