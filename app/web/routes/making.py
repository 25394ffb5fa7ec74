"""Adding a skater, writing a layout, copying one, adding and taking out rows."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response

from app.errors import InputError
from app.storage.records import LayoutItem, LayoutRecord
from app.storage.stores import Stores
from app.web import htmx
from app.web.deps import StoresDep
from app.web.rendering import page
from app.web.views.layout import layout_view
from app.web.views.making import lines_of, new_layout_view, read_layout, with_options
from app.web.views.plans import usual_edition

router = APIRouter(include_in_schema=False)

Text = Annotated[str, Form(max_length=4000)]
MOST_LETTERS = 60


@router.post("/skaters")
def add_skater(request: Request, stores: StoresDep, name: Text) -> Response:
    """Add a skater; initials will do."""
    if len(name) > MOST_LETTERS:
        raise InputError("name", f"{len(name)} letters given; expected at most {MOST_LETTERS}")
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
    view = new_layout_view(skater, model.edition, f"{model.name}, changed", lines_of(model))
    return page(request, "making/layout.html", view)


@router.post("/skaters/{skater_id}/layouts")
def write(
    request: Request, stores: StoresDep, skater_id: int, name: Text, edition: Text, lines: Text
) -> Response:
    """Keep a new layout; what cannot be read comes back with the reason, nothing typed is lost."""
    skater = stores.skaters.get(skater_id)
    try:
        layout = read_layout(skater_id, name, edition, lines, stores.skaters.trained(skater_id))
        layout_view(layout, skater)  # refuses what its rulebook has no value for
    except InputError as error:
        view = new_layout_view(skater, edition, name, lines, str(error))
        return page(request, "making/layout.html", view, status=422)
    saved = stores.layouts.save(layout)
    return htmx.go_to(request, f"/layouts/{saved.id}")


@router.post("/layouts/{layout_id}/rows")
def add_row(request: Request, stores: StoresDep, layout_id: int, line: Text) -> Response:
    """Add one row, written as a time and an element."""
    layout = stores.layouts.get(layout_id)
    trained = stores.skaters.trained(layout.skater_id)
    added = read_layout(layout.skater_id, layout.name, layout.edition, line, trained).items
    return _save(request, stores, layout, (*layout.items, *added))


@router.post("/layouts/{layout_id}/rows/{place}/out")
def take_out(request: Request, stores: StoresDep, layout_id: int, place: int) -> Response:
    """Take one row out."""
    layout = stores.layouts.get(layout_id)
    if not 0 <= place < len(layout.items) or len(layout.items) == 1:
        raise InputError("place", f"{place} given; expected one of several rows of this layout")
    return _save(request, stores, layout, (*layout.items[:place], *layout.items[place + 1 :]))


@router.post("/layouts/{layout_id}/offer")
def offer(request: Request, stores: StoresDep, layout_id: int) -> Response:
    """Let every pass be replaced by every ticked element from the same take-off."""
    layout = stores.layouts.get(layout_id)
    trained = stores.skaters.trained(layout.skater_id)
    return _save(request, stores, layout, tuple(with_options(item, trained) for item in layout.items))


def _save(request: Request, stores: Stores, layout: LayoutRecord, items: tuple[LayoutItem, ...]) -> Response:
    changed = replace(layout, items=tuple(sorted(items, key=lambda item: item.start)))
    layout_view(changed, stores.skaters.get(layout.skater_id))  # refuses what its rulebook has no value for
    stores.layouts.save(changed)
    return htmx.go_to(request, f"/layouts/{layout.id}#rows")
