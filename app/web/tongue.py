"""Which language a request is answered in: the device's choice, the coach's setting, the browser's wish, English."""

from __future__ import annotations

import time

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from app.storage.database import Database
from app.storage.setting_store import SettingStore
from app.storage.stores import open_stores
from app.web.languages import LANGUAGES, chosen, spoken

COOKIE = "recoup_language"
KEPT_SECONDS = 365 * 24 * 3600
AS_READ_SECONDS = 1.0
QUIET = ("/static/", "/api/")
"""Addresses that answer nobody in words; programs read `/api` in English."""


class Tongue:
    """Wraps the app; `database` knows the coach's setting. A plain ASGI wrapper, so streams pass untouched."""

    def __init__(self, app: ASGIApp, database: Database) -> None:
        self._app = app
        self._database = database
        self._known = ""
        self._read_at: tuple[float, int] | None = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "http" and not scope["path"].startswith(QUIET):
            spoken.set(await self._language(Request(scope)))
        await self._app(scope, receive, send)

    async def _language(self, request: Request) -> str:
        kept = request.cookies.get(COOKIE, "")
        usual = "" if kept in LANGUAGES else await self._usual()
        return chosen(kept, usual, request.headers.get("accept-language", ""))

    async def _usual(self) -> str:
        """The coach's setting; read anew after a change here, and once a second for what others change."""
        now = time.monotonic(), SettingStore.changes
        then = self._read_at
        if then is None or now[1] != then[1] or now[0] - then[0] > AS_READ_SECONDS:
            self._known = await run_in_threadpool(self._read)
            self._read_at = now
        return self._known

    def _read(self) -> str:
        with open_stores(self._database) as stores:
            return stores.settings.coach().language
