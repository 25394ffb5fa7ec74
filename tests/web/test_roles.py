"""Who may use which address: a table over every route of the app, asked as each role.

What a logger and a viewer may do is the issue's: a logger logs, takes back its own, says hurt; a viewer watches and
says hurt; settings, decisions and letting others in are not theirs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime

import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute
from starlette.testclient import TestClient

from app.main import ROUTERS
from app.security.roles import SEES_ADVICE, Role, may
from app.security.tokens import COOKIE, hash_of
from app.storage.database import Database
from app.storage.stores import Stores, open_stores

Knock = Callable[..., TestClient]

WATCH = {
    ("GET", "/live"),
    ("GET", "/live/{program_id}"),
    ("GET", "/live/{program_id}/news"),
    ("GET", "/live/{program_id}/stream"),
    ("GET", "/live/{program_id}/log"),
    ("GET", "/live/{program_id}/big"),
    ("GET", "/live/{program_id}/policy/here"),
    ("GET", "/live/{program_id}/policy/{version}"),
    ("POST", "/live/{program_id}/hurt"),
    ("GET", "/day/{day_id}"),
    ("GET", "/day/{day_id}/news"),
    ("GET", "/day/{day_id}/starts/{start_id}"),
    ("GET", "/day/{day_id}/starts/{start_id}/news"),
    ("POST", "/day/{day_id}/starts/{start_id}/open"),
    ("GET", "/language"),
    ("POST", "/language"),
    ("GET", "/pair"),
    ("POST", "/pair"),
}
LOG = {
    ("POST", f"/live/{{program_id}}/{verb}")
    for verb in ("pass", "undo", "redo", "music", "interrupt", "resume")
}
ALLOWED: dict[Role, set[tuple[str, str]]] = {"viewer": WATCH, "logger": WATCH | LOG}


def routes() -> Iterator[tuple[str, str]]:
    """Every route as (method, address)."""
    for router in ROUTERS:
        for route in router.routes:
            assert isinstance(route, APIRoute)
            yield from ((method, route.path) for method in sorted(route.methods))


@pytest.mark.parametrize("role", ["logger", "viewer"])
def test_every_route_is_open_to_a_role_or_shut_as_the_table_says(role: Role) -> None:
    found = {(method, path) for method, path in routes() if may(role, method, re.sub(r"\{\w+\}", "7", path))}
    assert found == ALLOWED[role]


def test_a_coach_may_do_all_but_let_others_in() -> None:
    for method, path in routes():
        address = re.sub(r"\{\w+\}", "7", path)
        assert may("coach", method, address) == (not path.startswith("/phones"))
        assert may("coach", method, address, is_laptop=True)


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/live/7/../../phones"),
        ("GET", "/live/7/"),
        ("GET", "/live/x"),
        ("GET", "/livestock"),
        ("PUT", "/live/7/pass"),
        ("POST", "/live"),
        ("POST", "/static/app.css"),
    ],
)
def test_what_only_looks_alike_is_shut(method: str, path: str) -> None:
    assert not may("logger", method, path)


@pytest.fixture
def phone(demo_app: FastAPI, knock: Knock, database: Database) -> Callable[[Role], TestClient]:
    """`phone(role)`: a paired phone of that role; advice as that role starts with."""

    def paired(role: Role) -> TestClient:
        client = knock(demo_app, client="192.168.7.33", host="192.168.7.20:8001")
        token = f"token-{role}"
        with open_stores(database) as stores:
            stores.devices.add(role, hash_of(token), datetime.now(UTC), role, SEES_ADVICE[role])
        client.cookies.set(COOKIE, token)
        return client

    return paired


def start(laptop: TestClient) -> str:
    """The address of a run-through of the demo."""
    answer = laptop.post("/live", data={"layout_id": 1, "kind": "run-through"})
    return str(answer.headers["location"])


def log(client: TestClient, live: str, number: int, tap: str, event_id: str) -> int:
    """Log a pass; the status."""
    data = {"number": number, "tap": tap, "event_id": event_id}
    return client.post(f"{live}/pass", data=data).status_code


def test_a_logger_logs_without_seeing_advice_until_the_coach_allows_it(
    demo_laptop: TestClient, phone: Callable[[Role], TestClient], stores: Stores
) -> None:
    live, logger = start(demo_laptop), phone("logger")
    assert log(logger, live, 1, "3Lz+3T lost-2", "a1") == 303
    said = logger.get(live).text
    assert "This phone logs" in said
    assert "Pass 2 of 6" in said
    assert not re.search(r"\d\.\d+ (base|points)", said)
    assert 'class="line swap"' not in said
    assert "points" in demo_laptop.get(live).text
    (device,) = stores.devices.all()
    demo_laptop.post(f"/phones/{device.id}/advice", data={"shown": "yes"})
    assert "points" in logger.get(live).text


def test_a_logger_takes_back_its_own_and_nothing_else(
    demo_laptop: TestClient, phone: Callable[[Role], TestClient]
) -> None:
    live, logger = start(demo_laptop), phone("logger")
    log(demo_laptop, live, 1, "3Lz+3T planned", "mine")
    logger.post(f"{live}/undo", data={"number": 1, "of": "mine", "event_id": "u1"})
    assert "Pass 2 of 6" in logger.get(live).text
    log(logger, live, 2, "3F planned", "theirs")
    logger.post(f"{live}/undo", data={"number": 2, "of": "theirs", "event_id": "u2"})
    assert "Pass 2 of 6" in logger.get(live).text
    logger.post(f"{live}/redo", data={"of": "u2", "event_id": "r1"})
    assert "Pass 3 of 6" in demo_laptop.get(live).text


def test_a_viewer_watches_and_says_hurt(demo_laptop: TestClient, phone: Callable[[Role], TestClient]) -> None:
    live, viewer = start(demo_laptop), phone("viewer")
    assert viewer.get("/").headers["location"] == "/live"
    assert live in viewer.get("/live").text
    said = viewer.get(live).text
    assert 'class="pad"' not in said
    assert "Hurt / hit head" in said
    assert log(viewer, live, 1, "3Lz+3T planned", "a1") == 403
    assert viewer.post(f"{live}/hurt", data={"event_id": "h1"}).status_code == 303
    assert "Stop. Get help." in demo_laptop.get(live).text
    clearing = {"by": "viewer", "relying_on": "tapped by mistake", "event_id": "c1"}
    assert viewer.post(f"{live}/clear", data=clearing).status_code == 403
    assert "The coach lifts the stop" in viewer.get(live).text


def test_two_loggers_who_differ_are_both_shown_and_the_coach_chooses(
    demo_laptop: TestClient, phone: Callable[[Role], TestClient]
) -> None:
    live, logger = start(demo_laptop), phone("logger")
    log(demo_laptop, live, 1, "3Lz+3T planned", "mine")
    log(logger, live, 1, "3Lz+3T lost-2", "theirs")
    said = demo_laptop.get(live).text
    assert "Pass 1 was logged differently" in said
    assert "Loggers differ on pass 1: reckoned half and half" in said
    assert "says laptop" in said
    assert "says logger" in said
    assert "The coach decides." in logger.get(live).text
    choice = {"number": 1, "keeps": "theirs", "over": "mine", "event_id": "c1"}
    assert logger.post(f"{live}/choose", data=choice).status_code == 403
    assert demo_laptop.post(f"{live}/choose", data=choice).status_code == 303
    said = demo_laptop.get(live).text
    assert "logged differently" not in said
    assert "Pass 1: tail lost (3Lz)" in said


def test_two_loggers_who_agree_are_one(demo_laptop: TestClient, phone: Callable[[Role], TestClient]) -> None:
    live, logger = start(demo_laptop), phone("logger")
    log(demo_laptop, live, 1, "3Lz+3T planned", "mine")
    log(logger, live, 1, "3Lz+3T planned", "theirs")
    said = demo_laptop.get(live).text
    assert "Pass 2 of 6" in said
    assert "differ" not in said


def test_a_code_gives_the_role_it_was_made_for(
    demo_app: FastAPI, demo_laptop: TestClient, knock: Knock, stores: Stores
) -> None:
    demo_laptop.post("/phones/code", data={"role": "logger"})
    code = demo_app.state.pairing_desk.shown(stores.devices, datetime.now(UTC))
    client = knock(demo_app, client="192.168.7.34", host="192.168.7.20:8001")
    assert client.post("/pair", data={"code": code.signs, "name": "boards"}).status_code == 303
    (device,) = stores.devices.all()
    assert (device.role, device.sees_advice) == ("logger", False)
    assert client.get("/").headers["location"] == "/live"
    assert demo_laptop.post("/phones/code", data={"role": "referee"}).status_code == 422
