"""Rehearsing through the app: the sheet, what was done, and a run-through that calls failures. The demo is invented."""

from __future__ import annotations

import html
import re
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app.live.events import FailureCalled
from app.live.rehearsal import called_passes
from app.security.tokens import COOKIE, hash_of
from app.storage.database import Database
from app.storage.records import DrillRecord
from app.storage.stores import open_stores
from app.web.live_log import sheet_of
from app.web.routes.log import today

SHEET = "/layouts/1/rehearse"
CODES = ("3Lz+3T", "3F", "2A", "3Lo", "3F+2T+2Lo", "3S")
SEEDS = range(40)


def page_of(laptop: TestClient, address: str = SHEET) -> str:
    """The page once the failures are reckoned; the test fails after two minutes."""
    until = time.monotonic() + 120
    while time.monotonic() < until:
        text = laptop.get(address).text
        if "<progress" not in text:
            return text
        time.sleep(0.1)
    raise AssertionError(f"{address} is not done")


def words(text: str) -> str:
    """A page without its tags."""
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)))


def fields(text: str, action: str, nth: int = 0) -> dict[str, str]:
    """The hidden fields of a form with that action."""
    forms = re.findall(rf'<form[^>]* action="{re.escape(action)}".*?</form>', text, re.DOTALL)
    found = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', forms[nth])
    return {name: html.unescape(value) for name, value in found}


def start(laptop: TestClient, seed: int, calls: int = 1) -> str:
    """A rehearsal of layout 1; its address."""
    page_of(laptop)
    answer = laptop.post(f"{SHEET}/start", data={"calls": str(calls), "seed": str(seed)})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def called(text: str) -> str:
    """What the live screen calls; empty when nothing."""
    found = re.search(r'class="line called".*?<h1 class="say">([^<]+)</h1>', text, re.DOTALL)
    return found[1] if found else ""


def tap(laptop: TestClient, live: str, key: str, **more: str) -> str:
    """One tap on the pad, with what its form holds; the screen afterwards."""
    form = fields(laptop.get(live).text, f"{live}/pass")
    assert laptop.post(f"{live}/pass", data=form | {"tap": key} | more).status_code == 303
    return laptop.get(live).text


def with_call_at(laptop: TestClient, number: int, calls: int = 1) -> str:
    """A rehearsal whose first failure is called at that pass; everything before it is skated as planned."""
    for seed in SEEDS:
        live = start(laptop, seed, calls)
        text = laptop.get(live).text
        for code in CODES[: number - 1]:
            if called(text):
                break
            text = tap(laptop, live, f"{code} planned")
        if called(text) and f"Pass {number} of" in words(text):
            return live
    raise AssertionError(f"no call at pass {number} among {len(SEEDS)} seeds")


def test_the_sheet_has_two_drills_with_their_jumps_and_the_skaters_own_words(demo_laptop: TestClient) -> None:
    text = words(page_of(demo_laptop))
    assert "Pass 1, 3Lz+3T: 3T lost" in text
    assert "“swing through, tap high”" in text
    # By hand: 1Lz, then 1S+1T, then 3S+3T whole; the second drill 1F, 1S+1T, 3S+3T.
    assert text.count("Jumps in this drill: 5.") == 2
    assert "Jumps in all, every step done once: 10." in text
    assert "The same in singles: 1Lz, then 1S+1T." in text
    assert "common practice, no source" in text
    printed = words(demo_laptop.get(f"{SHEET}/print").text)
    assert "Jumps in all, every step done once: 10." in printed
    assert "stop and get help" in printed


def test_singles_are_logged_by_one_tap_and_taken_back(demo_laptop: TestClient, database: Database) -> None:
    form = fields(page_of(demo_laptop), f"{SHEET}/drill")
    for _ in range(2):
        assert demo_laptop.post(f"{SHEET}/drill", data=form).status_code == 303
    with open_stores(database) as stores:
        (kept,) = stores.drills.of_skater(1)
    assert isinstance(kept, DrillRecord)
    assert (kept.codes, kept.number, kept.failure, kept.day) == (("1Lz", "1S+1T"), 1, "tail lost", today())
    text = demo_laptop.get(SHEET).text
    assert "In singles: 1Lz, 1S+1T" in words(text)
    assert demo_laptop.post(f"{SHEET}/undo", data=fields(text, f"{SHEET}/undo")).status_code == 303
    with open_stores(database) as stores:
        assert stores.drills.of_skater(1) == ()


