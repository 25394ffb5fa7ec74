"""The gate every request passes: whose name, whose page, whose phone. Decisions are `app.security`'s.

Order: Host header, origin, then pairing, then role. The headers of `app.security.headers` go on every answer, refusals
included; what a request brings is counted as it is read. It is a plain ASGI wrapper, so streams pass through untouched.
"""

from __future__ import annotations

from datetime import UTC, datetime

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.domain.words import say
from app.security import origin, roles, tokens
from app.security.headers import PROTECTION, keeping, transport
from app.storage.database import Database
from app.storage.missing import NotStored
from app.storage.stores import open_stores
from app.web import error_pages, htmx
from app.web.club_door import PublicDoor
from app.web.measured import measured
from app.web.visitor import LAPTOP, STRANGER, Visitor

PAIRING_PAGE = roles.PAIRING
OPEN_TO_STRANGERS = frozenset({PAIRING_PAGE, "/language", "/static/app.css", *roles.OF_PAIRING})
PROGRAMS_PAGE = "/live"
SENT_ON = frozenset({"/"})
CHANGES_NOTHING = "/api/"
"""The engine answers questions and keeps nothing: a program need not say where it comes from."""


class Gate:
    """Wraps the app; `database` knows the paired phones, `public` is the door behind a club's proxy."""

    def __init__(self, app: ASGIApp, database: Database, public: PublicDoor | None = None) -> None:
        self._app = app
        self._database = database
        self._public = public

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":  # Recoup has no websockets
            await send({"type": "websocket.close", "code": 1008})
            return
        public = self._public if self._public and _port_of(scope) == self._public.port else None
        if public is not None:
            scope = {**scope, "scheme": public.scheme}  # the proxy speaks https for us
        request = Request(scope)
        guarded = _with_protection(send, request)
        refusal = _judge(request, public)
        if refusal is None:
            scope["recoup.visitor"] = visitor = await self._visitor(request, public)
            refusal = _judge_visitor(request, visitor)
            if refusal is None and visitor.is_skater and not await self._owns(visitor, scope["path"]):
                refusal = _not_for(request, visitor)
        await (refusal or self._app)(scope, measured(receive, scope["path"]), guarded)

    async def _visitor(self, request: Request, public: PublicDoor | None) -> Visitor:
        # Behind the proxy nobody is the laptop, whatever the request says of itself.
        if public is None and origin.is_laptop(_client(request), request.headers.get("host", "")):
            return LAPTOP
        token = request.cookies.get(tokens.cookie_name(request.url.scheme))
        return STRANGER if token is None else await run_in_threadpool(self._phone, token)

    def _phone(self, token: str) -> Visitor:
        with open_stores(self._database) as stores:
            device = stores.devices.by_token(tokens.hash_of(token), datetime.now(UTC))
        if device is None:
            return STRANGER
        if device.role == roles.SKATER and device.skater_id is None:
            return STRANGER  # the skater was deleted
        return Visitor(device.name, False, device.id, device.role, device.sees_advice, device.skater_id)

    async def _owns(self, visitor: Visitor, path: str) -> bool:
        """Whether an address is about the skater whose phone this is, or about nobody."""
        about = roles.belongs_to(path)
        if about is None:
            return True
        kind, number = about
        if kind == "skaters":
            return number == visitor.skater_id
        return await run_in_threadpool(self._skater_of_layout, number) == visitor.skater_id

    def _skater_of_layout(self, layout_id: int) -> int | None:
        with open_stores(self._database) as stores:
            try:
                return stores.layouts.get(layout_id).skater_id
            except NotStored:
                return 0  # nobody's


def _client(request: Request) -> str:
    return request.client.host if request.client else ""


def _port_of(scope: Scope) -> int | None:
    return (scope.get("server") or ("", None))[1]


def _judge(request: Request, public: PublicDoor | None) -> Response | None:
    headers = request.headers
    host = headers.get("host", "")
    server = request.scope.get("server") or ("", None)
    verdict = origin.judge_public(host, public.host) if public else origin.judge_host(host, server[0])
    if not verdict.passes:
        return PlainTextResponse(verdict.reason, status_code=421)
    site = headers.get("sec-fetch-site")
    for verdict in (
        origin.judge_write(
            request.method,
            request.url.scheme,
            host,
            headers.get("origin"),
            site,
            changes=not request.scope["path"].startswith(CHANGES_NOTHING),
        ),
        origin.judge_read(request.method, site, headers.get("sec-fetch-mode"), headers.get("sec-fetch-dest")),
    ):
        if not verdict.passes:
            return JSONResponse({"error": verdict.reason}, status_code=403)
    return None


def _judge_visitor(request: Request, visitor: Visitor) -> Response | None:
    path = request.scope["path"]
    if not visitor.may_enter and path not in OPEN_TO_STRANGERS:
        if (
            request.method == "GET"
            and "text/html" in request.headers.get("accept", "")
            and "/api/" not in path
            and not htmx.is_htmx(request)  # a part of a page: the pairing page must not be put into it
        ):
            return RedirectResponse(PAIRING_PAGE, status_code=303)
        return JSONResponse(
            {"error": f"this phone is not paired; open {PAIRING_PAGE} first"}, status_code=401
        )
    if visitor.may_enter and not roles.may(visitor.role, request.method, path, is_laptop=visitor.is_laptop):
        return _not_for(request, visitor)
    return None


def _not_for(request: Request, visitor: Visitor) -> Response:
    """A page a role has no use for leads to the programs; anything else is refused in words."""
    if visitor.is_coach:
        return error_pages.answer(request, 403, say("This is done on the laptop only, not on a phone."))
    if request.method == "GET" and visitor.is_skater and "text/html" in request.headers.get("accept", ""):
        # Every way out of a skater's pages leads back to them, and says nothing about what else there is.
        if request.scope["path"] != (own := f"/skaters/{visitor.skater_id}/view"):
            return RedirectResponse(own, status_code=303)
    elif request.method == "GET" and request.scope["path"] in SENT_ON:
        return RedirectResponse(PROGRAMS_PAGE, status_code=303)
    return JSONResponse({"error": f"not for a {visitor.role}; the coach may do this"}, status_code=403)


def _with_protection(send: Send, request: Request) -> Send:
    name = origin.name_of(request.headers.get("host", ""))
    always = {
        **PROTECTION,
        **transport(request.url.scheme, name, origin.LOOPBACK_NAMES),
        "Cache-Control": keeping(request.scope["path"]),
    }

    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for header, value in always.items():
                headers.setdefault(header, value)
        await send(message)

    return guarded
