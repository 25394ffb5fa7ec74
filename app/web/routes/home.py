"""The first page."""

from __future__ import annotations

from datetime import UTC, datetime

from fastapi import APIRouter, Request, Response

from app.web.deps import StoresDep, VisitorDep
from app.web.rendering import page
from app.web.under_way import under_way
from app.web.views.home import home_view

router = APIRouter(include_in_schema=False)


@router.get("/")
def home(request: Request, stores: StoresDep, visitor: VisitorDep) -> Response:
    """Skaters, layouts, programs under way."""
    return page(request, "home/page.html", home_view(stores, visitor, under_way(stores, datetime.now(UTC))))
