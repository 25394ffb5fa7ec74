"""The call-out trainer through the app: calls, answers, progress, without scripts. The demo skater is invented."""

from __future__ import annotations

import html
import re
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

import pytest
from starlette.testclient import TestClient

from app.practice.schedule import Standing
from app.storage.database import Database
from app.storage.records import CallOutRecord
from app.storage.stores import open_stores
from app.web.routes.trainer import LONGEST, Lesson, seconds_of
from app.web.trainer_picture import CallRow, PassRows, draw_progress

TRAINER = "/layouts/1/trainer"
NOON = datetime(2026, 11, 2, 12, tzinfo=UTC)
SVG = "{http://www.w3.org/2000/svg}"


def page_of(laptop: TestClient, address: str) -> str:
    """The page once the calls are reckoned; the test fails after a minute."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        text = laptop.get(address).text
        if "<progress" not in text:
            return text
        time.sleep(0.1)
    raise AssertionError(f"{address} is not done")


def form_of(text: str) -> dict[str, str]:
    """The hidden fields of the call."""
    fields = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', text)
    return {name: html.unescape(value) for name, value in fields}


def buttons_of(text: str) -> list[str]:
    return [html.unescape(name) for name in re.findall(r'name="picked" value="([^"]+)"', text)]


def answers_of(database: Database) -> Iterator[CallOutRecord]:
    """Everything answered about layout 1, in order."""
    with open_stores(database) as stores:
        layout = stores.layouts.get(1)
        yield from stores.call_outs.of_program(layout.skater_id, Lesson(stores, layout).program)


def send(laptop: TestClient, form: dict[str, str]) -> str:
    answer = laptop.post(f"{TRAINER}/answer", data=form)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def test_a_call_is_answered_weighed_and_kept(demo_laptop: TestClient, database: Database) -> None:
    start = page_of(demo_laptop, TRAINER)
    assert "0 known, 0 getting there, 13 new" in start
    assert "Something new comes next." in start
    call = page_of(demo_laptop, f"{TRAINER}/call")
    names = buttons_of(call)
    assert names[0] == "plan"
    assert 2 <= len(names) <= 5
    # 3Lo+3T is on no button: the demo's log has it as not trained.
    assert "3Lo+3T" not in call
    address = send(demo_laptop, form_of(call) | {"picked": "plan"})
    text = demo_laptop.get(address).text
    assert re.search(r"Right|Points given away|Close", text)
    assert "Next call" in text
    (kept,) = answers_of(database)
    assert kept.answer == "plan"
    assert kept.right in names
    assert 0 <= kept.seconds < 60
    assert kept.rating in (1, 3) if kept.seconds <= 3 else kept.rating in (1, 2)
    assert "0 known, 1 getting there, 12 new" in page_of(demo_laptop, TRAINER)


def test_the_same_form_sent_twice_counts_once(demo_laptop: TestClient, database: Database) -> None:
    form = form_of(page_of(demo_laptop, f"{TRAINER}/call")) | {"picked": "plan"}
    assert send(demo_laptop, form) == send(demo_laptop, form)
    assert len(list(answers_of(database))) == 1


def test_wrong_and_right_are_told_with_points_and_why(demo_laptop: TestClient) -> None:
    page_of(demo_laptop, TRAINER)
    lost = {"number": "1", "kind": "tail lost", "jump": "3T", "asked_at": "0", "took": "1500"}
    text = demo_laptop.get(send(demo_laptop, lost | {"picked": "plan", "sending": "a"})).text
    assert "Points given away" in text
    assert "The right answer" in text
    told = re.search(r"The right answer</span><br>Pass (\d): (\S+?)</h2>", text)
    assert told
    text = demo_laptop.get(send(demo_laptop, lost | {"picked": f"{told[1]} {told[2]}", "sending": "b"})).text
    assert "✓" in text
    assert "The combination lost on pass 1 left a place free" in text
    assert "The rules behind it" in text
    assert "How sure:" in text
    assert "style=" not in text


def test_a_trap_names_the_rule_and_how_sure(demo_laptop: TestClient) -> None:
    """Tail shortened on pass 1: a combination more than the two that count (2026/27) is worth nothing."""
    page_of(demo_laptop, TRAINER)
    short = {"number": "1", "kind": "tail shortened", "jump": "3T", "asked_at": "0", "took": "900"}
    text = demo_laptop.get(send(demo_laptop, short | {"picked": "6 3S+3T", "sending": "a"})).text
    assert "Worth nothing" in text
    assert "counts for nothing: only 2 combinations and sequences count" in text
    assert "How sure: second-hand" in text


def test_a_slow_right_answer_is_not_yet_sure(demo_laptop: TestClient, database: Database) -> None:
    page_of(demo_laptop, TRAINER)
    short = {"number": "1", "kind": "tail shortened", "jump": "3T", "picked": "plan"}
    asked = str(round((datetime.now(UTC) - timedelta(seconds=8)).timestamp() * 1000))
    text = demo_laptop.get(send(demo_laptop, short | {"sending": "slow", "asked_at": asked})).text
    assert "It took 8 seconds. The thought is right" in text
    assert next(answers_of(database)).rating == 2


def test_what_cannot_be_an_answer_is_refused_in_words(demo_laptop: TestClient) -> None:
    page_of(demo_laptop, TRAINER)
    form = {"number": "1", "kind": "tail lost", "jump": "3T", "sending": "a", "picked": "4 4A"}
    answer = demo_laptop.post(f"{TRAINER}/answer", data=form)
    assert answer.status_code == 422
    assert "expected one of the buttons" in html.unescape(answer.text)
    answer = demo_laptop.post(f"{TRAINER}/answer", data=form | {"number": "9"})
    assert answer.status_code == 422
    assert demo_laptop.get(f"{TRAINER}/answer/none").status_code == 404


def test_an_answer_belongs_to_its_own_program(demo_laptop: TestClient) -> None:
    page_of(demo_laptop, TRAINER)
    form = {
        "number": "1",
        "kind": "tail lost",
        "jump": "3T",
        "sending": "a",
        "picked": "plan",
        "asked_at": "0",
    }
    send(demo_laptop, form)
    assert "another program" in html.unescape(demo_laptop.get("/layouts/3/trainer/answer/a").text)


def test_where_no_change_is_allowed_the_page_says_why(demo_laptop: TestClient) -> None:
    limits = {"threshold": "0.5", "most_changes": "0", "trained_attempts": "10", "trained_within_days": "60"}
    assert demo_laptop.post("/skaters/1/limits", data=limits).status_code == 303
    text = page_of(demo_laptop, TRAINER)
    assert "your limits allow no change" in text
    assert demo_laptop.get(f"{TRAINER}/call").headers["location"] == TRAINER


def test_layout_and_skater_lead_there(demo_laptop: TestClient) -> None:
    assert f'href="{TRAINER}"' in demo_laptop.get("/layouts/1").text
    assert 'href="/skaters/1/trainer"' in demo_laptop.get("/skaters/1").text
    text = demo_laptop.get("/skaters/1/trainer").text
    assert all(f'href="/layouts/{number}/trainer"' in text for number in (1, 2, 3))


def test_there_are_no_streaks_and_no_ranking(demo_laptop: TestClient) -> None:
    call = page_of(demo_laptop, f"{TRAINER}/call")
    answered = demo_laptop.get(send(demo_laptop, form_of(call) | {"picked": "plan"})).text
    for text in (page_of(demo_laptop, TRAINER), call, answered):
        assert not re.search(r"streak|in a row|rank|record|level up|badge|high score", text, re.IGNORECASE)


@pytest.mark.parametrize(
    ("asked", "took", "seconds"),
    [
        (5.0, "", 5.0),
        (5.0, "2400", 2.4),
        (2.0, "2900", 2.9),
        (2.0, "9000", 2.0),
        (2.0, "-3", 2.0),
        (2.0, "²", 2.0),
        (-4.0, "", 0.0),
        (10_000.0, "", LONGEST),
        (2.0, "9" * 5_000, 2.0),
    ],
)
def test_the_page_measures_and_the_laptop_checks(asked: float, took: str, seconds: float) -> None:
    asked_at = round((NOON - timedelta(seconds=asked)).timestamp() * 1000)
    assert seconds_of(asked_at, took, NOON) == pytest.approx(seconds)


@pytest.mark.parametrize(("asked_at", "seconds"), [(10**400, 0.0), (-(10**400), LONGEST)])
def test_a_moment_of_any_length_may_be_sent(asked_at: int, seconds: float) -> None:
    assert seconds_of(asked_at, "", NOON) == seconds


def test_the_picture_tells_every_standing_by_word_and_shape() -> None:
    rows = tuple(
        CallRow("fall on the 3F", one) for one in (Standing.KNOWN, Standing.GETTING_THERE, Standing.NEW)
    )
    passes = (PassRows(1, "3Lz+3T", rows[:2]), PassRows(2, "3F", rows[2:]))
    text = str(draw_progress(passes)).replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1)
    root = ElementTree.fromstring(text)
    words = [one.text for one in root.iter(f"{SVG}text")]
    assert {"Pass 1: 3Lz+3T", "known", "getting there", "new"} <= set(words)
    assert [one.get("class") for one in root.iter(f"{SVG}g")] == ["call known", "call getting", "call new"]
    assert len(list(root.iter(f"{SVG}path"))) == 1
    assert root.findtext(f"{SVG}desc") == (
        "Pass 1, 3Lz+3T: fall on the 3F (known), fall on the 3F (getting there). Pass 2, 3F: fall on the 3F (new)."
    )
    _, _, wide, high = map(float, (root.get("viewBox") or "").split())
    for one in root.iter(f"{SVG}circle"):
        assert 0 < float(one.get("cx") or 0) < wide
        assert 0 < float(one.get("cy") or 0) < high
