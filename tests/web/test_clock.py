"""The clock on the live screen: started with the music, stopped and overruled; and putting a pass right."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest
from starlette.testclient import TestClient

from app import engine
from app.live.events import Author, Interrupted, MusicStarted, Stamped
from app.live.fold import fold
from app.live.program import Plan, PlannedPass, Setting
from app.storage.stores import Stores
from app.web.views.timing import clock_view

SENIOR, NOVICE = "isu/2026-27/senior/women/free", "isu/2022-23/intermediate-novice/all/free"


def start(laptop: TestClient) -> str:
    """A run-through of the demo; its address."""
    answer = laptop.post("/live", data={"layout_id": 1, "kind": "run-through"})
    return str(answer.headers["location"])


def tap(laptop: TestClient, address: str, event_id: str, ago: float = 0, **data: object) -> None:
    """Tap something so many seconds ago."""
    sent = datetime.now(UTC)
    made = sent - timedelta(seconds=ago)
    stamp = {"made_at": int(made.timestamp() * 1000), "sent_at": int(sent.timestamp() * 1000)}
    assert laptop.post(address, data=stamp | {"event_id": event_id} | data).status_code == 303


def said(laptop: TestClient, address: str) -> str:
    """The page as text."""
    text = re.sub(r"<[^>]+>", " ", laptop.get(address).text)
    return re.sub(r"\s+", " ", text)


def test_the_clock_starts_with_a_tap_and_counts_from_there(demo_laptop: TestClient) -> None:
    live = start(demo_laptop)
    assert "Music starts now" in said(demo_laptop, live)
    tap(demo_laptop, f"{live}/music", "m1", ago=75)
    assert re.search(
        r'class="clock-now">1:(1[5-9]|[2-5])', demo_laptop.get(live).text
    )  # on a slow machine later
    tap(demo_laptop, f"{live}/music", "m2", ago=2, instead_of="m1")
    assert re.search(r'class="clock-now">0:(0[2-9]|[1-5])', demo_laptop.get(live).text)


def test_a_pass_skated_in_the_second_half_by_the_clock_is_late_and_can_be_overruled(
    demo_laptop: TestClient,
) -> None:
    """The required time is 4:00, so the second half begins at 2:00 (ISU Communication 2176); planned at 0:18."""
    live = start(demo_laptop)
    tap(demo_laptop, f"{live}/music", "m1", ago=200)
    tap(demo_laptop, f"{live}/pass", "p1", ago=60, number=1, tap="3Lz+3T planned")
    assert "Counted as second half" in said(demo_laptop, f"{live}/passes")
    tap(demo_laptop, f"{live}/late", "l1", number=1, of="p1", late="no")
    assert "Counted as first half" in said(demo_laptop, f"{live}/passes")


def test_the_passes_after_a_late_one_are_advised_as_late(demo_laptop: TestClient) -> None:
    """The second pass is planned at 0:42; after a first one late by the clock it can only be in the second half."""
    live = start(demo_laptop)
    tap(demo_laptop, f"{live}/music", "m1", ago=200)
    assert "0:42, second half" not in said(demo_laptop, live)
    tap(demo_laptop, f"{live}/pass", "p1", ago=60, number=1, tap="3Lz+3T planned")
    assert "0:42, second half" in said(demo_laptop, live)
    tap(demo_laptop, f"{live}/late", "l1", number=1, of="p1", late="no")
    assert "0:42, second half" not in said(demo_laptop, live)


def test_an_interruption_says_what_it_costs_and_how_sure_that_is(demo_laptop: TestClient) -> None:
    live = start(demo_laptop)
    tap(demo_laptop, f"{live}/music", "m1", ago=60)
    tap(demo_laptop, f"{live}/interrupt", "i1", ago=15, music_stopped="no")
    text = said(demo_laptop, live)
    assert "Skater stopped" in text
    assert "over 10 up to 20 s: −1" in text
    assert "How sure: from memory, no source" in text
    assert "1:00" in text, "the music runs on"
    tap(demo_laptop, f"{live}/resume", "r1", of="i1")
    assert "Skater stopped 0" not in said(demo_laptop, live)


def test_the_clock_stands_while_the_music_does(demo_laptop: TestClient) -> None:
    live = start(demo_laptop)
    tap(demo_laptop, f"{live}/music", "m1", ago=60)
    tap(demo_laptop, f"{live}/interrupt", "i1", ago=30, music_stopped="yes")
    assert re.search(r'class="clock-now">0:30<', demo_laptop.get(live).text)
    tap(demo_laptop, f"{live}/resume", "r1", ago=10, of="i1")
    assert re.search(r'class="clock-now">0:4[0-2]<', demo_laptop.get(live).text)


@pytest.mark.parametrize(
    ("edition", "first", "allowance"),
    [
        (SENIOR, "−1", "−5"),  # Rule 353, from memory
        (NOVICE, "−0.5", "−2.5"),  # ISU Communication 2396: half the senior figures
    ],
)
def test_each_edition_has_its_own_deductions(edition: str, first: str, allowance: str) -> None:
    plan = Plan(edition, Setting.RUN_THROUGH, "", (PlannedPass("3S", 20, False),), seconds=240)
    stamped = [Stamped("m", 1000, Author(), MusicStarted()), Stamped("i", 1020, Author(), Interrupted(True))]
    view = clock_view(fold(plan, stamped), engine.edition(edition), 1050)
    assert view.costs[0].words == f"over 10 up to 20 s: {first}"
    assert allowance in view.allowance
    assert (view.face, view.stood_ms) == ("0:20", 1_020_000)


def test_a_pass_is_put_right_and_a_forgotten_one_comes_in(demo_laptop: TestClient) -> None:
    live = start(demo_laptop)
    tap(demo_laptop, f"{live}/pass", "p1", number=1, tap="3Lz+3T planned")
    tap(demo_laptop, f"{live}/pass", "p2", number=2, tap="3F planned")
    tap(demo_laptop, f"{live}/correct", "c1", number=1, of="p1", tap="3Lz+3T lost-2")
    text = said(demo_laptop, f"{live}/passes")
    assert "Pass 1: tail lost (3Lz)" in text
    tap(demo_laptop, f"{live}/insert", "n1", before=2, tap="typed", code="2A")
    text = said(demo_laptop, f"{live}/passes")
    assert "Pass 2: something else (2A)" in text
    assert "Pass 3: as planned (3F)" in text
    assert "Pass 4 of 6" in said(demo_laptop, live)
    tap(demo_laptop, f"{live}/pass", "p3", number=3, tap="left out")
    assert "Pass 4: not attempted" in said(demo_laptop, f"{live}/passes")


def test_what_cannot_be_a_pass_is_refused_in_words(demo_laptop: TestClient, stores: Stores) -> None:
    live = start(demo_laptop)
    for number, tapped in ((0, "left out"), (99, "left out"), (1, "3Lz+3T flew"), (1, "typed")):
        answer = demo_laptop.post(f"{live}/pass", data={"number": number, "tap": tapped, "event_id": "x"})
        assert "Not logged." in answer.text
    answer = demo_laptop.post(
        f"{live}/correct", data={"number": 1, "of": " ", "tap": "left out", "event_id": "y"}
    )
    assert answer.status_code == 422 or "Not corrected" in answer.text
    assert stores.live.events(int(live.rsplit("/", 1)[1])) == ()
