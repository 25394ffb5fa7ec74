"""How much and how long: the sizes of requests and the patience with slow ones. `app.web` holds every request to them.

A phone or a program that sends too much is told so; one that sends too slowly is hung up on, so that idle lines never
use up the connections the boards need.
"""

from __future__ import annotations

MEGABYTE = 1_000_000

MOST_BODY = MEGABYTE
"""Bytes of any request no row below names: forms of a few fields, tables pasted as text."""

BODIES: tuple[tuple[str, int], ...] = (
    ("/data/import", 40 * MEGABYTE),
    ("/sheets", 6 * MEGABYTE),
    ("/api/", 3 * MEGABYTE),
)
"""Beginnings of addresses that take more: a whole installation, an official sheet as PDF, the engine's questions."""

MOST_HEAD = 32_768
"""Bytes of request line and headers."""

HEAD_SECONDS = 20.0
"""Until the head of a request must have come, from the start of the line or the end of the answer before."""

BODY_SECONDS = 60.0
"""Until the whole body must have come."""

MOST_LINES = 2_000
"""Open connections of one door; the next one hears "busy". A stream to a screen is one."""


def most_body(path: str) -> int:
    """The most bytes a request to that address may bring."""
    return next((most for start, most in BODIES if path.startswith(start)), MOST_BODY)
