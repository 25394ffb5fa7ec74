"""Which language a request is answered in: the device's choice, the coach's setting, the browser's wish, English."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from app.storage.database import Database
from app.storage.stores import open_stores
from app.web.languages import LANGUAGES, chosen, spoken

COOKIE = "recoup_language"
KEPT_SECONDS = 365 * 24 * 3600
QUIET = ("/static/", "/api/")
"""Addresses that answer nobody in words; programs read `/api` in English."""


class Tongue:
    """Wraps the app; `database` knows the coach's setting. A plain ASGI wrapper, so streams pass untouched."""

    def __init__(self, app: ASGIApp, database: Database) -> None:
        self._app = app
        self._database = database

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "http" and not scope["path"].startswith(QUIET):
            spoken.set(await self._language(Request(scope)))
        await self._app(scope, receive, send)

    async def _language(self, request: Request) -> str:
        kept = request.cookies.get(COOKIE, "")
        usual = "" if kept in LANGUAGES else await run_in_threadpool(self._usual)
        return chosen(kept, usual, request.headers.get("accept-language", ""))

    def _usual(self) -> str:
        with open_stores(self._database) as stores:
            return stores.settings.coach().language
