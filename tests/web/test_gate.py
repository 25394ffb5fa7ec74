"""The gate from outside: who sees what, which writes pass, which headers every answer carries."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from app.security.headers import CONTENT_POLICY, PROTECTION
from app.security.tokens import COOKIE, hash_of
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


@pytest.mark.parametrize(
    ("method", "address"),
    [("GET", "/phones"), ("POST", "/phones/open"), ("POST", "/phones/code"), ("POST", "/phones/1/revoke")],
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
    ({}, 303),
    ({"origin": "http://evil.example"}, 403),
    ({"origin": "null"}, 403),
    ({"sec-fetch-site": "cross-site"}, 403),
    ({"origin": "http://localhost:8000", "sec-fetch-site": "same-site"}, 403),
]


@pytest.mark.parametrize(("headers", "status"), ORIGINS)
def test_foreign_pages_cannot_write(laptop: TestClient, headers: dict[str, str], status: int) -> None:
    assert laptop.post("/phones/code", headers=headers).status_code == status


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


def test_the_policy_allows_own_files_only() -> None:
    assert CONTENT_POLICY["default-src"] == "'none'"
    for allowed in CONTENT_POLICY.values():
        assert set(allowed.split()) <= {"'none'", "'self'", "data:"}
    assert "data:" not in CONTENT_POLICY["script-src"]


def test_websockets_are_not_served(web_app: FastAPI, laptop: TestClient) -> None:
    with pytest.raises(WebSocketDisconnect), laptop.websocket_connect("/live"):
        pass
