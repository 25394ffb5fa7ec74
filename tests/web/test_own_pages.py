"""A skater's own pages and phone: their layout and words, no points, nothing of anybody else. All are invented."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app.security.tokens import COOKIE, hash_of
from app.storage.database import Database
from app.storage.erase import forget_skater
from app.storage.records import LayoutItem, LayoutRecord
from app.storage.stores import Stores
from app.storage.tables import Skater
from tests.web.test_roles import LAN

OTHER = "Bryn Otherlay (invented)"
POINTS = re.compile(r"\d\.\d|points")


@pytest.fixture
def other(stores: Stores) -> int:
    """The layout of a second skater."""
    skater = stores.skaters.add(OTHER)
    items = (LayoutItem("jump", "2A", 20), LayoutItem("jump", "2Lz", 50))
    edition = "isu/2026-27/junior/women/free"
    return stores.layouts.save(LayoutRecord(skater.id, "Secret layout", edition, "", items)).id


@pytest.fixture
def phone(
    demo_app: FastAPI, demo_laptop: TestClient, knock: Callable[..., TestClient], stores: Stores
) -> TestClient:
    """The phone of the demo's skater, paired with a code made for it."""
    answer = demo_laptop.post("/phones/code", data={"role": "skater 1"})
    assert answer.status_code == 303
    code = demo_app.state.pairing_desk.shown(stores.devices, datetime.now(UTC))
    client = knock(demo_app, client="192.168.7.35", host=LAN)
    assert client.post("/pair", data={"code": code.signs, "name": "mine"}).status_code == 303
    return client


def patient(client: TestClient, address: str, wanted: str) -> str:
    """A page that is worked out first."""
    for _ in range(600):
        text = client.get(address).text
        if wanted in text:
            return text
        time.sleep(0.2)
    raise AssertionError(f"{wanted!r} never came at {address}")


def test_a_code_for_a_skater_needs_to_know_whose(demo_laptop: TestClient, stores: Stores) -> None:
    for wrong in ("skater", "skater x", "skater 99", "logger 1", "coach 1"):
        assert demo_laptop.post("/phones/code", data={"role": wrong}).status_code in (404, 422), wrong
    assert 'value="skater 1"' not in demo_laptop.get("/phones").text, "the door is shut"


def test_the_phone_belongs_to_one_skater(phone: TestClient, demo_laptop: TestClient, stores: Stores) -> None:
    (device,) = stores.devices.all()
    assert (device.role, device.skater_id, device.sees_advice) == ("skater", 1, False)
    assert "<b>skater, Tavi Ostrelle (invented)</b>" in demo_laptop.get("/phones").text
    assert phone.get("/").headers["location"] == "/skaters/1/view"


def test_today_in_large_type_with_own_words_and_no_points(phone: TestClient) -> None:
    page = phone.get("/skaters/1/view").text
    assert 'body class="own"' in page
    assert "long wait, then tap tap" in page
    words = re.sub(r"<svg.*?</svg>|<[^>]+>", " ", page, flags=re.DOTALL)
    assert not POINTS.search(words)


def test_nothing_of_another_skater_can_be_reached(phone: TestClient, other: int, stores: Stores) -> None:
    number = next(one.id for one in stores.skaters.all() if one.name == OTHER)
    shut = [
        f"/skaters/{number}/view",
        f"/skaters/{number}/trainer",
        f"/layouts/{other}/card",
        f"/layouts/{other}/card/print",
        f"/layouts/{other}/tally",
        f"/layouts/{other}/trainer",
        f"/layouts/{other}/trainer/call",
        f"/layouts/{other}",
        "/layouts/999/card",
        "/live",
        "/sheets/new",
        f"/skaters/{number}",
    ]
    for address in shut:
        asked = phone.get(address, headers={"accept": "text/html"})
        assert asked.headers.get("location") == "/skaters/1/view", address
        assert phone.get(address, headers={"accept": "application/json"}).status_code == 403, address
    assert phone.get(f"/skaters/1/view?layout={other}").status_code == 422
    words = {"element": "1", "cue": "mine", "layout": "1"}
    assert phone.post(f"/skaters/{number}/view/words", data=words).status_code == 403
    for address in ("/skaters/1/view", "/skaters/1/trainer"):
        text = phone.get(address).text
        assert OTHER not in text
        assert "Secret layout" not in text


