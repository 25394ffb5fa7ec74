"""A skater's own page, on their own phone or shown by the coach: today's layout, their words, card, trainer, paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response

from app.domain.words import say
from app.errors import InputError
from app.web import htmx
from app.web.advisor import sort_elements
from app.web.deps import StoresDep, VisitorDep
from app.web.rendering import page
from app.web.routes.skater import CUE_LENGTH
from app.web.views import plans
from app.web.views.own_pages import layout_of_today, own_view

router = APIRouter(prefix="/skaters/{skater_id}/view", include_in_schema=False)


@router.get("")
def show(
    request: Request, stores: StoresDep, visitor: VisitorDep, skater_id: int, layout: int = 0
) -> Response:
    """Today's layout, or another of the skater's by its number."""
    skater = stores.skaters.get(skater_id)
    layouts = stores.layouts.of_skater(skater_id)
    today = datetime.now(UTC).date()
    chosen, why = layout_of_today(stores, skater_id, today)
    if layout and (chosen is None or layout != chosen.id):
        chosen, why = next((one for one in layouts if one.id == layout), None), ""
        if chosen is None:
            raise InputError(
                say("layout"),
                say("%(given)s given; expected one of this skater's: go back to the page", given=layout),
            )
    edition = chosen.edition if chosen else plans.USUAL_EDITION
    records = stores.skaters.trained(skater_id)
    limits = plans.limits_of(stores.settings.coach(), edition)
    offered = sort_elements(plans.known_of(records, edition), limits, today).offered
    view = own_view(skater, chosen, why, layouts, records, offered, visitor.is_skater)
    return page(request, "own/page.html", view)


@router.post("/words")
def keep_words(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    element: Annotated[list[int], Form()],
    cue: Annotated[list[str], Form()],
    layout: Annotated[int, Form()] = 0,
) -> Response:
    """The skater's own words, for each element those that stand beside it; nothing else can be changed here."""
    if len(element) != len(cue):
        raise InputError(
            say("words"),
            say(
                "%(given)s given for %(expected)s elements; reload the page",
                given=len(cue),
                expected=len(element),
            ),
        )
    records = {one.id: one for one in stores.skaters.trained(skater_id)}
    for number, words in zip(element, cue, strict=True):
        if number not in records:
            raise InputError(
                say("element"),
                say("%(given)s given; expected one of this skater's: reload the page", given=number),
            )
        record, said = records[number], " ".join(words.split())[:CUE_LENGTH]
        if said != record.cue:
            stores.skaters.save_trained(replace(record, cue=said))
    return htmx.go_to(request, f"/skaters/{skater_id}/view?layout={layout}#words")
