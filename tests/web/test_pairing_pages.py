"""Letting a phone in, from the laptop's button to the phone's first page; and the phones' door itself."""

from __future__ import annotations

import asyncio
import re
import ssl
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest
import segno
from fastapi import FastAPI
from starlette.testclient import TestClient

from app.errors import InputError
from app.security import certificate
from app.security.tokens import COOKIE
from app.storage.stores import open_stores
from app.web.club_door import ClubDoor
from app.web.phone_door import PhoneDoor, own_addresses
from app.web.server import Door, bind

Knock = Callable[..., TestClient]


@pytest.fixture
def phone(web_app: FastAPI, knock: Knock) -> TestClient:
    return knock(web_app, client="192.168.7.33", host="192.168.7.20:8001")


@pytest.fixture
def code(web_app: FastAPI) -> str:
    """A code that works now."""
    with open_stores(web_app.state.database) as stores:
        return str(web_app.state.pairing_desk.offer(stores.devices, datetime.now(UTC)).spaced)


def test_the_right_code_brings_a_cookie_scripts_cannot_read(phone: TestClient, code: str) -> None:
    answered = phone.post("/pair", data={"code": code, "name": "boards"})
    assert (answered.status_code, answered.headers["location"]) == (303, "/")
    cookie = answered.headers["set-cookie"]
    assert cookie.startswith(f"{COOKIE}=")
    parts = {part.strip() for part in cookie.split(";")}
    assert {"HttpOnly", "SameSite=strict", "Path=/"} <= parts
    assert "Secure" not in parts  # it would never come back over plain http
    assert not any(part.startswith("Domain") for part in parts)
    assert phone.get("/api/openapi.json").status_code == 200


def test_over_https_the_cookie_is_bound_to_this_host(phone: TestClient, code: str) -> None:
    """RFC 6265bis, "__Host-": secure, path /, no domain."""
    phone.base_url = "https://192.168.7.20:8001"
    cookie = phone.post("/pair", data={"code": code}).headers["set-cookie"]
    assert cookie.startswith(f"__Host-{COOKIE}=")
    assert {"HttpOnly", "SameSite=strict", "Path=/", "Secure"} <= {part.strip() for part in cookie.split(";")}
    assert "Domain" not in cookie
    assert phone.get("/api/openapi.json").status_code == 200


def test_a_token_brought_along_is_never_taken_over(phone: TestClient, code: str) -> None:
    """Session fixation: what the phone sends before pairing is worth nothing after it."""
    phone.cookies.set(COOKIE, "chosen-by-somebody-else")
    answered = phone.post("/pair", data={"code": code})
    token = answered.headers["set-cookie"].partition("=")[2].partition(";")[0]
    assert len(token) >= 43  # 32 random bytes in base64
    assert token != "chosen-by-somebody-else"
    phone.cookies.clear()
    phone.cookies.set(COOKIE, "chosen-by-somebody-else")
    assert phone.get("/api/openapi.json").status_code == 401


def test_a_phone_paired_anew_loses_its_old_token(web_app: FastAPI, phone: TestClient, code: str) -> None:
    phone.post("/pair", data={"code": code, "name": "first"})
    old = phone.cookies[COOKIE]
    with open_stores(web_app.state.database) as stores:
        again = web_app.state.pairing_desk.offer(stores.devices, datetime.now(UTC)).signs
        assert phone.post("/pair", data={"code": again, "name": "second"}).status_code == 303
        assert [one.name for one in stores.devices.all()] == ["second"]
    assert phone.cookies[COOKIE] != old
    phone.cookies.clear()
    phone.cookies.set(COOKIE, old)
    assert phone.get("/api/openapi.json").status_code == 401


def test_a_phone_leaves_and_takes_nothing_along(web_app: FastAPI, phone: TestClient, code: str) -> None:
    phone.post("/pair", data={"code": code, "name": "boards of Mira"})
    token = phone.cookies[COOKIE]
    shown = phone.get("/pair").text
    assert "boards of Mira" in shown
    answered = phone.post("/pair/leave")
    assert answered.headers["location"] == "/pair?left=yes"
    # Over plain http Chromium kept the cookie when this header stood beside its removal.
    assert "clear-site-data" not in answered.headers
    assert COOKIE not in phone.cookies
    assert "This phone has left" in phone.get("/pair?left=yes").text
    phone.cookies.set(COOKIE, token)
    assert phone.get("/api/openapi.json").status_code == 401
    with web_app.state.database.engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT name FROM device").scalars().all() == ["removed phone"]


def test_over_https_the_browser_is_told_to_forget(phone: TestClient, code: str) -> None:
    phone.base_url = "https://192.168.7.20:8001"
    phone.post("/pair", data={"code": code})
    answered = phone.post("/pair/leave")
    assert set(answered.headers["clear-site-data"].split(", ")) == {'"cache"', '"cookies"', '"storage"'}
    assert "Secure" in answered.headers["set-cookie"]


def test_the_laptop_cannot_leave(laptop: TestClient) -> None:
    assert laptop.post("/pair/leave").status_code == 422


def test_a_wrong_code_says_what_to_do_and_brings_no_cookie(phone: TestClient, code: str) -> None:
    answered = phone.post("/pair", data={"code": "AAAA-AAAA", "name": "<b>boards"})
    assert answered.status_code == 422
    assert "look at the laptop" in answered.text
    assert "&lt;b&gt;boards" in answered.text
    assert "set-cookie" not in answered.headers


def test_too_many_tries_are_429(phone: TestClient, code: str) -> None:
    statuses = [phone.post("/pair", data={"code": "wrong"}).status_code for _ in range(6)]
    assert statuses == [422] * 5 + [429]
    assert phone.post("/pair", data={"code": code}).status_code == 429


