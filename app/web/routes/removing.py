"""Deleting one thing alone, each asked for first: a program, a layout, a day; own rulebooks renamed or deleted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request, Response

from app.domain.words import say, say_many
from app.errors import InputError
from app.storage.database import Database
from app.storage.erase import erase_one
from app.storage.rulebook_store import OwnBook
from app.storage.stores import Stores
from app.web import htmx
from app.web.deps import DatabaseDep, StoresDep
from app.web.live_log import hub_of
from app.web.rendering import page
from app.web.views.removing import OwnBooksView, OwnBookView, RemoveView

router = APIRouter(prefix="/data", include_in_schema=False)

Sure = Annotated[str, Form()]


@dataclass(frozen=True)
class Removal:
    """One thing to delete, and what was ticked: that it is meant, and that the copies lose it too."""

    database: Database
    sure: str
    copies: str

    def of(self, table: str, number: int, view: RemoveView) -> None:
        """Delete row `number` with what belongs to it. `InputError`: it may not go, or nothing was ticked."""
        if view.why_not:
            raise InputError(say("delete"), view.why_not)
        _meant(self.sure)
        erase_one(self.database, table, number, copies=self.copies == "yes")


def get_removal(database: DatabaseDep, sure: Sure = "", copies: Sure = "") -> Removal:
    """What the form of the question says."""
    return Removal(database, sure, copies)


RemovalDep = Annotated[Removal, Depends(get_removal)]


@router.get("/programs/{program_id}/delete")
def ask_program(request: Request, stores: StoresDep, program_id: int) -> Response:
    """The question about a logged program."""
    return page(request, "data/remove.html", _program(stores, program_id))


@router.post("/programs/{program_id}/delete")
def program(request: Request, stores: StoresDep, removal: RemovalDep, program_id: int) -> Response:
    """Delete a logged program with its log."""
    removal.of("live_program", program_id, _program(stores, program_id))
    hub_of(request).news(program_id)  # its screens go
    return htmx.go_to(request, "/")


@router.get("/layouts/{layout_id}/delete")
def ask_layout(request: Request, stores: StoresDep, layout_id: int) -> Response:
    """The question about a layout."""
    return page(request, "data/remove.html", _layout(stores, layout_id))


@router.post("/layouts/{layout_id}/delete")
def layout(request: Request, stores: StoresDep, removal: RemovalDep, layout_id: int) -> Response:
    """Delete a layout; programs skated from it keep theirs."""
    removal.of("layout", layout_id, _layout(stores, layout_id))
    return htmx.go_to(request, "/")


@router.get("/days/{day_id}/delete")
def ask_day(request: Request, stores: StoresDep, day_id: int) -> Response:
    """The question about a day."""
    return page(request, "data/remove.html", _day(stores, day_id))


@router.post("/days/{day_id}/delete")
def day(request: Request, stores: StoresDep, removal: RemovalDep, day_id: int) -> Response:
    """Delete a day with its start order; the programs stay."""
    removal.of("day", day_id, _day(stores, day_id))
    return htmx.go_to(request, "/day")


@router.get("/rulebooks")
def books(request: Request, stores: StoresDep) -> Response:
    """One's own rulebooks, and what rests on each."""
    return page(request, "data/rulebooks.html", _books(stores))


@router.post("/rulebooks/{slug}/rename")
def rename(
    request: Request, stores: StoresDep, slug: str, title: Annotated[str, Form(max_length=200)]
) -> Response:
    """Another name for all versions of a rulebook nothing rests on."""
    try:
        stores.rulebooks.rename(slug, title)
    except InputError as error:
        return page(request, "data/rulebooks.html", _books(stores, error.problem), status=422)
    return htmx.go_to(request, "/data/rulebooks")


@router.post("/rulebooks/{slug}/delete")
def delete(request: Request, stores: StoresDep, slug: str, sure: Sure = "") -> Response:
    """Delete all versions of a rulebook nothing rests on."""
    _meant(sure)
    try:
        stores.rulebooks.delete(slug)
    except InputError as error:
        return page(request, "data/rulebooks.html", _books(stores, error.problem), status=422)
    return htmx.go_to(request, "/data/rulebooks")


def _meant(sure: str) -> None:
    if sure != "yes":
        raise InputError(say("sure"), say("not ticked; nothing was deleted. Go back and tick the box"))


def _program(stores: Stores, program_id: int) -> RemoveView:
    record = stores.live.program(program_id)
    count = len(stores.live.events(program_id))
    return RemoveView(
        title=say("Delete this logged program?"),
        name=f"{record.layout_name}, {record.event or record.kind}, {record.started_at:%Y-%m-%d}",
        goes=say_many(
            "Its log of %(count)s entry goes with it.", "Its log of %(count)s entries goes with it.", count
        ),
        stays=say("Its layout stays, and its official sheets stay with the skater."),
        why_not="",
        action=f"/data/programs/{program_id}/delete",
        back=f"/live/{program_id}",
    )


def _layout(stores: Stores, layout_id: int) -> RemoveView:
    record = stores.layouts.get(layout_id)
    days = [
        (chosen.id, chosen.name)
        for chosen in stores.days.all()
        for start in stores.days.starts(chosen.id)
        if layout_id in start.layout_ids
    ]
    why_not = (
        say("It is agreed for a start on the day “%(day)s”. Take that start out first.", day=days[0][1])
        if days
        else ""
    )
    return RemoveView(
        title=say("Delete this layout?"),
        name=record.name,
        goes=say("The layout and its card go."),
        stays=say("Programs skated from it keep theirs."),
        why_not=why_not,
        action=f"/data/layouts/{layout_id}/delete",
        back=f"/layouts/{layout_id}",
        way_out=f"/day/{days[0][0]}/order" if days else "",
    )


def _day(stores: Stores, day_id: int) -> RemoveView:
    record, starts = stores.days.get(day_id), stores.days.starts(day_id)
    return RemoveView(
        title=say("Delete this day?"),
        name=record.name,
        goes=say_many(
            "Its order of %(count)s start goes with it.",
            "Its order of %(count)s starts goes with it.",
            len(starts),
        ),
        stays=say("Programs that were skated on it stay."),
        why_not="",
        action=f"/data/days/{day_id}/delete",
        back=f"/day/{day_id}",
    )


def _books(stores: Stores, fault: str = "") -> OwnBooksView:
    return OwnBooksView(tuple(_book(one) for one in stores.rulebooks.own_books()), fault)


def _book(book: OwnBook) -> OwnBookView:
    rests = (
        say_many("%(count)s thing rests on it", "%(count)s things rest on it", book.rests)
        if book.rests
        else ""
    )
    return OwnBookView(book.slug, book.title, book.versions, rests)
