"""Adding a skater, writing a layout, copying one, adding and taking out rows."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response

from app.domain.said import said_of
from app.domain.words import say
from app.errors import InputError
from app.storage.records import LayoutItem
from app.web import htmx
from app.web.deps import StoresDep
from app.web.layout_rows import change_rows, checked, place_of
from app.web.rendering import page
from app.web.routes.layout import whole_view
from app.web.views.making import like, lines_of, new_layout_view, read_layout, with_options
from app.web.views.plans import usual_edition

router = APIRouter(include_in_schema=False)

Text = Annotated[str, Form(max_length=4000)]
MOST_LETTERS = 60


@router.post("/skaters")
def add_skater(request: Request, stores: StoresDep, name: Text) -> Response:
    """Add a skater; initials will do."""
    if len(name) > MOST_LETTERS:
        raise InputError(
            say("name"),
            say(
                "%(given)s letters given; expected at most %(most)s",
                given=len(name),
                most=MOST_LETTERS,
            ),
        )
    skater = stores.skaters.add(name)
    return htmx.go_to(request, f"/skaters/{skater.id}")


@router.get("/skaters/{skater_id}/layouts/new")
def blank(request: Request, stores: StoresDep, skater_id: int, copy: int = 0) -> Response:
    """The form for a new layout, empty or filled from one that exists."""
    skater = stores.skaters.get(skater_id)
    if not copy:
        usual = usual_edition(stores.layouts.of_skater(skater_id))
        return page(request, "making/layout.html", new_layout_view(skater, usual))
    model = stores.layouts.get(copy)
    named = say("%(layout)s, changed", layout=model.name)
    view = new_layout_view(skater, model.edition, named, lines_of(model), copy=model.id)
    return page(request, "making/layout.html", view)


@router.post("/skaters/{skater_id}/layouts")
def write(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    name: Text,
    edition: Text,
    lines: Text,
    changed_from: Annotated[int, Form()] = 0,
) -> Response:
    """Keep a new layout; what cannot be read comes back with the reason, nothing typed is lost.

    `changed_from`: the layout it is a changed copy of.
    """
    skater = stores.skaters.get(skater_id)
    try:
        layout = read_layout(skater_id, name, edition, lines, stores.skaters.trained(skater_id))
        model = stores.layouts.get(changed_from) if changed_from else None
        if model is not None and model.skater_id == skater_id:
            layout = like(layout, model)
        checked(layout, skater)
    except InputError as error:
        view = new_layout_view(skater, edition, name, lines, said_of(error), changed_from)
        return page(request, "making/layout.html", view, status=422)
    saved = stores.layouts.save(layout)
    return htmx.go_to(request, f"/layouts/{saved.id}")


@router.post("/layouts/{layout_id}/rows")
def add_row(request: Request, stores: StoresDep, layout_id: int, line: Text) -> Response:
    """Add one row, written as a time and an element; what cannot be read comes back with the reason."""
    layout = stores.layouts.get(layout_id)
    trained = stores.skaters.trained(layout.skater_id)
    try:
        added = read_layout(layout.skater_id, layout.name, layout.edition, line, trained).items
        change_rows(stores, layout_id, lambda items: (*items, *added))
    except InputError as error:
        view = replace(whole_view(stores, layout_id), added=line, not_added=said_of(error))
        return page(request, "layout/page.html", view, status=422)
    return _back(request, layout_id)


@router.post("/layouts/{layout_id}/rows/{place}/out")
def take_out(request: Request, stores: StoresDep, layout_id: int, place: int, was: Text = "") -> Response:
    """Take one row out. `was`: the mark of the row as its page showed it."""

    def without(items: tuple[LayoutItem, ...]) -> tuple[LayoutItem, ...]:
        at = place_of(items, place, was)
        if len(items) == 1:
            raise InputError(
                say("place"), say("it is the only row of this layout; delete the layout instead")
            )
        return (*items[:at], *items[at + 1 :])

    change_rows(stores, layout_id, without)
    return _back(request, layout_id)


@router.post("/layouts/{layout_id}/offer")
def offer(request: Request, stores: StoresDep, layout_id: int) -> Response:
    """Let every pass be replaced by every ticked element from the same take-off."""
    layout = stores.layouts.get(layout_id)
    trained = stores.skaters.trained(layout.skater_id)
    change_rows(stores, layout_id, lambda items: [with_options(item, trained) for item in items])
    return _back(request, layout_id)


def _back(request: Request, layout_id: int) -> Response:
    return htmx.go_to(request, f"/layouts/{layout_id}#rows")
