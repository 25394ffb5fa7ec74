"""The gate from outside: who sees what, which writes pass, which headers every answer carries."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from fastapi import FastAPI
from sqlalchemy import text
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from app.security.headers import CONTENT_POLICY, PROTECTION
from app.security.tokens import COOKIE, ENCRYPTED_COOKIE, LONGEST, UNSEEN, hash_of
from app.storage.database import Database
from app.storage.stores import Stores

LAN = "192.168.7.20"
PHONE = "192.168.7.33"
Knock = Callable[..., TestClient]


@pytest.fixture
def phone(web_app: FastAPI, knock: Knock) -> TestClient:
    """A phone in the network that has not been paired."""
    return knock(web_app, client=PHONE, host=f"{LAN}:8001")


@pytest.fixture
def paired(phone: TestClient, stores: Stores) -> TestClient:
    """The same phone with a token."""
    stores.devices.add("boards", hash_of("token"), datetime.now(UTC))
    phone.cookies.set(COOKIE, "token")
    return phone


STRANGERS = [
    # method, address, Accept, status
    ("GET", "/", "text/html", 303),
    ("GET", "/layout/1", "text/html", 303),
    ("GET", "/nothing-here", "text/html", 303),
    ("GET", "/phones", "text/html", 303),
    ("GET", "/", "*/*", 401),
    ("GET", "/api/docs", "*/*", 401),
    ("GET", "/api/openapi.json", "*/*", 401),
    ("GET", "/static/vendor/htmx/htmx.min.js", "*/*", 401),
    ("GET", "/static/../pyproject.toml", "*/*", 401),
    ("POST", "/api/score", "*/*", 401),
    ("POST", "/pair/leave", "*/*", 401),
    ("GET", "/privacy", "*/*", 401),
    ("GET", "/data", "*/*", 401),
    ("GET", "/static/leave.js", "*/*", 200),
    ("GET", "/static/unpaired.js", "*/*", 200),
    ("GET", "/static/kept.js", "*/*", 200),
    ("GET", "/static/live.js", "*/*", 401),
    ("GET", "/worker.js", "*/*", 401),
    ("GET", "/alone", "text/html", 303),
    ("POST", "/phones/open", "text/html", 401),
    ("POST", "/phones/code", "text/html", 401),
    ("HEAD", "/", "text/html", 401),
    ("OPTIONS", "/", "text/html", 401),
    ("GET", "/pair/../", "*/*", 401),
    ("GET", "/pair/", "*/*", 401),
    ("GET", "/pair", "text/html", 200),
]


@pytest.mark.parametrize(("method", "address", "accept", "status"), STRANGERS)
def test_an_unpaired_phone_sees_the_pairing_page_only(
    phone: TestClient, method: str, address: str, accept: str, status: int
) -> None:
    answered = phone.request(method, address, headers={"accept": accept})
    assert answered.status_code == status
    if status == 303:
        assert answered.headers["location"] == "/pair"


@pytest.mark.parametrize("token", ["", "wrong", "Token", "x" * 5000])
def test_a_wrong_token_is_no_token(paired: TestClient, token: str) -> None:
    paired.cookies.set(COOKIE, token)
    assert paired.get("/api/openapi.json").status_code == 401


def test_a_paired_phone_comes_in_until_it_is_removed(
    paired: TestClient, laptop: TestClient, stores: Stores
) -> None:
    assert paired.get("/api/openapi.json").status_code == 200
    (device,) = stores.devices.all()
    assert laptop.post(f"/phones/{device.id}/revoke").status_code == 303
    assert paired.get("/api/openapi.json").status_code == 401


def test_a_phone_runs_out_after_a_season_and_after_two_months_unseen(
    paired: TestClient, stores: Stores, database: Database
) -> None:
    assert paired.get("/api/openapi.json").status_code == 200
    now = datetime.now(UTC)
    for paired_at, last_seen, status in (
        (now - LONGEST + timedelta(hours=1), now, 200),
        (now - LONGEST, now, 401),
        (now - timedelta(days=90), now - UNSEEN + timedelta(hours=1), 200),
        (now - timedelta(days=90), now - UNSEEN, 401),
    ):
        with database.engine.connect() as connection:
            moments = {"paired": paired_at.replace(tzinfo=None), "seen": last_seen.replace(tzinfo=None)}
            connection.execute(text("UPDATE device SET paired_at = :paired, last_seen = :seen"), moments)
            connection.commit()
        assert paired.get("/api/openapi.json").status_code == status
        (device,) = stores.devices.all()
        assert stores.devices.may_enter(device.id, now) is (status == 200)


def test_behind_the_encrypted_door_only_its_own_cookie_counts(
    paired: TestClient, phone: TestClient, stores: Stores
) -> None:
    """A name and its http neighbour share cookies; `__Host-` ones come from the encrypted door alone (RFC 6265bis)."""
    paired.base_url = f"https://{LAN}:8001"
    assert paired.get("/api/openapi.json").status_code == 401
    paired.cookies.set(ENCRYPTED_COOKIE, "token")
    assert paired.get("/api/openapi.json").status_code == 200


@pytest.mark.parametrize(
    ("method", "address"),
    [
        ("GET", "/data"),
        ("GET", "/phones"),
        ("POST", "/phones/open"),
        ("POST", "/phones/code"),
        ("POST", "/phones/1/revoke"),
    ],
)
def test_even_a_paired_phone_cannot_let_others_in(paired: TestClient, method: str, address: str) -> None:
    assert paired.request(method, address).status_code == 403


def test_the_laptop_needs_no_pairing(laptop: TestClient) -> None:
    assert laptop.get("/phones").status_code == 200
    assert laptop.get("/pair").headers["location"] == "/"


@pytest.mark.parametrize("host", ["rebound.example", "localhost.rebound.example:8000", "192.168.7.99"])
def test_a_foreign_name_is_refused_before_anything_else(laptop: TestClient, host: str) -> None:
    answered = laptop.get("/phones", headers={"host": host})
    assert answered.status_code == 421
    assert "use the address shown" in answered.text


ORIGINS = [
    ({"origin": "http://localhost:8000", "sec-fetch-site": "same-origin"}, 303),
    ({"origin": "http://localhost:8000"}, 303),
    ({}, 403),
    ({"origin": "http://evil.example"}, 403),
    ({"origin": "null"}, 403),
    ({"sec-fetch-site": "cross-site"}, 403),
    ({"origin": "http://localhost:8000", "sec-fetch-site": "same-site"}, 403),
]


@pytest.mark.parametrize(("headers", "status"), ORIGINS)
def test_foreign_pages_cannot_write(laptop: TestClient, headers: dict[str, str], status: int) -> None:
    del laptop.headers["sec-fetch-site"]
    assert laptop.post("/phones/code", headers=headers).status_code == status


LOADS = [
    # A stream, the log as JSON, a picture, a page in a frame: nothing a foreign page may load.
    ("/live/1/stream", {"sec-fetch-mode": "cors", "sec-fetch-dest": "empty", "accept": "text/event-stream"}),
    ("/live/1/log", {"sec-fetch-mode": "cors", "sec-fetch-dest": "empty"}),
    ("/static/app.css", {"sec-fetch-mode": "no-cors", "sec-fetch-dest": "style"}),
    ("/", {"sec-fetch-mode": "navigate", "sec-fetch-dest": "iframe"}),
]


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
@pytest.mark.parametrize(("address", "headers"), LOADS)
def test_foreign_pages_cannot_load(
    laptop: TestClient, address: str, headers: dict[str, str], site: str
) -> None:
    assert laptop.get(address, headers={"sec-fetch-site": site, **headers}).status_code == 403


@pytest.mark.parametrize("content", ["{}", "edition=1"])
@pytest.mark.parametrize("kind", ["application/json", "text/plain", "application/x-www-form-urlencoded"])
def test_no_kind_of_body_gets_round_the_origin(laptop: TestClient, kind: str, content: str) -> None:
    foreign = {"origin": "http://evil.example", "sec-fetch-site": "cross-site", "content-type": kind}
    for address in ("/api/score", "/skaters", "/live/1/pass"):
        assert laptop.post(address, content=content, headers=foreign).status_code == 403


def test_no_answer_lets_other_origins_read_it(laptop: TestClient) -> None:
    asked = {"origin": "http://evil.example", "access-control-request-method": "POST"}
    for answered in (laptop.options("/api/score", headers=asked), laptop.get("/", headers=asked)):
        assert not [name for name in answered.headers if name.startswith("access-control-")]


def test_what_a_proxy_might_say_is_not_believed(laptop: TestClient, phone: TestClient) -> None:
    said = {"x-forwarded-for": "127.0.0.1", "x-real-ip": "127.0.0.1", "x-forwarded-host": "localhost:8000"}
    assert phone.get("/", headers=said).headers["location"] == "/pair"
    assert phone.post("/phones/open", headers={**said, "origin": f"http://{LAN}:8001"}).status_code == 401


@pytest.mark.parametrize("method", ["TRACE", "PUT", "PATCH", "DELETE"])
def test_methods_nobody_needs_are_refused(laptop: TestClient, method: str) -> None:
    assert laptop.request(method, "/skaters").status_code == 405


def test_the_origin_check_comes_before_the_cookie(paired: TestClient) -> None:
    answered = paired.post("/api/score", content="{", headers={"origin": "http://evil.example"})
    assert answered.status_code == 403


ANSWERS = [
    ("/phones", {}),
    ("/nothing", {}),
    ("/static/nothing", {}),
    ("/phones", {"host": "rebound.example"}),
]


@pytest.mark.parametrize(("address", "headers"), ANSWERS)
def test_every_answer_is_protected(laptop: TestClient, address: str, headers: dict[str, str]) -> None:
    answered = laptop.get(address, headers=headers)
    assert {name: answered.headers[name] for name in PROTECTION} == PROTECTION


@pytest.mark.parametrize(
    ("address", "headers", "kept"),
    [
        ("/", {}, "no-store"),
        ("/nothing", {}, "no-store"),
        ("/nothing", {"accept": "application/json"}, "no-store"),
        ("/", {"host": "rebound.example"}, "no-store"),
        ("/api/openapi.json", {}, "no-store"),
        ("/static/app.css", {}, "no-cache"),
        ("/static/nothing", {}, "no-store"),
    ],
)
def test_no_page_stays_in_a_browsers_own_cache(
    laptop: TestClient, address: str, headers: dict[str, str], kept: str
) -> None:
    assert laptop.get(address, headers=headers).headers["cache-control"] == kept


def test_strict_transport_is_said_on_the_encrypted_door_and_never_for_the_laptops_own_names(
    web_app: FastAPI, knock: Knock
) -> None:
    """RFC 6797: a name is bound with all its ports, and http://localhost:8000 has to go on working."""
    name = "strict-transport-security"
    phone = knock(web_app, client=PHONE, host=f"{LAN}:8001")
    assert name not in phone.get("/pair").headers
    phone.base_url = f"https://{LAN}:8001"
    age = int(phone.get("/pair").headers[name].partition("max-age=")[2].partition(";")[0])
    assert age >= 365 * 24 * 3600
    laptop = knock(web_app)
    laptop.base_url = "https://localhost:8001"
    assert name not in laptop.get("/").headers


def test_the_policy_allows_own_files_only() -> None:
    assert CONTENT_POLICY["default-src"] == "'none'"
    for allowed in CONTENT_POLICY.values():
        assert set(allowed.split()) <= {"'none'", "'self'", "data:"}
    assert "data:" not in CONTENT_POLICY["script-src"]


def test_websockets_are_not_served(web_app: FastAPI, laptop: TestClient) -> None:
    with pytest.raises(WebSocketDisconnect), laptop.websocket_connect("/live"):
        pass


def test_a_part_of_a_page_is_refused_and_never_the_pairing_page(phone: TestClient) -> None:
    # A removed phone's open screen asked for its board and got the pairing page into the middle of it.
    assert phone.get("/live/1/news?seen=0", headers={"HX-Request": "true"}).status_code == 401
    assert phone.get("/live/1").status_code == 303
