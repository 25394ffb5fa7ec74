"""The page "how we know": every promise with the tests that hold it."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from app.web.rendering import page
from app.web.views.how_we_know import how_we_know_view

router = APIRouter(include_in_schema=False)


@router.get("/how-we-know")
def show(request: Request) -> Response:
    """Plain words first, names of tests behind them."""
    return page(request, "how_we_know/page.html", how_we_know_view())
