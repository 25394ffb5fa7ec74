"""Jumps by day and week through the app. The skater and every number are invented."""

from __future__ import annotations

import html
import re
from datetime import UTC, date, datetime, timedelta
from xml.etree import ElementTree

import pytest
from starlette.testclient import TestClient

from app.live.events import PassSkated, Reading, to_record
from app.practice.load import DayLoad, Where, weeks_of
from app.storage.database import Database
from app.storage.records import AttemptRecord, DrillRecord, LayoutItem, LiveProgramRecord
from app.storage.stores import Stores, open_stores
from app.web.load_picture import BAR_END, LEFT, draw_calendar, draw_weeks
from app.web.routes.log import today
from app.web.views.load import CAUTIONS, WEEKS

SVG = "{http://www.w3.org/2000/svg}"
JUDGING = ("too many", "too few", "good", "goal", "target", "streak", "record", "best", "exceed", "warning")
MONDAY = date(2026, 11, 2)


def words(text: str) -> str:
    """A page without its tags."""
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)))


def attempt(
    day: date, code: str, place: str = "alone", count: int = 1, sending: str = "one"
) -> AttemptRecord:
    return AttemptRecord(1, f"{sending}-{day}-{place}-{code}", code, "", day, place, "clean", count)


def skated(stores: Stores, code: str, kind: str = "run-through") -> None:
    """A program of one pass, logged live just now."""
    record = LiveProgramRecord(
        1,
        "Invented",
        "isu/2026-27/senior/women/free",
        "",
        (LayoutItem("jump", code, 20),),
        (),
        "competition" if kind == "competition" else "run-through",
        datetime.now(UTC),
    )
    program = stores.live.start(record)
    name, payload = to_record(PassSkated(1, code, "as planned", (Reading(code),)))
    stores.live.append(program.id, f"p-{program.id}", datetime.now(UTC), "boards", name, payload)


def test_every_source_is_counted_once(laptop: TestClient, database: Database) -> None:
    on = today()
    with open_stores(database) as stores:
        stores.skaters.add("Invented")
        for one in (
            attempt(on, "2A", count=5),
            attempt(on, "3Lz+3T", "run-through"),
            attempt(on, "2A", "drill"),
        ):
            stores.attempts.append([one], datetime.now(UTC))
        stores.drills.append(
            DrillRecord(1, "drill-001", on, "p", 1, "tail lost", "3T", ("1Lz",)), datetime.now(UTC)
        )
        skated(stores, "3Lz+3T")  # the same run-through as in the own log
        skated(stores, "3F", "competition")
    text = words(laptop.get("/skaters/1/load").text)
    # 5 + 2 in practice, the single and one 2A in drills, one 3F in competition.
    assert "In these weeks: 1 in competition, 7 in practice, 2 in rehearsal drills." in text
    assert "10 jumps; 1 single, 6 double, 3 triple;" in text


def test_the_page_judges_nothing_and_names_its_sources(demo_laptop: TestClient) -> None:
    text = words(demo_laptop.get("/skaters/1/load").text)
    assert "ask a licensed coach or a doctor" in text
    for one in CAUTIONS:
        assert one.says in text
        assert one.source in text
        assert f"How sure: {one.sure}." in text
    before = text.split("Take care")[0]
    assert "It sets no target and knows no limit" in before
    rest = before.replace("It sets no target and knows no limit", "").lower()
    assert not [word for word in JUDGING if re.search(rf"\b{word}\b", rest)]


def test_earlier_weeks_can_be_turned_to(laptop: TestClient, database: Database) -> None:
    old = today() - timedelta(weeks=WEEKS + 1)
    with open_stores(database) as stores:
        stores.skaters.add("Invented")
        stores.attempts.append([attempt(old, "3S", count=4)], datetime.now(UTC))
    now = laptop.get("/skaters/1/load").text
    assert f"/skaters/1/load?back={WEEKS}" in now
    assert "Later weeks" not in now
    then = laptop.get(f"/skaters/1/load?back={WEEKS}").text
    assert "4 in practice" in words(then)
    assert "Earlier weeks" not in then
    assert "/skaters/1/load?back=0" in then
    assert laptop.get("/skaters/1/load?back=-5").status_code == 200


def test_a_skater_without_a_log_has_an_empty_page(laptop: TestClient, database: Database) -> None:
    with open_stores(database) as stores:
        stores.skaters.add("Invented")
    text = words(laptop.get("/skaters/1/load").text)
    assert "No jump is logged in these weeks." in text
    assert laptop.get("/skaters/9/load").status_code == 404


def tree(drawn: object) -> ElementTree.Element:
    """A picture, read back as XML."""
    return ElementTree.fromstring(str(drawn).replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1))


def load(*days: tuple[int, str, int]) -> dict[date, DayLoad]:
    """Jumps by day after `MONDAY`."""
    found: dict[date, dict[tuple[str, Where], int]] = {}
    for number, name, count in days:
        found.setdefault(MONDAY + timedelta(days=number), {})[name, Where.PRACTICE] = count
    return {day: DayLoad(day, jumps) for day, jumps in found.items()}


def test_the_calendar_shows_numbers_rings_and_nothing_for_days_to_come() -> None:
    days = load((0, "2A", 12), (2, "3S", 30))
    now = MONDAY + timedelta(days=4)
    svg = tree(draw_calendar(weeks_of(days, MONDAY, now, 2), now, MONDAY))
    numbers = [one.text for one in svg.iter(f"{SVG}text") if one.get("class") == "number"]
    assert numbers == ["12", "30"]
    assert len(list(svg.iter(f"{SVG}circle"))) == 3  # Tuesday, Thursday, Friday
    lengths = [float(one.get("width", "0")) for one in svg.iter(f"{SVG}rect")]
    assert lengths[0] / lengths[1] == pytest.approx(12 / 30, abs=0.01)
    said = svg.findtext(f"{SVG}desc")
    assert said is not None
    assert ": 12" in said


def test_a_bar_is_parted_by_turns_with_a_pattern_for_each() -> None:
    days = load((0, "1A", 5), (0, "2A", 10), (1, "3S", 20), (1, "4T", 5), (7, "3S", 20))
    now = MONDAY + timedelta(days=8)
    svg = tree(draw_weeks(weeks_of(days, MONDAY, now, 2)))
    bars = [one for one in svg.iter(f"{SVG}rect") if one.get("class", "").startswith("turns")][
        4:
    ]  # after the legend
    assert [one.get("class") for one in bars] == ["turns t1", "turns t2", "turns t3", "turns t4", "turns t3"]
    widths = [float(one.get("width", "0")) for one in bars]
    assert sum(widths[:4]) == pytest.approx(BAR_END - LEFT, abs=0.5)
    assert [round(40 * one / (BAR_END - LEFT)) for one in widths] == [5, 10, 20, 5, 20]
    assert {one.get("id") for one in svg.iter(f"{SVG}pattern")} == {"two-turns", "four-turns"}
