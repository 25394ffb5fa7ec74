"""The body of a request, counted and timed as it comes in: too large is 413, too slow is 408."""

from __future__ import annotations

import asyncio
from collections.abc import MutableMapping
from typing import Any

from starlette.exceptions import HTTPException
from starlette.types import Message, Receive

from app.domain.words import grouped, say
from app.security.limits import BODY_SECONDS, most_body


def measured(receive: Receive, path: str, seconds: float = BODY_SECONDS) -> Receive:
    """`receive` for a request to that address; raises HTTPException while the body is read."""
    most, loop = most_body(path), asyncio.get_running_loop()
    deadline = loop.time() + seconds
    so_far, more = 0, True

    async def limited() -> Message:
        nonlocal so_far, more
        # Behind the body `receive` waits for the caller to hang up, and may do so for ever.
        message = await (_in_time(receive, deadline - loop.time()) if more else receive())
        if message["type"] == "http.request":
            so_far += len(message.get("body", b""))
            more = bool(message.get("more_body", False))
            if so_far > most:
                raise HTTPException(
                    413, say("more than %(most)s bytes given; send less at a time", most=grouped(most))
                )
        return message

    return limited


async def _in_time(receive: Receive, seconds: float) -> MutableMapping[str, Any]:
    try:
        return await asyncio.wait_for(receive(), max(seconds, 0.001))
    except TimeoutError:
        raise HTTPException(408, say("the request came too slowly; send it again")) from None