def test_opening_the_link_of_the_picture_pairs_nobody(phone: TestClient, code: str) -> None:
    shown = phone.get("/pair", params={"code": code})
    assert f'value="{code}"' in shown.text
    assert phone.get("/").headers["location"] == "/pair"


def test_the_laptop_shows_nothing_to_type_while_shut(laptop: TestClient, code: str) -> None:
    shown = laptop.get("/phones").text
    assert "Let phones in" in shown
    assert code not in shown


def test_open_shows_address_picture_and_code(laptop: TestClient, web_app: FastAPI, code: str) -> None:
    door = web_app.state.phone_door

    class Opened(PhoneDoor):
        is_open = True
        port = 8001

        def addresses(self) -> tuple[str, ...]:
            return ("http://192.168.7.20:8001",)

    web_app.state.phone_door = Opened(door._make)
    shown = laptop.get("/phones").text
    assert code in shown
    assert "http://192.168.7.20:8001" in shown
    drawn = re.search(r'<svg[^>]*class="qr".*?</svg>', shown, re.DOTALL)
    assert drawn is not None
    assert "style=" not in drawn[0]
    # The reference: the same text drawn again by the library, module for module.
    again = segno.make(f"http://192.168.7.20:8001/pair?code={code.replace('-', '')}", micro=False)
    path = re.search(r' d="([^"]+)"', again.svg_inline(border=4))
    assert path is not None
    assert path[1] in drawn[0]


def test_the_door_opens_and_shuts_while_the_laptop_stays(web_app: FastAPI) -> None:
    """A real second socket in the same process: strangers get the pairing page, then nothing."""

    async def scene() -> tuple[int, str, bool]:
        door = PhoneDoor(lambda _host, port: Door(web_app, bind("127.0.0.1", port), main=False), after=8400)
        await door.open()
        await door.open()
        port = door.port
        async with httpx.AsyncClient() as browser:
            # Not one of our names: the gate answers, so the door is open.
            answered = await browser.get(
                f"http://127.0.0.1:{port}/phones", headers={"host": "rebound.example"}
            )
            await door.close()
            try:
                await browser.get(f"http://127.0.0.1:{port}/phones")
                shut = False
            except httpx.ConnectError:
                shut = True
        assert door.port is None
        return answered.status_code, answered.text, shut

    with ThreadPoolExecutor(1) as thread:  # the browser tests may have left a loop running in this one
        status, text, shut = thread.submit(lambda: asyncio.run(scene())).result(timeout=20)
    assert status == 421
    assert "does not answer" in text
    assert shut


def test_with_a_certificate_the_phones_door_speaks_https(web_app: FastAPI, knock: Knock) -> None:
    """A real handshake with a client that trusts this certificate and nothing else; plain http finds no door."""
    laptop, folder = knock(web_app), web_app.state.settings.data_dir
    assert "not encrypted" in laptop.get("/phones").text
    assert laptop.post("/phones/certificate").status_code == 303
    made = certificate.read(folder, datetime.now(UTC))
    assert made is not None
    shown = laptop.get("/phones").text
    assert made.fingerprint in shown
    assert "Now: <b>encrypted</b>" in shown
    trusting = ssl.create_default_context(cafile=str(made.certificate_file))

    async def scene() -> tuple[int, str]:
        door = PhoneDoor(
            lambda _host, port: Door(web_app, bind("127.0.0.1", port), main=False, certificate=made),
            after=8470,
        )
        await door.open()
        assert all(one.startswith("https://") for one in door.addresses())
        listener: Any = door._listener
        assert listener.config.ssl.minimum_version >= ssl.TLSVersion.TLSv1_2
        async with httpx.AsyncClient(verify=trusting) as browser:
            # Not one of our names: the gate answers, so the handshake went through.
            answered = await browser.get(
                f"https://127.0.0.1:{door.port}/", headers={"host": "rebound.example"}
            )
            with pytest.raises(httpx.HTTPError):
                await browser.get(f"http://127.0.0.1:{door.port}/")
        await door.close()
        return answered.status_code, answered.text

    with ThreadPoolExecutor(1) as thread:
        status, text = thread.submit(lambda: asyncio.run(scene())).result(timeout=30)
    assert status == 421
    assert "does not answer" in text
    assert laptop.post("/phones/certificate/remove").status_code == 303
    assert "not encrypted" in laptop.get("/phones").text


def test_a_taken_port_moves_on_to_the_next() -> None:
    with bind("127.0.0.1", 8450) as first, bind("127.0.0.1", first.getsockname()[1]) as second:
        assert second.getsockname()[1] > first.getsockname()[1]


def test_an_address_that_is_not_ours_is_named() -> None:
    # 203.0.113.0/24 is reserved for documentation (RFC 5737): no machine has it.
    with pytest.raises(InputError, match=r"'203\.0\.113\.7' is no address of this machine"):
        bind("203.0.113.7", 8450)


def test_own_addresses_are_never_loopback() -> None:
    assert all(not address.startswith("127.") for address in own_addresses())


def test_a_door_of_a_club_shows_nothing_that_has_no_effect(
    demo_app: FastAPI, demo_laptop: TestClient
) -> None:
    # Used to be: "Shut phones out" and the certificate's form stood there, and did nothing.
    demo_app.state.phone_door = ClubDoor("https://recoup.example")
    demo_laptop.post("/phones/open")
    shown = demo_laptop.get("/phones").text
    assert "https://recoup.example" in shown
    assert "Shut phones out" not in shown
    assert "Encrypted link" not in shown
    demo_app.state.phone_door = ClubDoor("")
    shown = demo_laptop.get("/phones").text
    assert "--address" in shown
    assert 'action="/phones/open"' not in shown
