"""The invented competition day: what a stranger finds there. It is invented; the rules are not."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import UTC, datetime
from math import isclose
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app import engine
from app.domain.elements import JumpElement
from app.settings import PROJECT
from app.storage.stores import open_stores
from app.web.demo_day import plant_day
from tests.conftest import Knock

DAY = PROJECT / "data" / "demo" / "day"
SKATERS: list[dict[str, Any]] = [
    json.loads(file.read_text(encoding="utf-8")) for file in sorted((DAY / "skaters").glob("*.json"))
]


@pytest.fixture
def started(made_app: Callable[..., FastAPI]) -> FastAPI:
    """The app as a first real start leaves it."""
    return made_app(seed_demo=True, seed_season=True)


@pytest.fixture
def laptop(started: FastAPI, knock: Knock) -> TestClient:
    """The laptop's own browser there."""
    return knock(started)


def said(laptop: TestClient, address: str) -> str:
    """The page as text."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", laptop.get(address).text))


def test_a_first_start_has_a_day_with_somebody_done_in_warm_up_and_to_come(laptop: TestClient) -> None:
    assert "Harbour Cup (invented)" in said(laptop, "/day")
    day = re.findall(r'href="(/day/\d+)"', laptop.get("/day").text)[0]
    text = said(laptop, day)
    places = [text.index(name) for name in ("Vanja Halvemar", "Tavi Ostrelle", "Ylva Brandaro")]
    assert places == sorted(places)
    assert [text.index(word) > places[n] for n, word in enumerate(("done", "in warm-up", "to come"))] == [
        True
    ] * 3
    assert "Warm-up: A or B" in text


def test_everybody_of_the_day_is_said_to_be_invented(started: FastAPI) -> None:
    with open_stores(started.state.database) as stores:
        assert all(one.invented and "(invented)" in one.name for one in stores.skaters.all())
        assert len(stores.skaters.all()) == 3


def test_the_day_is_seeded_once(started: FastAPI) -> None:
    with open_stores(started.state.database) as stores:
        before = len(stores.days.all()), len(stores.skaters.all())
        assert plant_day(stores, DAY, datetime.now(UTC).date(), lambda edition: "") == 0
        assert (len(stores.days.all()), len(stores.skaters.all())) == before


@pytest.mark.parametrize("skater", SKATERS, ids=lambda one: one["skater"]["name"])
def test_layouts_of_the_day_count_in_full_and_chances_sum_to_one(skater: dict[str, Any]) -> None:
    for layout in skater["layouts"]:
        edition = engine.edition(layout["edition"])
        items = [
            engine.Performed(one["code"], one["start"] >= edition.half_way_seconds) for one in layout["items"]
        ]
        review = engine.review(edition, items)
        assert [line.rulings for line in review.lines if line.rulings] == []
        assert review.warnings == ()
        assert sum(one["kind"] == "jump" for one in layout["items"]) == edition.boxes
    for element in skater["elements"]:
        assert isclose(sum(one["chance"] for one in element["outcomes"]), 1.0)
        assert all(isinstance(engine.parse(one["becomes"]), JumpElement) for one in element["outcomes"])
        assert sum(count for *_, count in element["log"]) <= element["attempts"]
