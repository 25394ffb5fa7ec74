"""Competition days as they are stored: the order, one program a start, what may be taken anew. All invented."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import text

from app.live.events import Corrected, Inserted, PassLeftOut, PassSkated, to_record
from app.storage.database import MIGRATIONS, Database
from app.storage.live_store import PASS_KINDS
from app.storage.records import LayoutItem, LiveProgramRecord, VariantRecord
from app.storage.stores import NotStored, Stores, open_stores

NOON = datetime(2026, 1, 10, 12, tzinfo=UTC)
EDITION = "isu/2026-27/senior/women/free"


def record(skater_id: int, *codes: str) -> LiveProgramRecord:
    """A program with one layout a code."""
    items = [(LayoutItem("jump", code, 10),) for code in codes]
    variants = tuple(
        VariantRecord(letter, 0, f"layout {letter}", "f", one)
        for letter, one in zip("ABC", items, strict=False)
    )
    return LiveProgramRecord(
        skater_id, "layout A", EDITION, "f", items[0], (), "competition", NOON, variants=variants
    )


def three(stores: Stores) -> tuple[int, list[int]]:
    """A day with three skaters; its id and those of the starts."""
    day = stores.days.add("Invented Cup", "competition", NOON)
    starts = [stores.days.add_start(day.id, stores.skaters.add(name).id, (1,)).id for name in "XYZ"]
    return day.id, starts


def order(stores: Stores, day_id: int) -> list[int]:
    """The starts in order; places count from 1 without a gap."""
    found = stores.days.starts(day_id)
    assert [one.place for one in found] == list(range(1, len(found) + 1))
    return [one.id for one in found]


def test_the_order_is_changed_by_one_place_and_stays_at_its_ends(stores: Stores) -> None:
    day, (x, y, z) = three(stores)
    stores.days.move(day, z, -1)
    assert order(stores, day) == [x, z, y]
    stores.days.move(day, x, -1)
    assert order(stores, day) == [x, z, y]
    stores.days.move(day, x, 1)
    stores.days.move(day, x, 1)
    stores.days.move(day, x, 1)
    assert order(stores, day) == [z, y, x]


def test_a_start_belongs_to_its_day(stores: Stores) -> None:
    day, (x, *_) = three(stores)
    other, _ = three(stores)
    assert stores.days.start(day, x).id == x
    for ask in (lambda: stores.days.start(other, x), lambda: stores.days.move(other, x, 1)):
        with pytest.raises(NotStored, match="start: nothing stored"):
            ask()
    with pytest.raises(NotStored, match="day: nothing stored under 99"):
        stores.days.get(99)


def test_many_devices_that_open_a_start_at_once_get_one_program(stores: Stores, database: Database) -> None:
    day, (x, *_) = three(stores)
    skater = stores.days.start(day, x).skater_id
    got: list[int] = []

    def opened() -> None:
        with open_stores(database) as own:
            got.append(own.live.start(record(skater, "3F"), x).id)

    threads = [threading.Thread(target=opened) for _ in range(6)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(got) == 6
    assert len(set(got)) == 1
    assert len(stores.live.recent()) == 1


def test_a_start_with_a_program_is_never_taken_out(stores: Stores) -> None:
    day, (x, y, _) = three(stores)
    kept = stores.live.start(record(stores.days.start(day, x).skater_id, "3F"), x)
    assert not stores.days.remove(day, x)
    assert stores.days.remove(day, y)
    assert x in [one.id for one in stores.days.starts(day)]
    found = stores.days.of_program(kept.id)
    assert found is not None
    assert found.id == x


def test_layouts_are_taken_anew_until_a_pass_was_logged(stores: Stores) -> None:
    day, (x, *_) = three(stores)
    skater = stores.days.start(day, x).skater_id
    kept = stores.live.start(replace(record(skater, "3F", "2F"), event="Invented Cup"), x)
    assert stores.live.program(kept.id).variants == record(skater, "3F", "2F").variants
    later = replace(record(skater, "3Lz", "2Lz"), started_at=NOON + timedelta(hours=3), event="other")
    assert stores.live.renew(kept.id, later)
    now = stores.live.program(kept.id)
    assert (now.items, now.variants) == (later.items, later.variants)
    assert (now.started_at, now.event) == (NOON, "Invented Cup")
    stores.live.append(kept.id, "m", NOON, "laptop", "music started", {"instead_of": []})
    assert stores.live.renew(kept.id, later)
    stores.live.append(kept.id, "p", NOON, "laptop", "pass left out", {"number": 1})
    assert not stores.live.renew(kept.id, record(skater, "3S"))
    assert stores.live.program(kept.id) == now


def test_every_event_about_a_pass_is_known_to_the_store() -> None:
    skated = PassSkated(1, "3F", "", ())
    events = (skated, PassLeftOut(1), Corrected(skated, ("a",)), Inserted(1, skated))
    assert {to_record(one)[0] for one in events} == set(PASS_KINDS)


def test_programs_touched_lately_stand_by_their_latest_entry(stores: Stores) -> None:
    skater = stores.skaters.add("A").id
    old, first, second = (stores.live.start(record(skater, "3F")).id for _ in range(3))
    for name, program, hours in (("a", old, 0), ("b", second, 20), ("c", first, 21), ("d", second, 22)):
        stores.live.append(program, name, NOON + timedelta(hours=hours), "laptop", "stopped", {})
    touched = stores.live.touched(NOON + timedelta(hours=12))
    assert [one.id for one in touched] == [second, first]


def test_programs_from_before_there_were_days_have_no_layouts_to_choose(tmp_path: Path) -> None:
    database = Database(tmp_path / "old.sqlite3")
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with database.engine.connect() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0006")
        connection.execute(text("INSERT INTO skater VALUES (1, 'A', 0)"))
        connection.execute(
            text(
                "INSERT INTO live_program (id, skater_id, layout_name, edition, fingerprint, items, trained, kind,"
                " event,"
                " threshold, most_changes, harder_after_fall, after_fall_odds, second_half_odds, started_at) VALUES"
                " (1, 1, 'L', 'isu/2026-27/senior/women/free', 'f', '[]', '[]', 'run-through', '', 0.5, 2, 0, 0, 0,"
                " '2026-11-25 10:00:00')"
            )
        )
        connection.commit()
    database.migrate()
    with open_stores(database) as stores:
        assert stores.live.program(1).variants == ()
        assert stores.days.of_program(1) is None
    database.close()
