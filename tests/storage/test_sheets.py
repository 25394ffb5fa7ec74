"""Official sheets in the database. Skaters and sheets are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from app.storage.records import SheetRecord
from app.storage.stores import Stores
from tests.storage.test_live_log import program

NOON = datetime(2026, 11, 2, 12, tzinfo=UTC)
EDITION = "isu/2026-27/senior/women/free"


def test_the_sheets_of_a_skater_are_those_kept_for_them_and_those_of_their_programs(stores: Stores) -> None:
    live = stores.live.start(program(stores))
    other = stores.skaters.add("B")
    sheet = SheetRecord(EDITION, {"rows": []}, NOON)
    alone = stores.sheets.add(replace(sheet, skater_id=live.skater_id))
    added = stores.sheets.add(replace(sheet, program_id=live.id))
    stores.sheets.add(replace(sheet, skater_id=other.id))
    stores.sheets.add(sheet)
    assert stores.sheets.of_skater(live.skater_id) == (alone, added)
