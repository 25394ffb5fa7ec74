"""A competition day and its warm-up, as the screens give them. Skaters, chances and the event are invented."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app import engine
from app.security.tokens import COOKIE, hash_of
from app.storage.database import Database
from app.storage.records import LayoutItem, LayoutRecord, OutcomeRecord, Role, TrainedRecord
from app.storage.stores import open_stores

EDITION = "isu/2026-27/senior/women/free"
Knock = Callable[..., TestClient]
CHANCES = {"3A": 0.4, "2A": 0.2, "3F": 0.3, "3S": 0.1}
"""Chance of a fall of each element; else it lands with grade 1. Invented."""


@pytest.fixture
def day(database: Database) -> Database:
    """Day 1: skater 1 with layouts 1 (A: 3A, 3S), 2 (B: 2A, 3S), 3 (C: 3F, 3F); skater 2 with layout 4."""
    today = date(2026, 11, 25)
    with open_stores(database) as stores:
        for name in ("Ada (invented)", "Bo (invented)"):
            skater = stores.skaters.add(name, invented=True)
            for code, fall in CHANCES.items():
                ends = (OutcomeRecord(code, 1 - fall, 1.0), OutcomeRecord(code, fall, -5.0, fall=True))
                last = max(today, datetime.now(UTC).date())
                stores.skaters.save_trained(
                    TrainedRecord(skater.id, code, "", True, 30, 20, ends, last, cue="")
                )
        for skater_id, name, codes in ((1, "Triple", "3A 3S"), (1, "Double", "2A 3S"), (1, "Twice", "3F 3F")):
            stores.layouts.save(layout(skater_id, name, codes))
        stores.layouts.save(layout(2, "Hers", "3F 3S"))
        made = stores.days.add("Invented Cup", "competition", datetime.now(UTC))
        stores.days.add_start(made.id, 1, (1, 2, 3))
        stores.days.add_start(made.id, 2, (4,))
    return database


def layout(skater_id: int, name: str, codes: str) -> LayoutRecord:
    """Jumps only, all in the first half."""
    items = tuple(LayoutItem("jump", code, 20 * n, 1.0) for n, code in enumerate(codes.split(), start=1))
    return LayoutRecord(skater_id, name, EDITION, "", items)


def text_of(page: str) -> str:
    """What is read on a page."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def reckoned(client: TestClient) -> str:
    """The warm-up page once its figures are there."""
    for _ in range(300):
        page = client.get("/day/1/starts/1").text
        if "being reckoned" not in page:
            return page
        time.sleep(0.1)
    raise AssertionError("no figures within 30 s")


def choose(client: TestClient, letter: str, event_id: str = "") -> str:
    """Choose a layout; the page that comes."""
    sent = {"letter": letter, "event_id": event_id or f"choice-{letter}"}
    answer = client.post("/day/1/starts/1/choose", data=sent)
    return client.get(answer.headers["location"]).text if answer.status_code == 303 else answer.text


def planned(client: TestClient, program: int = 1) -> str:
    """The element the live screen asks about."""
    page = client.get(f"/live/{program}").text
    found = re.search(r"<h2[^>]*>(.*?)</h2>", page[page.index('class="pad') :], re.S)
    assert found
    return text_of(found[1])


def log_pass(client: TestClient, number: int, event_id: str, code: str, program: int = 1) -> None:
    """Log a pass as landed."""
    sent = {"event_id": event_id, "number": str(number), "tap": "typed", "code": code}
    assert client.post(f"/live/{program}/pass", data=sent).status_code == 303


