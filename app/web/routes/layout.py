"""The layout page: read it under its rulebook, change a row."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response

from app import engine
from app.domain.elements import JumpElement
from app.domain.said import said_of
from app.domain.words import say
from app.errors import InputError
from app.storage.records import LayoutItem
from app.storage.stores import Stores
from app.web import htmx
from app.web.advisor import sort_elements
from app.web.deps import StoresDep
from app.web.layout_rows import change_rows, place_of
from app.web.rendering import page
from app.web.views import plans
from app.web.views.content import stale_words
from app.web.views.layout import LayoutView, RowForm, layout_view, refused_row
from app.web.views.making import read_entry, read_grade, read_slack, read_start

router = APIRouter(prefix="/layouts", include_in_schema=False)

Text = Annotated[str, Form()]
LEAVE_OUT = "leave out"


@router.get("/{layout_id}")
def show(request: Request, stores: StoresDep, layout_id: int) -> Response:
    """The layout, ruled and added up."""
    return page(request, "layout/page.html", whole_view(stores, layout_id))


def whole_view(stores: Stores, layout_id: int) -> LayoutView:
    """The page of a layout. Raises NotStored."""
    layout = stores.layouts.get(layout_id)
    trained = stores.skaters.trained(layout.skater_id)
    cues = {one.code: one.cue for one in trained}
    entries = [one.entry for one in trained]
    limits = plans.limits_of(stores.settings.coach(), layout.edition)
    elements = sort_elements(plans.known_of(trained, layout.edition), limits, datetime.now(UTC).date())
    skater = stores.skaters.get(layout.skater_id)
    view = layout_view(layout, skater, cues, entries, elements.offered)
    sheets = stores.contents.of_layout(layout_id)
    stale = stale_words(layout, sheets[0]) if sheets else ""
    return replace(view, stale=stale)


@router.post("/{layout_id}/rows/{place}")
def change(
    request: Request,
    stores: StoresDep,
    layout_id: int,
    place: int,
    code: Text,
    seconds: Text,
    goe: Text = "0",
    options: Text = "",
    entry: Text = "",
    slack: Text = "",
    asked: Text = "",
    was: Text = "",
) -> Response:
    """Change one row; the rows are put in order of their start. What cannot be read comes back with the reason.

    `asked=entry`: the form had entry and slack; `was`: the mark of the row as its page showed it.
    """

    def changed(items: tuple[LayoutItem, ...]) -> list[LayoutItem]:
        at = place_of(items, place, was)
        row = _changed(items[at], code.strip(), seconds, goe, options)
        if asked == "entry" and row.kind == "jump":
            row = replace(row, entry=read_entry(entry), slack=read_slack(slack))
        return [*items[:at], row, *items[at + 1 :]]

    try:
        change_rows(stores, layout_id, changed)
    except InputError as error:
        view = whole_view(stores, layout_id)
        typed = RowForm(code, seconds, goe, options, entry, slack, said_of(error))
        at = place_of(stores.layouts.get(layout_id).items, place, was)
        return page(request, "layout/page.html", refused_row(view, at, typed), status=422)
    return htmx.go_to(request, f"/layouts/{layout_id}#rows")


def _changed(item: LayoutItem, code: str, seconds: str, goe: str, options: str) -> LayoutItem:
    element = engine.parse(code)
    if isinstance(element, JumpElement) != (item.kind == "jump"):
        wanted = (
            say("a jump pass such as 3Lz+3T")
            if item.kind == "jump"
            else say("a spin or steps such as CCoSp4")
        )
        raise InputError(
            say("code"), say("%(given)s given; this row holds %(wanted)s", given=repr(code), wanted=wanted)
        )
    return replace(
        item,
        code=code,
        start=read_start(seconds, "start"),
        goe=read_grade(goe, "goe"),
        options=_options(options) if item.kind == "jump" else (),
    )


def _options(text: str) -> tuple[str | None, ...]:
    words = [word.strip() for word in text.split(",") if word.strip()]
    return tuple(None if word == LEAVE_OUT else str(_jumps(word)) for word in words)


def _jumps(code: str) -> JumpElement:
    element = engine.parse(code)
    if not isinstance(element, JumpElement):
        raise InputError(
            say("options"), say("%(given)s given; expected jump passes, parted by commas", given=repr(code))
        )
    return element
