"""A sheet into the own log: asked first, once, never double, and taken out again. Everything is invented.

The demo's program of 23 November 2026 (five days before) was called 3Lz, 3F!, 2A, 3Lo, 3F+2T+2Lo, 3S+3Tq where
3Lz+3T, 3F, 2A, 3Lo, 3F+2T+2Lo and 3S+3T were tried.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime

import pytest
from starlette.testclient import TestClient

from app.storage.records import AttemptRecord, SheetRecord
from app.storage.stores import Stores
from tests.web.test_season import TODAY, laptop_in_season, seeded
from tests.web.test_sheet_skate import words

__all__ = ["laptop_in_season", "seeded"]

SKATE = date(2026, 11, 23)
TRIED = ["3Lz+3T", "3F", "2A", "3Lo", "3F+2T+2Lo", "3S+3T"]
ENDED = ["tail not tried", "edge", "clean", "clean", "clean", "q"]


@pytest.fixture
def sheet(seeded: Stores) -> SheetRecord:
    """The sheet of the last free skating in competition."""
    return seeded.sheets.of_skater(1)[-1]


def form_of(page: str) -> dict[str, list[str]]:
    """What the form would send if nothing were changed."""
    part = page.split('<section id="log"')[1].split("</section>")[0]
    rows = re.findall(r'name="rows" value="(\d+)" checked', part)
    meant = re.findall(r'name="meant" value="([^"]+)"', part)
    meant += [one.split('"')[0] for one in re.findall(r'<select name="meant"><option value="([^>]+)>', part)]
    return {"rows": rows, "meant": meant}


def of_the_day(stores: Stores, day: date = SKATE) -> list[AttemptRecord]:
    return [one for one in stores.attempts.of_skater(1) if one.day == day and one.place == "competition"]


def test_nothing_is_counted_before_somebody_says_so(
    laptop_in_season: TestClient, seeded: Stores, sheet: SheetRecord
) -> None:
    said = words(laptop_in_season.get(f"/sheets/{sheet.id}").text)
    assert "May these attempts be counted in Tavi Ostrelle (invented)'s own log, on 23 November 2026" in said
    assert "3Lz : 3Lz+3T, tail not tried" in said or "3Lz: 3Lz+3T, tail not tried" in said
    assert of_the_day(seeded) == []


def test_ticked_rows_are_counted_once_and_taken_out_again(
    laptop_in_season: TestClient, seeded: Stores, sheet: SheetRecord
) -> None:
    address = f"/sheets/{sheet.id}"
    form = form_of(laptop_in_season.get(address).text)
    assert len(form["rows"]) == 6
    for _ in range(2):
        answer = laptop_in_season.post(f"{address}/log", data=form)
        assert answer.headers["location"] == f"{address}#log"
        assert [(one.code, one.fate) for one in of_the_day(seeded)] == list(zip(TRIED, ENDED, strict=True))
    said = words(laptop_in_season.get(address).text)
    assert "6 attempts of this skate are in Tavi Ostrelle (invented)'s own log." in said
    assert "Add these to the own log" not in said
    laptop_in_season.post(f"{address}/log/undo")
    assert of_the_day(seeded) == []
    laptop_in_season.post(f"{address}/log", data=form)
    assert len(of_the_day(seeded)) == 6


def test_an_unticked_row_is_left_out(
    laptop_in_season: TestClient, seeded: Stores, sheet: SheetRecord
) -> None:
    form = form_of(laptop_in_season.get(f"/sheets/{sheet.id}").text)
    laptop_in_season.post(f"/sheets/{sheet.id}/log", data=form | {"rows": form["rows"][1:]})
    assert [one.code for one in of_the_day(seeded)] == TRIED[1:]


def test_a_second_sheet_of_the_same_program_adds_nothing(
    laptop_in_season: TestClient, seeded: Stores, sheet: SheetRecord
) -> None:
    form = form_of(laptop_in_season.get(f"/sheets/{sheet.id}").text)
    laptop_in_season.post(f"/sheets/{sheet.id}/log", data=form)
    again = seeded.sheets.add(SheetRecord(sheet.edition, sheet.sheet, datetime.now(UTC), 1, sheet.program_id))
    assert "6 attempts of this skate are in" in words(laptop_in_season.get(f"/sheets/{again.id}").text)
    laptop_in_season.post(f"/sheets/{again.id}/log", data=form)
    assert len(of_the_day(seeded)) == 6


def test_what_is_logged_already_of_that_skate_is_not_counted_again(
    laptop_in_season: TestClient, seeded: Stores, sheet: SheetRecord
) -> None:
    """One attempt at 3F by hand, in competition on that day: the row of the 3F is not offered and not taken."""
    mine = AttemptRecord(1, "by-hand-1", "3F", "three-turn", SKATE, "competition", "error")
    seeded.attempts.append([mine], datetime.now(UTC))
    page = laptop_in_season.get(f"/sheets/{sheet.id}").text
    assert "already in the log of that day" in words(page)
    form = form_of(page)
    assert len(form["rows"]) == 5
    forced = {"rows": [*form["rows"], "2"], "meant": [*form["meant"], "2 3F"]}
    assert laptop_in_season.post(f"/sheets/{sheet.id}/log", data=forced).status_code == 422
    laptop_in_season.post(f"/sheets/{sheet.id}/log", data=form)
    assert sorted(one.code for one in of_the_day(seeded)) == sorted(TRIED)


def test_a_sheet_alone_asks_for_the_day_and_what_was_meant(
    laptop_in_season: TestClient, seeded: Stores, sheet: SheetRecord
) -> None:
    read = datetime(2026, 11, 20, 12, tzinfo=UTC)
    alone = seeded.sheets.add(SheetRecord(sheet.edition, sheet.sheet, read, 1))
    page = laptop_in_season.get(f"/sheets/{alone.id}").text
    assert "No logged program says what was meant" in words(page)
    assert '<option value="1 3Lz+3T">' in page
    form = form_of(page)
    assert form["meant"][0] == "1 3Lz"
    day = date(2026, 11, 15)
    changed = {**form, "meant": ["1 3Lz+3T", *form["meant"][1:]], "day": day.isoformat()}
    laptop_in_season.post(f"/sheets/{alone.id}/log", data=changed)
    found = of_the_day(seeded, day)
    assert (found[0].code, found[0].fate) == ("3Lz+3T", "tail not tried")
    # The same sheet brought in once more is the same skate.
    twice = seeded.sheets.add(SheetRecord(sheet.edition, sheet.sheet, read, 1))
    assert "are in Tavi" in words(laptop_in_season.get(f"/sheets/{twice.id}").text)


def test_what_cannot_be_counted_is_refused(
    laptop_in_season: TestClient, seeded: Stores, sheet: SheetRecord
) -> None:
    address = f"/sheets/{sheet.id}/log"
    for form in (
        {},
        {"rows": ["1"], "meant": ["1 4Lz"]},
        {"rows": ["99"], "meant": ["99 3Lz+3T"]},
        {"rows": ["1"], "meant": ["2 3F"]},
        {"rows": ["1"], "meant": ["many"]},
        {"rows": ["1"], "meant": ["9" * 5_000 + " 3F"]},
        {"rows": ["1"], "meant": ["1 3Lz+3T"], "day": "2126-01-01x"},
    ):
        assert laptop_in_season.post(address, data=form).status_code == 422
    assert of_the_day(seeded) == []
    nobody = seeded.sheets.add(SheetRecord(sheet.edition, sheet.sheet, datetime.now(UTC)))
    assert 'id="log"' not in laptop_in_season.get(f"/sheets/{nobody.id}").text
    assert laptop_in_season.post(f"/sheets/{nobody.id}/log", data={"rows": ["1"]}).status_code == 422


def test_a_stopped_program_adds_nothing(
    laptop_in_season: TestClient, seeded: Stores, sheet: SheetRecord
) -> None:
    form = form_of(laptop_in_season.get(f"/sheets/{sheet.id}").text)
    laptop_in_season.post(f"/live/{sheet.program_id}/hurt", data={"event_id": "hurt-1"})
    assert 'id="log"' not in laptop_in_season.get(f"/sheets/{sheet.id}").text
    assert laptop_in_season.post(f"/sheets/{sheet.id}/log", data=form).status_code == 422
    assert of_the_day(seeded) == []


def test_an_element_that_is_new_is_listed_and_not_ticked(
    laptop_in_season: TestClient, seeded: Stores, sheet: SheetRecord
) -> None:
    skater = seeded.skaters.add("Another, invented")
    other = seeded.sheets.add(
        SheetRecord(sheet.edition, sheet.sheet, datetime(2026, 11, 20, tzinfo=UTC), skater.id)
    )
    form = form_of(laptop_in_season.get(f"/sheets/{other.id}").text)
    assert (
        laptop_in_season.post(f"/sheets/{other.id}/log", data=form | {"day": "2026-11-20"}).status_code == 303
    )
    # The same sheet kept for somebody else is another skate.
    mine = seeded.sheets.add(SheetRecord(sheet.edition, sheet.sheet, datetime(2026, 11, 20, tzinfo=UTC), 1))
    assert (
        laptop_in_season.post(f"/sheets/{mine.id}/log", data=form | {"day": "2026-11-20"}).status_code == 303
    )
    assert len(of_the_day(seeded, date(2026, 11, 20))) == 6
    listed = seeded.skaters.trained(skater.id)
    assert {one.code for one in listed} == {"3Lz", "3F", "2A", "3Lo", "3F+2T+2Lo", "3S+3T"}
    assert not any(one.ready for one in listed)


def test_the_demo_is_of_the_day_the_test_thinks(seeded: Stores, sheet: SheetRecord) -> None:
    assert sheet.program_id is not None
    assert seeded.live.program(sheet.program_id).started_at.date() == SKATE
    assert (TODAY - SKATE).days == 5
