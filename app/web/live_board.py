"""The live screen as an answer: the board for whoever asks, and the next advice worked out behind it.

Screens that see the same of a program get the same text, written once. Two things in it are each answer's own: the id
that marks the next tap, and the time by the laptop's clock.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from typing import cast
from uuid import uuid4

from fastapi import Request, Response
from starlette.background import BackgroundTask
from starlette.responses import HTMLResponse

from app.web import htmx
from app.web.advisor import Advisor
from app.web.languages import spoken
from app.web.rendering import FRAGMENT_HEADERS, page
from app.web.views.boards import Sheet, board
from app.web.views.timing import ClockView, clock_view
from app.web.visitor import Visitor

MOST_WRITTEN = 16
"""Texts kept for one sheet; the clock on it makes a new one every second."""


@dataclass(frozen=True, slots=True)
class Written:
    """A board as it was sent, and what of it was that answer's own."""

    text: str
    event_id: str
    now_ms: int

    @property
    def is_told_apart(self) -> bool:
        """Whether the time can be told from every other number in the text."""
        return self.text.count(str(self.now_ms)) == 1

    def again(self, event_id: str, now_ms: int) -> str:
        """The same board for another answer."""
        return self.text.replace(self.event_id, event_id).replace(str(self.now_ms), str(now_ms))


def show_board(request: Request, sheet: Sheet, visitor: Visitor, notice: str = "") -> Response:
    """The page, or its board alone when htmx asks for a part."""
    advisor, now = cast(Advisor, request.app.state.advisor), time.time()
    if htmx.wants_fragment(request) and not notice:
        text, is_new = _written(request, sheet, visitor, now)
        answer: Response = HTMLResponse(text, headers=FRAGMENT_HEADERS)
        if not is_new:
            return answer
    else:
        view = board(sheet, advisor, visitor, now, notice)
        answer = page(request, "live/page.html", view, fragment="live/_board.html")
    answer.background = BackgroundTask(advisor.prepare, sheet.record.id, sheet.state)
    return answer


def _written(request: Request, sheet: Sheet, visitor: Visitor, now: float) -> tuple[str, bool]:
    """The board, as another screen got it if that sees the same; whether it is the first to see it."""
    clock: ClockView = clock_view(sheet.ahead, sheet.edition, now)
    key = (visitor, spoken.get(), replace(clock, now_ms=0))
    known = sheet.written.get(key)
    if isinstance(known, Written):
        return known.again(uuid4().hex, clock.now_ms), False
    view = board(sheet, cast(Advisor, request.app.state.advisor), visitor, now)
    text = bytes(page(request, "live/_board.html", view).body).decode()
    fresh = Written(text, view.event_id, view.clock.now_ms)
    if fresh.is_told_apart:
        if len(sheet.written) >= MOST_WRITTEN:
            sheet.written.clear()
        sheet.written[key] = fresh
    return text, True