def test_the_figures_of_each_layout_are_those_of_the_arithmetic(day: Database, laptop: TestClient) -> None:
    # By hand: two jumps, each lands (base + 10 % of it: grade +1, Rule 353) or falls (base - 50 % - 1 point, the
    # deduction of a first and second fall). The pass after a fall is reckoned as usual here.
    with open_stores(day) as stores:
        stores.settings.change("after_fall_odds", "no")
    said = text_of(reckoned(laptop))
    book = engine.edition(EDITION)

    def hand(*codes: str) -> tuple[str, str]:
        lines = engine.review(book, [engine.Performed(code) for code in codes]).lines
        base = [line.base_value / 100 for line in lines]
        unruled = [engine.review(book, [engine.Performed(code)]).base_total / 100 for code in codes]
        points = sum(
            value + (1 - CHANCES[c]) * 0.1 * own - CHANCES[c] * (0.5 * own + 1)
            for c, value, own in zip(codes, base, unruled, strict=True)
        )
        stands = 1.0
        for code in codes:
            stands *= 1 - CHANCES[code]
        return f"{points:.1f}", f"{round(100 * (1 - stands))} %"

    for codes in (("3A", "3S"), ("2A", "3S")):
        points, fall = hand(*codes)
        assert f"Plan kept {points}" in said
        assert f"A fall {fall}" in said
    less = float(hand("3A", "3S")[0]) - float(hand("2A", "3S")[0])
    assert re.search(
        r"B: 2A instead of 3A on pass 1; \d\.\d points less on average, a fall less likely \(28 % instead of 46 %\)",
        said,
    )
    assert abs(float(re.search(r"pass 1; (\d\.\d) points less", said)[1]) - less) <= 0.11  # type: ignore[index]


def test_what_is_wrong_with_a_layout_is_said(day: Database, laptop: TestClient) -> None:
    # A repeated triple without a combination keeps 70 % (Rule 611, "+REP").
    said = text_of(laptop.get("/day/1/starts/1").text)
    assert "3F counts in part" in said
    assert "2 of 6 jump elements" in said


def test_the_chosen_layout_is_the_one_skated_and_seen_by_all(day: Database, laptop: TestClient) -> None:
    laptop.post("/day/1/starts/1/open")
    assert "3A" in planned(laptop)
    before = laptop.get("/live/1/news?seen=0")
    assert before.status_code == 204
    assert "Skate A" in choose(laptop, "B")
    assert "2A" in planned(laptop)
    assert laptop.get("/live/1/news?seen=0").status_code == 200
    assert "B: Double" in laptop.get("/day/1").text
    assert "Double" in laptop.get("/live").text


def test_the_same_choice_sent_twice_counts_once(day: Database, laptop: TestClient) -> None:
    choose(laptop, "B", "one")
    choose(laptop, "C", "two")
    choose(laptop, "B", "one")
    assert "3F" in planned(laptop)
    assert [one["payload"] for one in laptop.get("/live/1/log").json()] == [{"letter": "B"}, {"letter": "C"}]


def test_after_the_first_pass_the_layout_stays_and_nothing_logged_is_lost(
    day: Database, laptop: TestClient
) -> None:
    choose(laptop, "B")
    log_pass(laptop, 1, "p1", "2A")
    with open_stores(day) as stores:
        stores.layouts.save(
            LayoutRecord(1, "Double", EDITION, "", (LayoutItem("jump", "1A", 20, 0.0),), id=2)
        )
    said = text_of(choose(laptop, "C"))
    assert "a pass is logged already" in said
    assert "Layout B is being skated. After the first logged pass it cannot be changed any more." in said
    assert "Skate C" not in said
    assert "Plan kept" not in said
    assert "3S" in planned(laptop)
    assert len(laptop.get("/live/1/log").json()) == 2


def test_a_pass_logged_by_mistake_and_undone_does_not_shut_the_choice(
    day: Database, laptop: TestClient
) -> None:
    choose(laptop, "B")
    log_pass(laptop, 1, "p1", "2A")
    laptop.post("/live/1/undo", data={"event_id": "u1", "number": "1", "of": "p1"})
    choose(laptop, "C", "again")
    assert "3F" in planned(laptop)


def test_a_layout_changed_after_opening_is_taken_with_the_next_choice(
    day: Database, laptop: TestClient
) -> None:
    choose(laptop, "B")
    with open_stores(day) as stores:
        stores.layouts.save(
            LayoutRecord(1, "Double", EDITION, "", (LayoutItem("jump", "3F", 20, 0.0),), id=2)
        )
    assert "2A" in planned(laptop)
    assert "Choose again to take them as they are now" in laptop.get("/day/1/starts/1").text
    assert "Choose again" not in choose(laptop, "B", "again")
    assert "3F" in planned(laptop)


