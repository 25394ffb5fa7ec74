"""A pass has an entry and spare seconds behind it: kept, shown, refused in words. The skater is the invented demo."""

from __future__ import annotations

import html

import pytest
from starlette.testclient import TestClient

from app.storage import rows
from app.storage.database import Database
from app.storage.records import LayoutItem
from app.storage.stores import open_stores

BARE = {"code": "3Lz+3T", "seconds": "0:18", "goe": "0.5", "options": "3Lz+2T"}
ROW = {**BARE, "asked": "entry"}


def first_row(database: Database, layout: int = 1) -> LayoutItem:
    with open_stores(database) as stores:
        return stores.layouts.get(layout).items[0]


def test_entry_and_slack_are_kept_and_shown(demo_laptop: TestClient, database: Database) -> None:
    given = {**ROW, "entry": "  back outside,  far corner ", "slack": "7"}
    assert demo_laptop.post("/layouts/1/rows/0", data=given).status_code == 303
    row = first_row(database)
    assert (row.entry, row.slack) == ("back outside, far corner", 7)
    assert "Entry: back outside, far corner. 7 s to spare behind it" in demo_laptop.get("/layouts/1").text


def test_a_form_that_says_nothing_of_them_leaves_them_alone(
    demo_laptop: TestClient, database: Database
) -> None:
    before = first_row(database)
    assert before.entry
    assert demo_laptop.post("/layouts/1/rows/0", data=BARE).status_code == 303
    after = first_row(database)
    assert (after.entry, after.slack) == (before.entry, before.slack)


def test_an_empty_field_takes_them_away(demo_laptop: TestClient, database: Database) -> None:
    demo_laptop.post("/layouts/1/rows/0", data={**ROW, "entry": "", "slack": ""})
    row = first_row(database)
    assert (row.entry, row.slack) == ("", 0)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"slack": "-1"}, "expected whole seconds from 0 to 60"),
        ({"slack": "61"}, "expected whole seconds from 0 to 60"),
        ({"slack": "1.5"}, "expected whole seconds from 0 to 60"),
        ({"slack": "²"}, "expected whole seconds from 0 to 60"),
        ({"entry": "x" * 81}, "81 letters given; expected at most 80"),
    ],
)
def test_what_cannot_be_an_entry_or_seconds_is_refused(
    demo_laptop: TestClient, database: Database, change: dict[str, str], said: str
) -> None:
    before = first_row(database)
    answer = demo_laptop.post("/layouts/1/rows/0", data={**ROW, **change})
    assert answer.status_code == 422
    assert said in html.unescape(answer.text)
    assert first_row(database) == before


def test_a_spin_has_neither(demo_laptop: TestClient, database: Database) -> None:
    given = {"code": "FCSp4", "seconds": "1:22", "asked": "entry", "entry": "mohawk", "slack": "3"}
    assert demo_laptop.post("/layouts/1/rows/3", data=given).status_code == 303
    with open_stores(database) as stores:
        spin = stores.layouts.get(1).items[3]
    assert (spin.code, spin.entry, spin.slack) == ("FCSp4", "", 0)


def test_a_layout_stored_before_there_were_entries_can_still_be_read() -> None:
    old = {"kind": "jump", "code": "3S", "start": 20, "goe": 0.0, "options": [None]}
    assert rows.items_from_json([old]) == (LayoutItem("jump", "3S", 20, options=(None,)),)
