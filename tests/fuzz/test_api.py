"""Schemathesis against the app's own OpenAPI document: what is described is what is answered, and nothing is a 500.

The same cases every time; `scripts/fuzz api` makes many new ones.
"""

from __future__ import annotations

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import given
from schemathesis import GenerationMode
from starlette.types import Message, Receive, Scope, Send

from tests.fuzz.hostile import many


class FromTheLaptop:
    """The app as the laptop's own browser calls it; starting and ending it is the fixture's."""

    def __init__(self, app: FastAPI) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await _agree(receive, send)
            return
        others = [(name, value) for name, value in scope["headers"] if name not in (b"host", b"origin")]
        headers = [(b"host", b"localhost:8000"), *others]
        await self._app({**scope, "client": ("127.0.0.1", 50_000), "headers": headers}, receive, send)


async def _agree(receive: Receive, send: Send) -> None:
    message: Message = await receive()
    await send({"type": f"{message['type']}.complete"})
    await receive()
    await send({"type": "lifespan.shutdown.complete"})


@pytest.fixture
def described(web_app: FastAPI) -> schemathesis.BaseSchema:
    """The document as the app serves it."""
    return schemathesis.openapi.from_asgi("/api/openapi.json", FromTheLaptop(web_app))


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
def test_the_api_answers_as_it_is_described(described: schemathesis.BaseSchema, mode: GenerationMode) -> None:
    """As described, and in every way against it: refused in the described form."""
    found = [one.ok() for one in described.get_all_operations()]
    assert {one.path for one in found} == {"/api/score", "/api/advise"}
    for operation in found:

        @many(25)
        @given(operation.as_strategy(generation_mode=mode))
        def asked(case: schemathesis.Case) -> None:
            case.call_and_validate()

        asked()
