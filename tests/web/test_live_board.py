"""Screens that see the same get the same board, each with an id and a time of its own."""

from __future__ import annotations

import re

from fastapi import FastAPI
from fastapi.testclient import TestClient

from app.storage.stores import Stores
from app.web import live_log
from app.web.live_board import Written

HTMX = {"HX-Request": "true"}


def started(laptop: TestClient) -> str:
    return str(laptop.post("/live", data={"layout_id": 1, "kind": "run-through"}).headers["location"])


def tapped(laptop: TestClient, live: str, number: int) -> str:
    sent = {
        "number": number,
        "tap": "3Lz+3T planned" if number == 1 else "left out",
        "event_id": f"e{number}",
    }
    answer = laptop.post(f"{live}/pass", data=sent, headers=HTMX)
    assert answer.status_code == 200
    return answer.text


def without_its_own(board: str) -> str:
    """The board without what is one answer's own."""
    return re.sub(r"[0-9a-f]{32}", "id", re.sub(r"\b\d{13}\b", "now", board))


def ids(board: str) -> set[str]:
    return set(re.findall(r"[0-9a-f]{32}", board))


def test_two_screens_get_one_board_with_ids_of_their_own(demo_laptop: TestClient, stores: Stores) -> None:
    live = started(demo_laptop)
    tap = tapped(demo_laptop, live, 1)
    boards = [tap, *(demo_laptop.get(f"{live}/news?seen=0", headers=HTMX).text for _ in range(2))]
    assert len({without_its_own(one) for one in boards}) == 1
    assert len(ids(boards[0]) | ids(boards[1]) | ids(boards[2])) == 3
    sheet = live_log.sheet_of(stores, int(live.rsplit("/", 1)[1]))
    assert len(sheet.written) == 1


def test_the_kept_board_is_what_would_be_written_anew(demo_laptop: TestClient, stores: Stores) -> None:
    live = started(demo_laptop)
    tapped(demo_laptop, live, 1)
    kept = demo_laptop.get(f"{live}/news?seen=0", headers=HTMX).text
    sheet = live_log.sheet_of(stores, int(live.rsplit("/", 1)[1]))
    sheet.written.clear()
    sheet.asked.clear()
    assert without_its_own(demo_laptop.get(f"{live}/news?seen=0", headers=HTMX).text) == without_its_own(kept)


def test_another_language_and_another_log_make_another_board(demo_laptop: TestClient) -> None:
    live = started(demo_laptop)
    tapped(demo_laptop, live, 1)
    english = demo_laptop.get(f"{live}/news?seen=0", headers=HTMX).text
    german = demo_laptop.get(f"{live}/news?seen=0", headers=HTMX | {"accept-language": "de"}).text
    assert without_its_own(german) != without_its_own(english)
    tapped(demo_laptop, live, 2)
    later = demo_laptop.get(f"{live}/news?seen=1", headers=HTMX).text
    assert 'data-seen="2"' in later
    assert demo_laptop.get(f"{live}/news?seen=2", headers=HTMX).status_code == 204


def test_a_time_that_cannot_be_told_from_another_number_is_not_replaced() -> None:
    assert Written("id 7 1000", "id", 1000).is_told_apart
    assert not Written("id 1000 1000", "id", 1000).is_told_apart
    assert Written("id 7 1000", "id", 1000).again("other", 2000) == "other 7 2000"


def test_a_language_set_by_the_coach_holds_for_the_next_page(
    demo_app: FastAPI, demo_laptop: TestClient, stores: Stores
) -> None:
    assert 'lang="en"' in demo_laptop.get("/").text
    stores.settings.change("language", "de")
    assert 'lang="de"' in demo_laptop.get("/").text
