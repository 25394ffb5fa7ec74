"""Copies of the database: the list, a new one, and bringing one back. For the laptop only."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import cast

from fastapi import APIRouter, Request, Response

from app.domain.words import say
from app.errors import InputError
from app.rulebook.editions import SHELF
from app.storage.backups import Backups, contents
from app.storage.daily import DailyCopies
from app.storage.restoring import named, restore
from app.storage.stores import open_stores
from app.web import htmx
from app.web.deps import DatabaseDep
from app.web.live_log import hub_of
from app.web.rendering import page
from app.web.views.backups import AskView, CopiesView, copy_view, held_view, held_words

router = APIRouter(prefix="/backups", include_in_schema=False)
NEWS = {
    "made": say("The copy is made and checked."),
    "back": say("The copy is back. What was there before is the first copy in the list."),
}


@router.get("")
def show(request: Request, database: DatabaseDep, news: str = "") -> Response:
    """Every copy, the latest first."""
    backups = database.backups
    daily = cast(DailyCopies | None, request.app.state.daily)
    view = CopiesView(
        copies=tuple(copy_view(one) for one in backups.all()) if backups else (),
        folder=str(backups.folder) if backups else "",
        trouble=daily.trouble if daily else "",
        on_server=backups is None,
        news=NEWS.get(news, ""),
    )
    return page(request, "backups/page.html", view)


@router.post("")
def make(request: Request, database: DatabaseDep) -> Response:
    """A copy of this moment."""
    _backups(database).make("asked", datetime.now(UTC))
    return htmx.go_to(request, "/backups?news=made")


@router.get("/{name}")
def ask(request: Request, database: DatabaseDep, name: str) -> Response:
    """What that copy holds beside what there is now, and the question."""
    backups = _backups(database)
    one = named(backups, name)
    return page(
        request,
        "backups/ask.html",
        AskView(copy_view(one), held_view(one), held_words(contents(backups.source))),
    )


@router.post("/{name}/restore")
def bring_back(request: Request, database: DatabaseDep, name: str) -> Response:
    """Copy the present, then bring that copy back. Open screens fetch everything anew."""
    restore(database, name, datetime.now(UTC))
    with open_stores(database) as stores:
        stores.rulebooks.fill(SHELF)
    hub_of(request).hang_up()
    return htmx.go_to(request, "/backups?news=back")


def _backups(database: DatabaseDep) -> Backups:
    if database.backups is None:
        raise InputError(
            say("backup"), say("the data are in PostgreSQL; whoever looks after it makes the copies")
        )
    return database.backups
