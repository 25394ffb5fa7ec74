"""The live screen as an answer: the board for whoever asks, and the next advice worked out behind it."""

from __future__ import annotations

import time
from typing import cast

from fastapi import Request, Response
from starlette.background import BackgroundTask

from app.web.advisor import Advisor
from app.web.rendering import page
from app.web.views.boards import Sheet, board
from app.web.visitor import Visitor


def show_board(request: Request, sheet: Sheet, visitor: Visitor, notice: str = "") -> Response:
    """The page, or its board alone when htmx asks for a part."""
    advisor = cast(Advisor, request.app.state.advisor)
    view = board(sheet, advisor, visitor, time.time(), notice)
    answer = page(request, "live/page.html", view, fragment="live/_board.html")
    answer.background = BackgroundTask(advisor.prepare, sheet.record.id, sheet.state)
    return answer
