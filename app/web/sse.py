"""Server-sent events: the log of a live program as a stream, every entry once and in order.

What is sent stands at the top of `app.live.events`. A stream holds no queue: when it is woken it reads the log from
its last number on, and sends as fast as the screen takes it. One that is far behind is told to fetch the board
anew; a phone that has been removed hears nothing more. Format: WHATWG HTML, "Server-sent events".
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import suppress
from datetime import UTC, datetime

from starlette.concurrency import run_in_threadpool
from starlette.responses import StreamingResponse

from app.live.broadcast import Hub
from app.live.events import stamped_json
from app.storage.database import Database
from app.storage.records import LoggedEvent
from app.storage.stores import open_stores
from app.web.views.plans import stamped_of

MOST_BEHIND = 64
"""Entries a screen may be behind and still get one by one."""

STILL_HERE_SECONDS = 15.0

STILL_HERE = b"event: here\ndata: {}\n\n"
"""A message and no comment: a page hears that its line is alive."""

Read = Callable[[int], tuple[LoggedEvent, ...] | None]
"""The log after that number; None: this screen may not hear it any more."""


def message(event: str, seq: int, data: object) -> bytes:
    """One message of the stream."""
    return f"event: {event}\nid: {seq}\ndata: {json.dumps(data)}\n\n".encode()


def news_of(entry: LoggedEvent) -> bytes:
    """One entry of the log as a message."""
    return message("news", entry.seq, stamped_json(entry.seq, entry.at, stamped_of(entry)))


async def stream(
    hub: Hub, program_id: int, seen: int, read: Read, still_here: float = STILL_HERE_SECONDS
) -> AsyncIterator[bytes]:
    """The messages for one screen that has seen the log up to `seen`, without end."""
    loop, woken = asyncio.get_running_loop(), asyncio.Event()

    def wake() -> None:
        with suppress(RuntimeError):  # the server of that screen has ended
            loop.call_soon_threadsafe(woken.set)

    calls, begun = hub.hung_up, False
    with hub.listening(program_id, wake):
        yield b": hello\n\n"
        while True:
            woken.clear()
            entries = await run_in_threadpool(read, seen)
            if entries is None or hub.hung_up != calls:
                return
            if not begun and seen and not entries and not await run_in_threadpool(read, seen - 1):
                # The log is shorter than this screen knows: a copy was brought back. It fetches the board anew.
                there = await run_in_threadpool(read, 0) or ()
                seen = there[-1].seq if there else 0
                yield message("reload", seen, {"seq": seen})
            begun = True
            if len(entries) > MOST_BEHIND:
                seen = entries[-1].seq
                yield message("reload", seen, {"seq": seen})
                entries = ()
            for entry in entries:
                seen = entry.seq
                yield news_of(entry)
            try:
                await asyncio.wait_for(woken.wait(), still_here)
            except TimeoutError:
                yield STILL_HERE


def reader(database: Database, program_id: int, device_id: int | None) -> Read:
    """Reads the log for one screen: a phone only as long as it is paired, everybody as long as there is the program."""

    def read(seen: int) -> tuple[LoggedEvent, ...] | None:
        with open_stores(database) as stores:
            if device_id is not None and not stores.devices.may_enter(device_id, datetime.now(UTC)):
                return None
            entries = stores.live.events(program_id, after=seen)
            return entries if entries or stores.live.holds(program_id) else None

    return read


def answer(messages: AsyncIterator[bytes]) -> StreamingResponse:
    """The stream as an HTTP answer that nobody on the way keeps back."""
    headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
    return StreamingResponse(messages, media_type="text/event-stream", headers=headers)
