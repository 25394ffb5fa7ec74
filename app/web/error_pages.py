"""Every error becomes a page or JSON here, and nowhere else. One shape: `{"error": "what, expected, way out"}`."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from http import HTTPStatus
from urllib.parse import urlsplit

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from app.domain.said import said_of
from app.domain.words import say
from app.errors import ChangedMeanwhile, InputError, RecoupError, StorageTrouble
from app.security.headers import PROTECTION, keeping
from app.security.pairing import TooManyTries
from app.storage.stores import NotStored
from app.web import fault_log, htmx
from app.web.rendering import page

log = logging.getLogger("recoup")

TITLES = {
    403: say("Not from here"),
    404: say("Nothing here"),
    405: say("Not like this"),
    408: say("Too slow"),
    409: say("Changed meanwhile"),
    413: say("Too large"),
    422: say("That cannot be used"),
    429: say("Too many tries"),
    500: say("Recoup made a mistake"),
    507: say("Not saved"),
}
UNREADABLE = {
    "missing": say("nothing given; expected a value"),
    "int_parsing": say("expected a whole number"),
    "int_from_float": say("expected a whole number"),
    "float_parsing": say("expected a number"),
    "date_from_datetime_parsing": say("expected a day"),
    "bool_parsing": say("expected yes or no"),
}
"""What forms get wrong, by pydantic's name of the fault; any other is said in pydantic's English."""
NOTHING_SAID = {
    404: say("There is no page at this address. Go back and choose from the page."),
    405: say("This address does not take that. Go back and use the buttons of the page."),
}
OUR_FAULT = say("Something went wrong inside Recoup. What was logged is safe: go back and try again.")


@dataclass(frozen=True)
class ErrorView:
    """What the error page shows: `status` HTTP number, `title` short, `message` what to do."""

    status: int
    title: str
    message: str
    back: str = ""
    """The page the visitor came from, on this server; empty where that is not known."""


def status_of(error: RecoupError) -> int:
    """The HTTP status of one of our errors."""
    if isinstance(error, NotStored):
        return 404
    if isinstance(error, ChangedMeanwhile):
        return 409
    if isinstance(error, TooManyTries):
        return 429
    if isinstance(error, StorageTrouble):
        return 507
    return 422 if isinstance(error, InputError) else 500


def wants_json(request: Request) -> bool:
    """Programs get JSON, people get a page."""
    accepts = request.headers.get("accept", "")
    return request.url.path.startswith("/api/") or ("text/html" not in accepts and not htmx.is_htmx(request))


def answer(request: Request, status: int, message: str) -> Response:
    """One error, as JSON, fragment or page."""
    if wants_json(request):
        return JSONResponse({"error": message}, status_code=status)
    view = ErrorView(status, TITLES.get(status, say("Not possible")), message, came_from(request))
    return page(request, "error.html", view, fragment="_error.html", status=status)


def came_from(request: Request) -> str:
    """The page of this server that the visitor came from, as an address without the server; empty where unknown."""
    said = urlsplit(request.headers.get("referer", ""))
    if said.netloc != request.headers.get("host", "") or not said.path.startswith("/"):
        return ""
    back = "/" + said.path.lstrip("/") + (f"?{said.query}" if said.query else "")
    return "" if back == request.url.path else back


def install(app: FastAPI) -> None:
    """Hang the handlers into the app; the terminal hears of faults without anybody's data."""
    fault_log.install()
    app.add_exception_handler(RecoupError, _ours)
    app.add_exception_handler(RequestValidationError, _unreadable)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(OverflowError, _too_large)
    app.add_exception_handler(Exception, _unexpected)


async def _ours(request: Request, error: Exception) -> Response:
    assert isinstance(error, RecoupError)
    return answer(request, status_of(error), said_of(error))


async def _unreadable(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    field = ".".join(str(part) for part in first["loc"][1:]) or "request"
    problem = UNREADABLE.get(first["type"], str(first["msg"]))
    return answer(request, 422, say("%(field)s: %(problem)s", field=field, problem=problem))


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    plain = error.detail == HTTPStatus(error.status_code).phrase
    said = NOTHING_SAID.get(error.status_code, error.detail) if plain else error.detail
    return answer(request, error.status_code, said)


async def _too_large(request: Request, error: Exception) -> Response:
    """A number in the address or a form that no table can hold: nothing has such a number."""
    return answer(
        request, 404, say("There is nothing with a number that large. Go back and choose from the page.")
    )


async def _unexpected(request: Request, error: Exception) -> Response:
    log.error("unexpected error at %s", request.url.path, exc_info=error)
    answered = answer(request, 500, OUR_FAULT)
    # This handler runs outside the gate, which sets them otherwise.
    answered.headers.update({**PROTECTION, "Cache-Control": keeping(request.url.path)})
    return answered