def test_the_whole_answer_goes_into_the_own_log_by_two_taps_and_back_to_the_sheet(
    demo_laptop: TestClient, database: Database
) -> None:
    with open_stores(database) as stores:
        before = next(one for one in stores.skaters.trained(1) if one.code == "3S+3T")
    link = re.search(r'href="(/skaters/1/log/elements/\d+\?[^"]+)"', page_of(demo_laptop))
    assert link
    ending = demo_laptop.get(html.unescape(link[1])).text
    form = fields(ending, "/skaters/1/log")
    answer = demo_laptop.post("/skaters/1/log", data=form | {"fate": "fall"})
    assert answer.headers["location"] == SHEET
    with open_stores(database) as stores:
        after = next(one for one in stores.skaters.trained(1) if one.code == "3S+3T")
        last = stores.attempts.of_skater(1, since=today())[-1]
    assert (after.attempts, after.landed) == (before.attempts + 1, before.landed)
    assert (last.place, last.fate) == ("drill", "fall")
    assert after.log.program_attempts == before.log.program_attempts  # a drill is no program
    assert "3S+3T, fell" in words(page_of(demo_laptop))
    # What is logged next by hand is not taken for a drill.
    assert "the element alone" in words(demo_laptop.get("/skaters/1/log").text)


def test_the_same_draw_number_calls_the_same_and_others_call_elsewhere(demo_laptop: TestClient) -> None:
    first = {seed: called(demo_laptop.get(start(demo_laptop, seed)).text) for seed in range(8)}
    again = {seed: called(demo_laptop.get(start(demo_laptop, seed)).text) for seed in range(8)}
    assert first == again
    assert "" in first.values()
    assert set(first.values()) & {"Tail lost", "Popped"}


def test_a_call_is_shown_done_answered_and_told_afterwards(
    demo_laptop: TestClient, database: Database
) -> None:
    live = with_call_at(demo_laptop, 1)
    text = demo_laptop.get(live).text
    assert "Call it out, before the take-off" in text
    assert "Keep the plan" not in words(text)  # the advice waits
    as_called = re.search(r'class="taps as-called"><button name="tap" value="([^"]+)"', text)
    assert as_called
    assert called(text) in words(demo_laptop.get(f"{live}/big").text)
    text = tap(demo_laptop, live, html.unescape(as_called[1]))
    assert called(text) == ""
    assert "Pass 6: 3S+3T" in words(text)  # the live screen's own answer
    for code in CODES[1:5]:
        text = tap(demo_laptop, live, f"{code} planned")
        assert called(text) == ""  # one was asked for
    tap(demo_laptop, live, "3S+3T planned")
    review = words(demo_laptop.get(f"{live}/review").text)
    assert "was called. Done: " in review
    assert "The answer: Pass 6: 3S+3T." in review
    assert "Tried: 3S+3T, landed." in review
    assert "no miss of the skater's" in review
    assert "Add the official sheet" not in review
    with open_stores(database) as stores:
        record = stores.live.program(int(live.rsplit("/", 1)[1]))
        (one,) = called_passes(sheet_of(stores, record.id).state)
    assert record.kind == "run-through"
    assert record.rehearsal is not None
    assert (one.number, one.as_called) == (1, True)


def test_a_plain_run_through_calls_nothing_and_is_none(demo_laptop: TestClient, database: Database) -> None:
    answer = demo_laptop.post("/live", data={"layout_id": "1", "kind": "run-through"})
    live = answer.headers["location"]
    for code in CODES[:3]:
        assert called(tap(demo_laptop, live, f"{code} planned")) == ""
    with open_stores(database) as stores:
        record = stores.live.program(int(live.rsplit("/", 1)[1]))
        assert record.rehearsal is None
        assert not [one for one in stores.live.events(record.id) if one.kind == "failure called"]


def test_a_call_can_be_called_off_and_the_pass_is_then_the_skaters_own(
    demo_laptop: TestClient, database: Database
) -> None:
    live = with_call_at(demo_laptop, 1)
    form = fields(demo_laptop.get(live).text, f"{live}/call-off")
    assert demo_laptop.post(f"{live}/call-off", data=form).status_code == 303
    assert called(demo_laptop.get(live).text) == ""
    late = demo_laptop.post(f"{live}/call-off", data=form | {"event_id": "another"})
    assert "not called any more" in late.text
    tap(demo_laptop, live, "3Lz+3T lost-2")
    with open_stores(database) as stores:
        assert called_passes(sheet_of(stores, int(live.rsplit("/", 1)[1])).state) == ()


def test_hurt_takes_the_call_away_for_good(demo_laptop: TestClient) -> None:
    live = with_call_at(demo_laptop, 1, calls=2)
    assert demo_laptop.post(f"{live}/hurt", data={"event_id": "h"}).status_code == 303
    text = demo_laptop.get(live).text
    assert "Stop. Get help." in text
    assert called(text) == ""
    lift = {"event_id": "c", "by": "A coach", "relying_on": "tapped by mistake"}
    demo_laptop.post(f"{live}/clear", data=lift)
    for code in CODES:
        text = demo_laptop.get(live).text
        assert called(text) == ""
        tap(demo_laptop, live, f"{code} planned")


