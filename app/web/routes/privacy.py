"""The privacy note: what is kept of a skater, in plain words, to be read on any paired phone and to be printed."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from app.web.rendering import page

router = APIRouter(include_in_schema=False)


@router.get("/privacy")
def note(request: Request) -> Response:
    """The note. It says the same to everybody and holds nobody's data."""
    return page(request, "privacy/note.html", None)
