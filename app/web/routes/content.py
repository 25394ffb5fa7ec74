"""The content sheet of a skater: choose the programs, print it, keep what was handed in, see what is different now."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response

from app.domain.words import say
from app.errors import InputError
from app.storage.records import LayoutRecord
from app.web import htmx
from app.web.deps import StoresDep
from app.web.rendering import page
from app.web.views.content import content_of, content_view, is_short

router = APIRouter(prefix="/skaters/{skater_id}/content", include_in_schema=False)

Number = Annotated[int, Form()]
FIRST, NONE = -1, 0
"""Which layout a column shows: the first one there is, or none."""


@router.get("")
def show(
    request: Request, stores: StoresDep, skater_id: int, short: int = FIRST, free: int = FIRST
) -> Response:
    """The sheet; printed, it is one page."""
    skater = stores.skaters.get(skater_id)
    layouts = stores.layouts.of_skater(skater_id)
    one, other = _chosen(layouts, short, True), _chosen(layouts, free, False)
    kept = [
        (layout, sheets[0])
        for layout in (one, other)
        if layout is not None and (sheets := stores.contents.of_layout(layout.id))
    ]
    return page(request, "content/page.html", content_view(skater, layouts, one, other, kept))


@router.post("")
def keep(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    short: Number = NONE,
    free: Number = NONE,
    note: Annotated[str, Form(max_length=80)] = "",
) -> Response:
    """Keep the sheet as handed in today; each program is kept with its own layout."""
    layouts = stores.layouts.of_skater(skater_id)
    chosen = [
        one for one in (_chosen(layouts, short, True), _chosen(layouts, free, False)) if one is not None
    ]
    if not chosen:
        raise InputError(
            say("content"), say("neither a short program nor a free skating chosen; choose one first")
        )
    for layout in chosen:
        stores.contents.add(layout.id, content_of(layout), " ".join(note.split()), datetime.now(UTC))
    return htmx.go_to(request, f"/skaters/{skater_id}/content?short={short}&free={free}")


@router.post("/{sheet_id}/forget")
def forget(request: Request, stores: StoresDep, skater_id: int, sheet_id: int) -> Response:
    """Remove a sheet that was kept by mistake."""
    layout = stores.layouts.get(stores.contents.get(sheet_id).layout_id)
    if layout.skater_id != skater_id:
        raise InputError(
            say("sheet"),
            say("%(given)s given; expected one of this skater's: reload the page", given=sheet_id),
        )
    stores.contents.delete(sheet_id)
    return htmx.go_to(request, f"/skaters/{skater_id}/content")


def _chosen(layouts: Sequence[LayoutRecord], number: int, short: bool) -> LayoutRecord | None:
    """The layout of one column. Raises InputError for one that is not this skater's, or of the other kind."""
    fitting = [one for one in layouts if is_short(one) == short]
    if number == NONE:
        return None
    if number == FIRST:
        return fitting[0] if fitting else None
    found = next((one for one in fitting if one.id == number), None)
    if found is None:
        kind = say("short program") if short else say("free skating")
        raise InputError(
            say("layout"),
            say(
                "%(given)s given; expected a %(kind)s of this skater: reload the page",
                given=number,
                kind=kind,
            ),
        )
    return found