def test_own_words_can_be_kept_and_nothing_else_changed(phone: TestClient, stores: Stores) -> None:
    before = stores.skaters.trained(1)[0]
    words = {
        "element": str(before.id),
        "cue": "  up   and wait ",
        "layout": "1",
        "attempts": "9",
        "ready": "no",
    }
    assert phone.post("/skaters/1/view/words", data=words).status_code == 303
    after = next(one for one in stores.skaters.trained(1) if one.id == before.id)
    assert after.cue == "up and wait"
    assert (after.attempts, after.landed, after.ready) == (before.attempts, before.landed, before.ready)
    assert phone.post("/skaters/1/elements/1", data={"attempts": "1", "landed": "1"}).status_code == 403


def test_card_trainer_and_paper_show_no_points_until_the_coach_lets_them(
    phone: TestClient, demo_laptop: TestClient, stores: Stores
) -> None:
    card = patient(phone, "/layouts/3/card", "My card")
    assert not POINTS.search(re.sub(r"<[^>]+>", " ", card))
    assert "Make this card" not in card
    patient(phone, "/layouts/3/tally", "plain tally")
    call = patient(phone, "/layouts/3/trainer", "Call one")
    assert not POINTS.search(re.sub(r"<svg.*?</svg>|<[^>]+>", " ", call, flags=re.DOTALL))
    verdicts = set()
    for _ in range(6):
        page = patient(phone, "/layouts/3/trainer/call", 'class="answers"')
        form = dict(re.findall(r'name="(number|kind|jump|sending|asked_at)" value="([^"]*)"', page))
        picked = re.findall(r'name="picked" value="([^"]*)"', page)[-1]
        answer = phone.post("/layouts/3/trainer/answer", data=form | {"picked": picked})
        said = phone.get(answer.headers["location"]).text
        assert not POINTS.search(re.sub(r"<[^>]+>", " ", said.split("<details")[0])), said
        verdicts.add(re.search(r"<h1>(.*?)</h1>", said, re.DOTALL)[1])  # type: ignore[index]
    assert verdicts
    (device,) = stores.devices.all()
    demo_laptop.post(f"/phones/{device.id}/advice", data={"shown": "yes"})
    assert POINTS.search(re.sub(r"<[^>]+>", " ", patient(phone, "/layouts/3/card", "My card")))


def test_the_layout_of_todays_start_comes_first(demo_laptop: TestClient, stores: Stores) -> None:
    day = stores.days.add("Invented Cup", "competition", datetime.now(UTC))
    stores.days.add_start(day.id, 1, (2,))
    page = demo_laptop.get("/skaters/1/view").text
    assert "Invented Cup" in page
    assert "<h1>Short program</h1>" in page


def test_a_phone_whose_skater_has_no_layout_yet_says_so(
    demo_app: FastAPI, knock: Callable[..., TestClient], stores: Stores
) -> None:
    skater = stores.skaters.add("Nova Newlee (invented)")
    stores.devices.add("theirs", hash_of("t"), datetime.now(UTC), "skater", False, skater.id)
    client = knock(demo_app, client="192.168.7.36", host=LAN)
    client.cookies.set(COOKIE, "t")
    page = client.get(f"/skaters/{skater.id}/view")
    assert page.status_code == 200
    assert "There is no layout yet" in page.text


def test_the_phone_of_a_deleted_skater_is_nobodys_though_the_number_is_given_again(
    phone: TestClient, stores: Stores, database: Database
) -> None:
    assert phone.get("/skaters/1/view").status_code == 200
    forget_skater(database, 1)
    assert phone.get("/skaters/1/view").headers["location"] == "/pair"
    with database.session() as session:  # neither database does so by itself
        session.add(Skater(id=1, name="Nova Newlee (invented)"))
        session.commit()
    assert phone.get("/skaters/1/view").headers["location"] == "/pair"


def test_all_words_typed_are_kept_by_one_button(phone: TestClient, stores: Stores) -> None:
    # Used to be: a form for each element, so keeping one threw away what was typed for the others.
    page = phone.get("/skaters/1/view").text
    assert page.count('action="/skaters/1/view/words"') == 1
    first, second, third = stores.skaters.trained(1)[:3]
    words = {"element": [first.id, second.id, third.id], "cue": ["one", "", third.cue], "layout": "1"}
    assert phone.post("/skaters/1/view/words", data=words).status_code == 303
    after = {one.id: one.cue for one in stores.skaters.trained(1)}
    assert (after[first.id], after[second.id], after[third.id]) == ("one", "", third.cue)
    short = phone.post("/skaters/1/view/words", data={"element": [first.id, second.id], "cue": ["two"]})
    assert short.status_code == 422
