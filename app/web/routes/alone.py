"""What lets Recoup start on a device without the laptop: the worker a browser installs, and the page it opens then."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from app.web.kept_files import worker_script
from app.web.rendering import page, text_of

router = APIRouter(include_in_schema=False)
PAGE = "alone/page.html"


@router.get("/alone")
def alone(request: Request) -> Response:
    """The page without data: the browser fills it from what it keeps."""
    return page(request, PAGE, None)


@router.get("/worker.js")
def worker(request: Request) -> Response:
    """The worker, at the root so that it may serve every page; browsers look for a new one by themselves."""
    script = worker_script(text_of(PAGE, None, request))
    return Response(script, media_type="text/javascript", headers={"Cache-Control": "no-cache"})
