"""A sheet is used again exactly as long as nothing that it was made from has changed."""

from __future__ import annotations

from fastapi import FastAPI
from fastapi.testclient import TestClient

from app.storage.stores import Stores
from app.web import live_log
from app.web.kept_sheets import KeptSheets
from app.web.views.boards import Sheet, seen_by
from app.web.visitor import LAPTOP


def started(laptop: TestClient) -> int:
    live = laptop.post("/live", data={"layout_id": 1, "kind": "run-through"}).headers["location"]
    return int(live.rsplit("/", 1)[1])


def test_two_screens_share_the_state_and_the_advice(
    demo_app: FastAPI, demo_laptop: TestClient, stores: Stores
) -> None:
    program = started(demo_laptop)
    first = live_log.sheet_of(stores, program)
    said = seen_by(first, demo_app.state.advisor, LAPTOP)
    again = live_log.sheet_of(stores, program)
    assert again is first
    assert again.state is first.state
    assert seen_by(again, demo_app.state.advisor, LAPTOP) is said


def test_a_tap_and_a_setting_each_make_another_sheet(demo_laptop: TestClient, stores: Stores) -> None:
    program = started(demo_laptop)
    sheets = [live_log.sheet_of(stores, program)]
    sent = {"number": 1, "tap": "3Lz+3T planned", "event_id": "one"}
    assert demo_laptop.post(f"/live/{program}/pass", data=sent).status_code == 303
    sheets.append(live_log.sheet_of(stores, program))
    stores.settings.change("trained_attempts", "12")
    sheets.append(live_log.sheet_of(stores, program))
    assert len({id(one) for one in sheets}) == len(sheets)
    assert [len(one.state.logged) for one in sheets] == [0, 1, 1]
    assert sheets[-1].limits.trained_attempts == 12


def test_the_least_used_are_let_go(demo_laptop: TestClient, stores: Stores) -> None:
    kept = KeptSheets(most=2)
    read: list[Sheet] = [live_log.sheet_of(stores, started(demo_laptop)) for _ in range(3)]
    for one in read:
        assert kept.same(one) is one
    assert set(kept._kept) == {one.record.id for one in read[1:]}
