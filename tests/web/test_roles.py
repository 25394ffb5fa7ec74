"""Who may use which address: a table over every route of the app, asked as each role.

What a logger and a viewer may do is the issue's: a logger logs, takes back its own, says hurt; a viewer watches and
says hurt; settings, decisions and letting others in are not theirs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime
from typing import Any, cast

import pytest
from fastapi import FastAPI
from starlette.responses import PlainTextResponse
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.testclient import TestClient
from starlette.types import Receive, Scope, Send

from app.main import ROUTERS, STATIC
from app.security.roles import SEES_ADVICE, Role, may
from app.security.tokens import COOKIE, hash_of
from app.storage.database import Database
from app.storage.stores import Stores, open_stores
from app.web.gate import Gate

LAN = "192.168.7.20:8001"
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
    ("GET", "/words"),
    ("GET", "/alone"),
    ("GET", "/worker.js"),
    ("GET", "/pair"),
    ("POST", "/pair"),
    ("POST", "/pair/leave"),
    ("GET", "/privacy"),
    ("GET", "/static/{file}"),
}
LOG = {
    ("POST", f"/live/{{program_id}}/{verb}")
    for verb in ("pass", "undo", "redo", "music", "interrupt", "resume")
}
OWN = {
    ("GET", "/skaters/{skater_id}/view"),
    ("POST", "/skaters/{skater_id}/view/words"),
    ("GET", "/skaters/{skater_id}/trainer"),
    ("GET", "/layouts/{layout_id}/card"),
    ("GET", "/layouts/{layout_id}/card/print"),
    ("GET", "/layouts/{layout_id}/tally"),
    ("GET", "/layouts/{layout_id}/trainer"),
    ("GET", "/layouts/{layout_id}/trainer/call"),
    ("POST", "/layouts/{layout_id}/trainer/answer"),
    ("GET", "/layouts/{layout_id}/trainer/answer/{sending}"),
}
"""What a skater's own phone shows, for that skater alone (see test_own_pages)."""
FOR_ALL = {one for one in WATCH if not one[1].startswith(("/live", "/day"))}
ALLOWED: dict[Role, set[tuple[str, str]]] = {
    "viewer": WATCH,
    "logger": WATCH | LOG,
    "skater": OWN | FOR_ALL,
}


STRANGERS = {
    ("GET", "/pair"),
    ("POST", "/pair"),
    ("GET", "/language"),
    ("POST", "/language"),
    ("GET", "/static/app.css"),
    ("GET", "/static/leave.js"),
    ("GET", "/static/unpaired.js"),
    ("GET", "/static/kept.js"),
}
"""What a phone that was never paired may reach."""

LAPTOPS = ("/phones", "/data", "/backups")
"""What no phone may, whatever its role: letting others in, taking everything out or away."""

IDS = re.compile(r"\{(\w+)(:\w+)?\}")


def routes(app: FastAPI) -> set[tuple[str, str]]:
    """Every way into the app as (method, address): pages, engine, description, and each file that is served."""
    return set(_routes(app.routes, ""))


def _routes(some: Iterable[BaseRoute], prefix: str) -> Iterator[tuple[str, str]]:
    for route in some:
        router = getattr(route, "original_router", None)  # how FastAPI keeps an included router
        if router is not None:
            yield from _routes(router.routes, prefix + route.include_context.prefix)  # type: ignore[attr-defined]
        elif isinstance(route, Mount):
            assert isinstance(route.app, StaticFiles), f"{route.path}: a mounted app has to be walked as well"
            files = (one.relative_to(STATIC) for one in STATIC.rglob("*") if one.is_file())
            yield from (("GET", f"{prefix}{route.path}/{one.as_posix()}") for one in files)
        else:
            assert isinstance(route, Route), f"{route}: a kind of route this table does not know"
            yield from ((method, prefix + route.path) for method in route.methods or ())


def test_the_walk_finds_every_kind_of_route(web_app: FastAPI) -> None:
    found = routes(web_app)
    assert {("GET", "/"), ("POST", "/skaters"), ("POST", "/api/score"), ("GET", "/api/openapi.json")} <= found
    assert ("GET", "/static/app.css") in found
    assert len(found) > sum(len(router.routes) for router in ROUTERS)


def address_of(path: str) -> str:
    """An address that fits."""
    return IDS.sub("7", path)


def in_words(method: str, path: str) -> tuple[str, str]:
    """As the tables above say it: HEAD is GET, a file is a file."""
    method = "GET" if method == "HEAD" else method
    return method, "/static/{file}" if path.startswith("/static/") else path


@pytest.mark.parametrize("role", ["logger", "viewer", "skater"])
def test_every_route_is_open_to_a_role_or_shut_as_the_table_says(web_app: FastAPI, role: Role) -> None:
    found = {
        in_words(method, path) for method, path in routes(web_app) if may(role, method, address_of(path))
    }
    # A page of the table that nobody has written yet would open something else one day.
    assert found == ALLOWED[role] & {in_words(*one) for one in routes(web_app)}
    assert found == ALLOWED[role]


def test_a_coach_may_do_all_but_let_others_in_or_take_everything_out(web_app: FastAPI) -> None:
    for method, path in routes(web_app):
        mine = any(path == start or path.startswith(f"{start}/") for start in LAPTOPS)
        assert may("coach", method, address_of(path)) is not mine
        assert may("coach", method, address_of(path), is_laptop=True)


def test_the_gate_lets_each_visitor_reach_what_the_table_says_and_nothing_else(
    web_app: FastAPI, knock: Knock, database: Database
) -> None:
    """Every route and method, asked through the gate in front of an app that only says that it was reached."""

    async def reached(scope: Scope, receive: Receive, send: Send) -> None:
        await PlainTextResponse("reached")(scope, receive, send)

    gate: Any = Gate(reached, database)
    visitors: dict[str, TestClient] = {
        "laptop": knock(gate),
        "stranger": knock(gate, client="192.168.7.32", host=LAN),
    }
    for role in ("coach", "logger", "viewer"):
        visitors[role] = knock(gate, client="192.168.7.33", host=LAN)
        with open_stores(database) as stores:
            stores.devices.add(role, hash_of(role), datetime.now(UTC), cast(Role, role))
        visitors[role].cookies.set(COOKIE, role)
    for method, path in sorted(routes(web_app) | {("PUT", "/skaters"), ("DELETE", "/live/{program_id}")}):
        named = in_words(method, path)
        mine = any(path == start or path.startswith(f"{start}/") for start in LAPTOPS)
        expected = {
            "laptop": True,
            "coach": not mine,
            "logger": named in ALLOWED["logger"],
            "viewer": named in ALLOWED["viewer"],
            "stranger": (named[0], path) in STRANGERS,
        }
        found = {
            who: client.request(method, address_of(path)).status_code == 200
            for who, client in visitors.items()
        }
        assert found == expected, f"{method} {path}"


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
    assert "Loggers differ: half and half" in said
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
