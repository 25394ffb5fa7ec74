"""The JSON contract of `score` and `advise`: text in, plain JSON values out. Shared by command line and HTTP."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, NoReturn

from app.domain.words import say
from app.errors import InputError


def read(text: str | bytes) -> dict[str, Any]:
    """The request in `text`: one JSON object. Raises InputError."""
    try:
        given = json.loads(text, parse_constant=_not_a_number)
    except (ValueError, RecursionError) as error:
        raise InputError(
            "request", say("not JSON (%(error)s); expected one JSON object", error=error)
        ) from error
    if _has_half_signs(given):
        raise InputError("request", say("half a sign (a surrogate without its other half); expected text"))
    if not isinstance(given, dict):
        raise InputError(
            "request", say("%(given)s given; expected one JSON object", given=type(given).__name__)
        )
    return given


def answer(verb: str, text: str | bytes) -> dict[str, Any]:
    """What the engine says to the request in `text`. Raises RecoupError."""
    from app import engine  # late: `serve --help` should not load the planner

    request = read(text)
    found = engine.score(request) if verb == "score" else engine.advise(request)
    return found.as_json()


def written(answered: Mapping[str, Any]) -> str:
    """One line of JSON."""
    return json.dumps(answered, ensure_ascii=False, allow_nan=False)


def _has_half_signs(given: Any) -> bool:
    """Whether a text in it cannot be written as UTF-8, and so could not be repeated in any answer."""
    try:
        json.dumps(given, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        return True
    return False


def _not_a_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number of JSON")
