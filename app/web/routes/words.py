"""The trade's words in other languages."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from app.web.rendering import page
from app.web.views.words import words_view

router = APIRouter(prefix="/words", include_in_schema=False)


@router.get("")
def show(request: Request, of: str = "") -> Response:
    """The words of one language beside the English ones. `of`: its code; empty: the language of this device."""
    return page(request, "words/page.html", words_view(of))