def test_hurt_takes_figures_and_choice_away(day: Database, laptop: TestClient) -> None:
    choose(laptop, "B")
    laptop.post("/live/1/hurt", data={"event_id": "h"})
    said = text_of(laptop.get("/day/1/starts/1").text)
    assert "Stopped. Nothing is chosen or advised" in said
    assert "Plan kept" not in said
    assert "Skate" not in said
    assert "✚ stopped" in text_of(laptop.get("/day/1").text)


def status(client: TestClient, place: int = 0) -> str:
    """The status word of a start on the day page."""
    found = re.findall(r'class="status"><span[^>]*>[^<]*</span> ([^<]*)<', client.get("/day/1").text)
    return str(found[place])


def test_the_words_of_a_start_from_first_to_last(day: Database, laptop: TestClient) -> None:
    assert status(laptop) == "to come"
    laptop.post("/day/1/starts/1/open")
    assert status(laptop) == "to come", "a wrong tap changes nothing"
    laptop.post("/day/1/starts/1/mark", data={"mark": "warm-up"})
    assert status(laptop) == "in warm-up"
    log_pass(laptop, 1, "p1", "3A")
    assert status(laptop) == "skating"
    log_pass(laptop, 2, "p2", "3S")
    assert status(laptop) == "done"
    laptop.post("/day/1/starts/2/withdraw", data={"withdrawn": "yes"})
    assert status(laptop, 1) == "withdrawn"
    laptop.post("/day/1/starts/2/withdraw", data={"withdrawn": "no"})
    assert status(laptop, 1) == "to come"


def test_one_tap_to_the_next_skater_and_back(day: Database, laptop: TestClient) -> None:
    laptop.post("/day/1/starts/1/open")
    page = laptop.get("/live/1").text
    assert 'action="/day/1/starts/2/open"' in page
    assert "Next: Bo (invented)" in page
    assert laptop.post("/day/1/starts/2/open").headers["location"] == "/live/2"
    assert 'href="/live/1">Before: Ada (invented)' in laptop.get("/live/2").text
    assert 'href="/live/2">Next: Bo (invented)' in laptop.get("/live/1").text
    assert laptop.post("/day/1/starts/2/open").headers["location"] == "/live/2"


def test_a_program_under_way_is_first_on_the_first_page_also_after_a_restart(
    day: Database, laptop: TestClient, made_app: Callable[..., FastAPI], knock: Knock
) -> None:
    laptop.post("/day/1/starts/1/open")
    assert "Go on" not in laptop.get("/").text
    log_pass(laptop, 1, "p1", "3A")
    again = made_app()
    for client in (laptop, knock(again)):
        page = client.get("/").text
        assert 'href="/live/1"><span>Go on: Ada (invented)</span>' in page
        assert page.index("Go on") < page.index("<h1>")
        assert "pass 2 of 2 next" in page
    laptop.post("/day/1/starts/1/mark", data={"mark": "done"})
    assert "Go on" not in laptop.get("/").text
    assert 'href="/live/1"' in laptop.get("/day/1").text, "still reachable"


def test_advice_is_confirmed_once_for_the_whole_day(day: Database, laptop: TestClient) -> None:
    for start in (1, 2):
        laptop.post(f"/day/1/starts/{start}/open")
    assert "Advice is hidden" in laptop.get("/live/2").text
    laptop.post("/live/1/allow", data={"event_id": "a1", "confirmed": "yes"})
    assert "Advice is hidden" not in laptop.get("/live/2").text
    assert laptop.get("/live/2/news?seen=0").status_code == 200, "open screens hear of it"
    with open_stores(day) as stores:
        stores.days.add_start(1, 2, (4,))
        other = stores.days.add("Another Invented Cup", "competition", datetime.now(UTC))
        elsewhere = stores.days.add_start(other.id, 2, (4,))
    laptop.post("/day/1/starts/3/open")
    assert "Advice is hidden" not in laptop.get("/live/3").text
    laptop.post(f"/day/2/starts/{elsewhere.id}/open")
    assert "Advice is hidden" in laptop.get("/live/4").text