def test_two_are_called_at_most_and_the_second_only_after_the_answer(
    demo_laptop: TestClient, database: Database
) -> None:
    """Every answer is tried and landed; whatever the seed, no second call comes while a swap is still advised."""
    most = 0
    for seed in range(12):
        live = start(demo_laptop, seed, calls=2)
        count = 0
        for code in CODES:
            text = demo_laptop.get(live).text
            now = re.search(r'class="taps as-called"><button name="tap" value="([^"]+)"', text)
            swap = re.search(r'value="([^"]+)" class="swap-first"', text)
            if now:
                count += 1
                tap(demo_laptop, live, html.unescape(now[1]))
            else:
                assert called(text) == ""
                tap(demo_laptop, live, html.unescape(swap[1]) if swap else f"{code} planned")
        with open_stores(database) as stores:
            passes = called_passes(sheet_of(stores, int(live.rsplit("/", 1)[1])).state)
        assert len(passes) == count <= 2
        most = max(most, count)
    assert most == 2


def test_nothing_more_is_called_after_a_miss_of_the_skaters_own(demo_laptop: TestClient) -> None:
    for seed in range(6):
        live = start(demo_laptop, seed, calls=2)
        if called(demo_laptop.get(live).text):
            continue
        text = tap(demo_laptop, live, "3Lz+3T lost-2")
        for code in CODES[1:]:
            assert called(text) == ""
            text = tap(demo_laptop, live, f"{code} planned")


def test_a_tap_kept_by_a_phone_without_connection_is_no_called_pass(
    demo_laptop: TestClient, database: Database
) -> None:
    """The phone never showed the call, so its form does not hold it."""
    live = with_call_at(demo_laptop, 1)
    form = {"number": "1", "event_id": "kept-1", "tap": "3Lz+3T lost-2"}
    assert demo_laptop.post(f"{live}/pass", data=form).status_code == 303
    with open_stores(database) as stores:
        state = sheet_of(stores, int(live.rsplit("/", 1)[1])).state
    assert [one for one in state.log if isinstance(one.event, FailureCalled)]
    assert called_passes(state) == ()


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"calls": "3"}, "expected 1 to 2"),
        ({"calls": "0"}, "expected 1 to 2"),
        ({"seed": "abc"}, "expected a whole number"),
    ],
)
def test_what_cannot_be_drawn_is_said(demo_laptop: TestClient, sent: dict[str, str], said: str) -> None:
    page_of(demo_laptop)
    answer = demo_laptop.post(f"{SHEET}/start", data=sent)
    assert answer.status_code == 422
    assert said in answer.text


@pytest.mark.parametrize(
    "sent",
    [
        {"codes": "3Lz 1S+1T"},
        {"codes": ""},
        {"codes": "1A 1A 1A"},
        {"codes": "1Q"},
        {"failure": "odd"},
        {"jump": "9"},
    ],
)
def test_only_singles_are_logged_as_singles(
    demo_laptop: TestClient, database: Database, sent: dict[str, str]
) -> None:
    form = fields(page_of(demo_laptop), f"{SHEET}/drill")
    assert demo_laptop.post(f"{SHEET}/drill", data=form | sent).status_code == 422
    with open_stores(database) as stores:
        assert stores.drills.of_skater(1) == ()


def test_singles_are_logged_although_the_sheet_has_changed_since(
    demo_laptop: TestClient, database: Database
) -> None:
    form = fields(page_of(demo_laptop), f"{SHEET}/drill")
    with open_stores(database) as stores:
        for one in stores.skaters.trained(1):
            stores.skaters.save_trained(replace(one, ready=False))
    assert demo_laptop.post(f"{SHEET}/drill", data=form).status_code == 303
    with open_stores(database) as stores:
        assert [one.codes for one in stores.drills.of_skater(1)] == [("1Lz", "1S+1T")]
    assert "Nothing can be rehearsed here yet" in words(page_of(demo_laptop))


def test_a_logger_sees_the_call_and_logs_it_but_calls_nothing_off(
    demo_app: FastAPI, demo_laptop: TestClient, database: Database, knock: Callable[..., TestClient]
) -> None:
    live = with_call_at(demo_laptop, 1)
    with open_stores(database) as stores:
        stores.devices.add("boards", hash_of("token"), datetime.now(UTC), "logger", False)
    phone = knock(demo_app, client="192.168.7.33", host="192.168.7.20:8001")
    phone.cookies.set(COOKIE, "token")
    text = phone.get(live).text
    assert called(text) == called(demo_laptop.get(live).text) != ""
    assert "call-off" not in text
    assert "+3.0 points" not in tap(phone, live, "3Lz+3T lost-2")
    off = {"number": "1", "of": "x", "event_id": "y"}
    assert phone.post(f"{live}/call-off", data=off).status_code == 403
    with open_stores(database) as stores:
        (one,) = called_passes(sheet_of(stores, int(live.rsplit("/", 1)[1])).state)
    assert one.number == 1
