"""Too much, too slow, too many: what a door does with requests that would use it up. Over real sockets."""

from __future__ import annotations

import asyncio
import gzip
import socket
from collections.abc import AsyncIterator, Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager

import pytest
from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.testclient import TestClient
from starlette.types import Message

from app.review.sheet_import import MOST_BYTES as MOST_OF_A_SHEET
from app.security.limits import BODIES, MOST_BODY, MOST_HEAD, most_body
from app.web.measured import measured
from app.web.patience import PatientProtocol
from app.web.routes.api import MOST_BYTES as MOST_OF_THE_ENGINE
from app.web.server import Door, bind

ASK = b"GET /static/app.css HTTP/1.1\r\nHost: localhost\r\n\r\n"
Scene = Callable[[int], Awaitable[bytes]]


class Hasty(PatientProtocol):
    """As served, only that nobody has to wait for the test."""

    head_seconds = 0.2


@asynccontextmanager
async def open_door(app: FastAPI) -> AsyncIterator[int]:
    """The port of a door with little patience."""
    door = Door(app, bind("127.0.0.1", 0), main=False)
    door.config.http = Hasty
    task = asyncio.create_task(door.open())
    while not door.started:
        await asyncio.sleep(0.01)
    yield door.port
    door.should_exit = True
    await task


def played(app: FastAPI, scene: Scene) -> bytes:
    """What a scene at the open door brings."""

    async def whole() -> bytes:
        async with open_door(app) as port:
            return await asyncio.wait_for(scene(port), 20)

    with ThreadPoolExecutor(1) as thread:  # other tests may have left a loop running in this one
        return thread.submit(lambda: asyncio.run(whole())).result(timeout=30)


async def heard(port: int, *parts: bytes) -> bytes:
    """Send parts, then listen until the door hangs up."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    for part in parts:
        writer.write(part)
        await writer.drain()
    try:
        return await reader.read()
    except ConnectionResetError:
        return b""
    finally:
        writer.close()


def test_a_request_is_answered(web_app: FastAPI) -> None:
    said = played(web_app, lambda port: heard(port, ASK))
    assert said.startswith(b"HTTP/1.1 200")


@pytest.mark.parametrize(
    "part",
    [b"", b"GET / HTT", b"GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: "],
    ids=["silence", "line", "head"],
)
def test_a_head_that_does_not_come_is_hung_up_on(web_app: FastAPI, part: bytes) -> None:
    """Used to stay open for ever; a few thousand such lines shut the boards out."""
    assert played(web_app, lambda port: heard(port, part)) == b""


def test_a_second_request_that_does_not_come_is_hung_up_on(web_app: FastAPI) -> None:
    said = played(web_app, lambda port: heard(port, ASK, b"GET / HTT"))
    assert said.count(b"HTTP/1.1 200") == 1


def test_an_answer_that_takes_longer_is_waited_for(web_app: FastAPI) -> None:
    async def slow() -> str:
        await asyncio.sleep(3 * Hasty.head_seconds)
        return "after all"

    web_app.router.add_api_route("/slow", slow)
    said = played(web_app, lambda port: heard(port, ASK.replace(b"/static/app.css", b"/slow")))
    assert b"after all" in said


def test_a_head_without_end_is_refused(web_app: FastAPI) -> None:
    said = played(web_app, lambda port: heard(port, b"GET / HTTP/1.1\r\nX-Long: ", b"x" * (2 * MOST_HEAD)))
    assert said.startswith(b"HTTP/1.1 400")


def test_a_length_said_twice_is_refused(web_app: FastAPI) -> None:
    """Request smuggling needs two readers who differ; here nothing ambiguous is read at all (RFC 9112, section 6.3)."""
    two = b"POST /skaters HTTP/1.1\r\nHost: localhost\r\nContent-Length: 3\r\nContent-Length: 4\r\n\r\nname"
    assert played(web_app, lambda port: heard(port, two)).startswith(b"HTTP/1.1 400")
    no_host = b"GET / HTTP/1.1\r\n\r\n"
    assert played(web_app, lambda port: heard(port, no_host)).startswith(b"HTTP/1.1 400")


def test_lines_beyond_the_most_hear_that_it_is_busy(
    web_app: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.security.limits.MOST_LINES", 3)

    async def crowd(port: int) -> bytes:
        idle = [socket.create_connection(("127.0.0.1", port)) for _ in range(3)]
        await asyncio.sleep(0.05)
        said = await heard(port, ASK)
        for one in idle:
            one.close()
        return said

    assert played(web_app, crowd).startswith(b"HTTP/1.1 503")


@pytest.mark.parametrize("address", ["/skaters", "/pair", "/skaters/1/log"])
def test_a_body_too_large_is_refused_in_words(laptop: TestClient, address: str) -> None:
    answered = laptop.post(address, data={"name": "x" * (MOST_BODY + 1)})
    assert answered.status_code == 413
    assert "send less at a time" in answered.text


def test_a_file_too_large_is_refused_before_it_fills_the_disk(laptop: TestClient) -> None:
    most = most_body("/sheets/read")
    answered = laptop.post("/sheets/read", files={"file": ("sheet.pdf", b"%PDF-" + b"x" * most)})
    assert answered.status_code == 413


def test_every_upload_has_room_for_what_its_page_takes() -> None:
    assert most_body("/sheets/read") > MOST_OF_A_SHEET
    assert most_body("/api/advise") > MOST_OF_THE_ENGINE
    assert most_body("/skaters") == MOST_BODY == min(MOST_BODY, *(most for _, most in BODIES))


def test_a_compressed_body_is_never_unpacked(laptop: TestClient) -> None:
    bomb = gzip.compress(b'{"edition": "' + b"x" * 50_000_000)
    assert len(bomb) < MOST_BODY
    answered = laptop.post("/api/score", content=bomb, headers={"content-encoding": "gzip"})
    assert answered.status_code == 422


def test_a_body_that_comes_too_slowly_is_given_up() -> None:
    async def drops() -> Message:
        await asyncio.sleep(0.05)
        return {"type": "http.request", "body": b"x", "more_body": True}

    async def read() -> int:
        receive = measured(drops, "/skaters", seconds=0.3)
        try:
            while True:
                await receive()
        except HTTPException as refused:
            return refused.status_code

    with ThreadPoolExecutor(1) as thread:
        assert thread.submit(lambda: asyncio.run(read())).result(timeout=20) == 408
