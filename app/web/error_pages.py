"""Every error becomes a page or JSON here, and nowhere else. One shape: `{"error": "what, expected, way out"}`."""

from __future__ import annotations

import logging
from dataclasses import dataclass

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from app.errors import ChangedMeanwhile, InputError, RecoupError, StorageTrouble
from app.security.headers import PROTECTION, keeping
from app.security.pairing import TooManyTries
from app.storage.stores import NotStored
from app.web import fault_log, htmx
from app.web.rendering import page

log = logging.getLogger("recoup")

TITLES = {
    403: "Not from here",
    404: "Nothing here",
    405: "Not like this",
    408: "Too slow",
    409: "Changed meanwhile",
    413: "Too large",
    422: "That cannot be used",
    429: "Too many tries",
    500: "Recoup made a mistake",
    507: "Not saved",
}
OUR_FAULT = "Something went wrong inside Recoup. What was logged is safe: go back and try again."


@dataclass(frozen=True)
class ErrorView:
    """What the error page shows: `status` HTTP number, `title` short, `message` what to do."""

    status: int
    title: str
    message: str


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
    view = ErrorView(status, TITLES.get(status, "Not possible"), message)
    return page(request, "error.html", view, fragment="_error.html", status=status)


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
    return answer(request, status_of(error), str(error))


async def _unreadable(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    field = ".".join(str(part) for part in first["loc"][1:]) or "request"
    return answer(request, 422, f"{field}: {first['msg']}")


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return answer(request, error.status_code, str(error.detail))


async def _too_large(request: Request, error: Exception) -> Response:
    """A number in the address or a form that no table can hold: nothing has such a number."""
    return answer(
        request, 404, "There is nothing with a number that large. Go back and choose from the page."
    )


async def _unexpected(request: Request, error: Exception) -> Response:
    log.error("unexpected error at %s", request.url.path, exc_info=error)
    answered = answer(request, 500, OUR_FAULT)
    # This handler runs outside the gate, which sets them otherwise.
    answered.headers.update({**PROTECTION, "Cache-Control": keeping(request.url.path)})
    return answered
