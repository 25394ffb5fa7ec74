"""A live program goes on under the very rulebook it began with, whatever is changed meanwhile.

The changed rulebooks are invented; the skater is the invented demo.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from fastapi import FastAPI

from app import engine
from app.rulebook.editions import _all, edition
from app.rulebook.own import changed
from app.storage.database import Database
from app.storage.stores import open_stores
from tests.conftest import Knock

WOMEN = "isu/2026-27/senior/women/free"
PASSES = ("3Lz+3T", "3F", "2A", "3Lo", "3F+2T+2Lo", "3S")
"""The demo's free skating."""


def five(book: engine.Edition, boxes: str = "5") -> engine.Edition:
    draft = changed(book, {"boxes.most": boxes})
    assert draft.edition is not None
    return draft.edition


def start(app: FastAPI, knock: Knock, layout_id: int) -> str:
    """The address of a run-through that has just begun."""
    answer = knock(app).post("/live", data={"layout_id": layout_id, "kind": "run-through"})
    assert answer.status_code == 303
    return str(answer.headers["location"])


def skate(app: FastAPI, knock: Knock, live: str, passes: int) -> str:
    """Log passes as planned; the review of the program."""
    client = knock(app)
    for number, code in enumerate(PASSES[:passes], start=1):
        data = {"number": number, "tap": f"{code} planned", "event_id": f"{live}-{number}"}
        assert client.post(f"{live}/pass", data=data).status_code == 303
    return client.get(f"{live}/review").text


def layout_under(database: Database, name: str) -> int:
    """The demo's free skating of six passes, under another rulebook."""
    with open_stores(database) as stores:
        found = next(one for one in stores.layouts.of_skater(1) if one.edition == WOMEN)
        made = replace(found, id=0, name="Copy", edition=name, fingerprint=edition(name).fingerprint)
        return stores.layouts.save(made).id


def test_a_changed_own_rulebook_does_not_change_a_program_under_way(
    demo_app: FastAPI, database: Database, knock: Knock
) -> None:
    """Version 1 has six boxes; version 2, made while the program is skated, has one: only a new program feels it."""
    with open_stores(database) as stores:
        first = stores.rulebooks.add(engine.edition(WOMEN), "Club cup", datetime.now(UTC))
    layout_id = layout_under(database, first.name)
    live = start(demo_app, knock, layout_id)
    before = skate(demo_app, knock, live, 3)
    with open_stores(database) as stores:
        second = stores.rulebooks.add(five(first), "Club cup", datetime.now(UTC))
        program = stores.live.recent()[0]
    assert (program.edition, program.fingerprint) == (first.name, first.fingerprint)
    assert knock(demo_app).get(f"{live}/review").text == before
    assert engine.edition(engine.pinned(program.edition, program.fingerprint)).boxes == 6
    assert engine.edition(second.name).boxes == 5


def test_shipped_numbers_that_change_do_not_change_a_program_under_way(
    demo_app: FastAPI,
    database: Database,
    knock: Knock,
    monkeypatch: pytest.MonkeyPatch,
    made_app: Callable[..., FastAPI],
) -> None:
    """After an update with one box less, the program goes on with six; one begun afterwards has five."""
    with open_stores(database) as stores:
        layout_id = next(one.id for one in stores.layouts.of_skater(1) if one.edition == WOMEN)
    live = start(demo_app, knock, layout_id)
    skated = skate(demo_app, knock, live, 6)
    updated = {**_all(), WOMEN: five(engine.edition(WOMEN))}
    monkeypatch.setattr("app.rulebook.editions._all", lambda: updated)
    restarted = made_app()
    assert knock(restarted).get(f"{live}/review").text == skated
    assert "surplus" not in skated
    assert knock(restarted).get(live).status_code == 200
    newer = start(restarted, knock, layout_id)
    assert skate(restarted, knock, newer, 6) != skated


def test_advice_of_a_program_under_way_is_that_of_its_own_rulebook(
    demo_app: FastAPI,
    database: Database,
    knock: Knock,
    monkeypatch: pytest.MonkeyPatch,
    made_app: Callable[..., FastAPI],
) -> None:
    """The board, with its line and points, reads the same before and after an update in the middle of a program."""
    with open_stores(database) as stores:
        layout_id = next(one.id for one in stores.layouts.of_skater(1) if one.edition == WOMEN)
    live = start(demo_app, knock, layout_id)
    skate(demo_app, knock, live, 1)
    before = board(demo_app, knock, live)
    updated = {**_all(), WOMEN: five(engine.edition(WOMEN), "4")}
    monkeypatch.setattr("app.rulebook.editions._all", lambda: updated)
    restarted = made_app()
    assert board(restarted, knock, live) == before


def board(app: FastAPI, knock: Knock, live: str) -> list[str]:
    """The live page without the ids and the clock, which are new for each look."""
    text = knock(app).get(live).text
    return [line for line in text.splitlines() if "event_id" not in line and "data-now" not in line]
