"""Own rulebooks in the database, and editions kept as they were. All changed numbers are invented."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from sqlmodel import select

from app.errors import InputError
from app.rulebook.editions import SHELF, Edition, Shelf, edition, edition_names
from app.rulebook.own import changed
from app.storage import tables
from app.storage.database import Database
from app.storage.records import LayoutItem, LayoutRecord
from app.storage.stores import Stores, open_stores

WOMEN = "isu/2026-27/senior/women/free"
NOON = datetime(2026, 1, 10, 12, tzinfo=UTC)


def five_boxes() -> Edition:
    draft = changed(edition(WOMEN), {"boxes.most": "5"})
    assert draft.edition is not None
    return draft.edition


def test_a_changed_rulebook_is_a_new_version_and_the_old_one_stays(stores: Stores) -> None:
    first = stores.rulebooks.add(five_boxes(), "Club cup", NOON)
    draft = changed(first, {"boxes.most": "4"})
    assert draft.edition is not None
    second = stores.rulebooks.add(draft.edition, "Club cup", NOON)
    assert [first.name, second.name] == ["own/club-cup/1/women/free", "own/club-cup/2/women/free"]
    assert edition(first.name).boxes == 5
    assert edition(second.name).boxes == 4
    assert {first.name, second.name} <= set(edition_names())


def test_own_rulebooks_are_there_after_a_restart(database: Database) -> None:
    with open_stores(database) as stores:
        made = stores.rulebooks.add(five_boxes(), "Club cup", NOON)
    SHELF.own.clear()
    shelf = Shelf()
    with open_stores(database) as stores:
        stores.rulebooks.fill(shelf)
    assert shelf.own[made.name].fingerprint == made.fingerprint
    assert shelf.own[made.name].copied_from == WOMEN


def test_one_that_cannot_be_read_stops_nothing(stores: Stores, database: Database) -> None:
    made = stores.rulebooks.add(five_boxes(), "Club cup", NOON)
    with database.session() as session:
        session.add(tables.OwnRulebook(slug="broken", version=1, text="[file", made_at=NOON))
        session.add(tables.KeptRulebook(edition=WOMEN, fingerprint="x", snapshot={"rules": {"boxes": 1}}))
        session.commit()
    shelf = Shelf()
    stores.rulebooks.fill(shelf)
    assert set(shelf.own) == {made.name}
    assert shelf.kept == {}


def test_a_name_that_is_none_is_refused_and_nothing_is_kept(stores: Stores) -> None:
    with pytest.raises(InputError, match="expected a name"):
        stores.rulebooks.add(five_boxes(), "★", NOON)
    shelf = Shelf()
    stores.rulebooks.fill(shelf)
    assert shelf.own == {}


def test_two_windows_never_make_the_same_version(database: Database) -> None:
    def make() -> None:
        with open_stores(database) as stores:
            stores.rulebooks.add(five_boxes(), "Club cup", NOON)

    threads = [threading.Thread(target=make) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(SHELF.own) == [f"own/club-cup/{n}/women/free" for n in (1, 2, 3, 4)]


def layout(stores: Stores, fingerprint: str) -> LayoutRecord:
    skater = stores.skaters.add("A")
    items = (LayoutItem("jump", "3T", 10),)
    return stores.layouts.save(LayoutRecord(skater.id, "Free", WOMEN, fingerprint, items))


def test_saving_a_layout_keeps_the_rulebook_it_rests_on(stores: Stores, database: Database) -> None:
    saved = layout(stores, edition(WOMEN).fingerprint)
    stores.layouts.save(replace(saved, name="Free, again"))
    layout(stores, "of another day")
    with database.session() as session:
        kept = [(row.edition, row.fingerprint) for row in session.exec(select(tables.KeptRulebook))]
    assert kept == [(WOMEN, edition(WOMEN).fingerprint)]


def test_what_an_older_database_rests_on_is_kept_at_the_start(stores: Stores, database: Database) -> None:
    layout(stores, edition(WOMEN).fingerprint)
    with database.session() as session:
        for row in session.exec(select(tables.KeptRulebook)):
            session.delete(row)
        session.commit()
    stores.rulebooks.fill(Shelf())
    with database.session() as session:
        assert [row.edition for row in session.exec(select(tables.KeptRulebook))] == [WOMEN]


def test_an_earlier_state_is_on_the_shelf_and_todays_is_not(
    stores: Stores, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The shipped numbers change after the layout was saved: invented, five boxes instead of six."""
    before = edition(WOMEN)
    layout(stores, before.fingerprint)
    shelf = Shelf()
    stores.rulebooks.fill(shelf)
    assert shelf.kept == {}
    updated = {WOMEN: five_boxes()}
    monkeypatch.setattr("app.rulebook.editions._all", lambda: updated)
    stores.rulebooks.fill(shelf)
    assert shelf.kept[WOMEN, before.fingerprint].boxes == 6
    assert edition(WOMEN).boxes == 5