def test_an_open_page_hears_only_of_changes(day: Database, laptop: TestClient) -> None:
    for address in ("/day/1", "/day/1/starts/2"):
        page = laptop.get(address).text
        for _ in range(300):
            if "being reckoned" not in page:
                break
            time.sleep(0.1)
            page = laptop.get(address).text
        seen = re.search(r'data-seen="(\w+)"', page)
        assert seen
        assert laptop.get(f"{address}/news?seen={seen[1]}").status_code == 204
        laptop.post("/day/1/starts/2/mark", data={"mark": "warm-up"})
        assert laptop.get(f"{address}/news?seen={seen[1]}").status_code == 200
        laptop.post("/day/1/starts/2/mark", data={"mark": "none"})


@pytest.mark.parametrize("role", ["logger", "viewer"])
def test_a_phone_looks_opens_and_goes_on_but_does_not_choose(
    day: Database, web_app: FastAPI, knock: Knock, role: Role
) -> None:
    phone = knock(web_app, client="192.168.7.33", host="192.168.7.20:8001")
    with open_stores(day) as stores:
        stores.devices.add(role, hash_of("token"), datetime.now(UTC), role, True)
    phone.cookies.set(COOKIE, "token")
    assert "/day/1" in phone.get("/live").text
    assert phone.post("/day/1/starts/1/open").headers["location"] == "/live/1"
    said = text_of(phone.get("/day/1/starts/1").text)
    assert "B: 2A instead of 3A on pass 1" in said
    assert "Plan kept" not in said
    assert "points less" not in said
    assert "Skate B" not in said
    for refused in ("choose", "mark", "move", "withdraw", "remove", "layouts"):
        assert phone.post(f"/day/1/starts/1/{refused}", data={"letter": "B"}).status_code == 403
    assert phone.get("/day/1/order").status_code == 403


def test_a_day_is_made_filled_and_ordered_on_its_pages(day: Database, laptop: TestClient) -> None:
    order = laptop.post("/day", data={"name": "  Second   Invented Cup "}).headers["location"]
    assert order == "/day/2/order"
    assert laptop.post("/day/2/starts", data={"a": "4"}).status_code == 303
    assert laptop.post("/day/2/starts", data={"a": "1", "b": "2"}).status_code == 303
    laptop.post("/day/2/starts/4/move", data={"to": "up"})
    said = text_of(laptop.get("/day/2").text)
    assert said.index("Ada") < said.index("Bo")
    assert laptop.post("/day/2/starts/3/remove").status_code == 303
    assert "Bo" not in text_of(laptop.get("/day/2").text)
    assert laptop.post("/day/2/starts/4/layouts", data={"a": "3", "b": "1"}).status_code == 303
    assert "A: Twice" in laptop.get("/day/2").text
    laptop.post("/day/2/starts/4/open")
    assert "Mark it as withdrawn instead" in laptop.post("/day/2/starts/4/remove").text


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        ({"a": ""}, "a: nothing given; expected a value"),
        ({"a": "x"}, "expected one of the layouts"),
        ({"a": "1", "b": "4"}, "another skater"),
        ({"a": "99"}, "nothing stored"),
    ],
)
def test_layouts_that_do_not_belong_together_are_refused_in_words(
    day: Database, laptop: TestClient, sent: dict[str, str], why: str
) -> None:
    answer = laptop.post("/day/1/starts", data=sent)
    assert answer.status_code in (404, 422)
    assert why in answer.text


def test_layouts_under_two_rulebooks_are_refused(day: Database, laptop: TestClient) -> None:
    with open_stores(day) as stores:
        short = LayoutRecord(
            1, "S", EDITION.replace("free", "short"), "", (LayoutItem("jump", "2A", 20, 0.0),)
        )
        kept = stores.layouts.save(short)
    answer = laptop.post("/day/1/starts", data={"a": "1", "b": str(kept.id)})
    assert answer.status_code == 422
    assert "under another rulebook" in answer.text


def test_a_start_whose_layouts_were_removed_says_so(day: Database, laptop: TestClient) -> None:
    choose(laptop, "B")
    with open_stores(day) as stores:
        for number in (1, 2, 3, 4):
            stores.layouts.delete(number)
    assert "Double" in laptop.get("/day/1/starts/1").text
    assert "2A" in planned(laptop)
    answer = laptop.post("/day/1/starts/2/open")
    assert answer.status_code == 422
    assert "agree on another one" in answer.text
    assert laptop.get("/day/1").status_code == 200
