"""The whole htmx vocabulary: what a request says about itself, what an answer may ask for.

Source of the header names: the reference of htmx 4 (request and response headers). No other module spells one.
"""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response


def is_htmx(request: Request) -> bool:
    """Did htmx send this request (rather than a plain link or form)?"""
    return request.headers.get("HX-Request") == "true"


def wants_fragment(request: Request) -> bool:
    """Is a part of the page enough? False for whole-page swaps, boosted links and history."""
    whole = request.headers.get("HX-History-Restore-Request") == "true"
    boosted = request.headers.get("HX-Boosted") == "true"
    partial = request.headers.get("HX-Request-Type", "partial") == "partial"
    return is_htmx(request) and partial and not whole and not boosted


def go_to(request: Request, address: str) -> Response:
    """After a successful form: htmx is told to go there, a plain browser is redirected (303, so it GETs)."""
    if is_htmx(request):
        return Response(status_code=204, headers={"HX-Redirect": address})
    return RedirectResponse(address, status_code=303)
