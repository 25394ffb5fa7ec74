"""Schemathesis against the app's own OpenAPI document: what is described is what is answered, and nothing is a 500.

The same cases every time; `scripts/fuzz api` makes many new ones.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import given, strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import positive_data_acceptance
from starlette.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from app.web.routes.api import ADVISE_EXAMPLE, SCORE_EXAMPLE
from tests.fuzz.hostile import CODES, HOSTILE, many

BY_DESIGN = [positive_data_acceptance]
"""The document says that a code is a text; which codes there are stands in the rulebook."""


SAID_BY_US = (b"host", b"origin", b"sec-fetch-site")


class FromTheLaptop:
    """The app as the laptop's own browser calls it; starting and ending it is the fixture's."""

    def __init__(self, app: FastAPI) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await _agree(receive, send)
            return
        others = [(name, value) for name, value in scope["headers"] if name not in SAID_BY_US]
        headers = [(b"host", b"localhost:8000"), (b"sec-fetch-site", b"same-origin"), *others]
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
            case.call_and_validate(excluded_checks=BY_DESIGN)

        asked()


LEAVES = (
    st.sampled_from((*HOSTILE, *CODES))
    | st.integers()
    | st.floats(allow_nan=False)
    | st.none()
    | st.booleans()
)
ODD = st.recursive(LEAVES | st.just("\ud800"), lambda inner: st.lists(inner, max_size=3), max_leaves=4)


@st.composite
def spoilt(draw: st.DrawFn, example: Any) -> Any:
    """The example with one to three of its parts replaced, doubled or gone."""
    whole = copy.deepcopy(example)
    for _ in range(draw(st.integers(1, 3))):
        holder, key = draw(st.sampled_from(list(parts(whole)) or [(whole, "edition")]))
        match draw(st.sampled_from(("replace", "replace", "gone", "double"))):
            case "gone" if key in holder or isinstance(holder, list):
                del holder[key]
            case "double" if isinstance(holder, list):
                holder.extend(copy.deepcopy(holder) * draw(st.integers(1, 60)))
            case _:
                holder[key] = draw(ODD)
    return whole


def parts(whole: Any) -> Iterator[tuple[Any, Any]]:
    """Every place in it, as the container and the key."""
    keys: list[Any] = list(whole) if isinstance(whole, dict) else list(range(len(whole)))
    for key in keys:
        yield whole, key
        if isinstance(whole[key], dict | list):
            yield from parts(whole[key])


@pytest.mark.parametrize(("verb", "example"), [("score", SCORE_EXAMPLE), ("advise", ADVISE_EXAMPLE)])
def test_a_spoilt_question_is_answered_or_refused(
    laptop: TestClient, verb: str, example: dict[str, Any]
) -> None:
    @many(60)
    @given(spoilt(example))
    def asked(question: Any) -> None:
        answer = laptop.post(f"/api/{verb}", content=json.dumps(question).encode())
        assert answer.status_code in (200, 413, 422)
        assert isinstance(answer.json(), dict)

    asked()
