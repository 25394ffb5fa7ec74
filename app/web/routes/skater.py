"""The skater page: tick elements as competition-ready, correct counts, log attempts, set the coach's limits."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from pydantic import BaseModel

from app.domain.notation import parse_jump_element
from app.domain.said import said_of
from app.domain.typed import with_point
from app.domain.words import say
from app.errors import InputError
from app.practice.weeks import first_day
from app.storage.records import TrainedRecord
from app.storage.stores import Stores
from app.web import htmx
from app.web.deps import StoresDep
from app.web.rendering import page
from app.web.views.making import read_entry
from app.web.views.plans import usual_edition
from app.web.views.skater import NOTHING_TYPED, NewElement, skater_view

router = APIRouter(prefix="/skaters", include_in_schema=False)

Text = Annotated[str, Form()]
Number = Annotated[int, Form(ge=0, le=99_999)]
MOST_DIGITS = 4
CUE_LENGTH = 40
"""Longer words for an element could not be said in one breath."""


@router.get("/{skater_id}")
def show(request: Request, stores: StoresDep, skater_id: int) -> Response:
    """The skater's elements and the coach's limits."""
    return _page(request, stores, skater_id)


@router.post("/{skater_id}/elements")
def add(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    code: Text,
    entry: Text = "",
    attempts: Text = "",
    landed: Text = "",
    ready: Text = "",
) -> Response:
    """Add an element with what was counted so far; what cannot be read comes back with the reason."""
    stores.skaters.get(skater_id)
    try:
        tried, came = read_count(say("attempts"), attempts), read_count(say("landed"), landed)
        executed = str(parse_jump_element(code.strip()))
        logged = datetime.now(UTC).date() if tried else None
        record = TrainedRecord(skater_id, executed, read_entry(entry), ready == "yes", tried, came)
        stores.skaters.save_trained(replace(record, last_logged=logged))
    except InputError as error:
        typed = NewElement(code, entry, attempts, landed, ready == "yes", said_of(error))
        return _page(request, stores, skater_id, typed, status=422)
    return htmx.go_to(request, f"/skaters/{skater_id}#add")


def read_count(field: str, text: str) -> int:
    """How often something was counted; nothing written means never. Raises InputError."""
    written = text.strip() or "0"
    if not (written.isascii() and written.isdigit() and len(written) <= MOST_DIGITS):
        raise InputError(
            field, say("%(given)s given; expected a whole number such as 24", given=repr(text[:20]))
        )
    return int(written)


@router.post("/{skater_id}/elements/{element_id}")
def change(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    element_id: int,
    attempts: Number,
    landed: Number,
    ready: Text = "",
    cue: Text = "",
) -> Response:
    """Tick or untick an element, correct the counts its log starts from, keep the skater's own words for it."""
    record = _element(stores, skater_id, element_id)
    attempts, landed = attempts + record.log.attempts, landed + record.log.landed
    logged = datetime.now(UTC).date() if attempts > record.attempts else record.last_logged
    stores.skaters.save_trained(
        replace(
            record,
            ready=ready == "yes",
            attempts=attempts,
            landed=landed,
            last_logged=logged,
            cue=" ".join(cue.split())[:CUE_LENGTH],
        )
    )
    return htmx.go_to(request, f"/skaters/{skater_id}#element-{element_id}")


class LimitsForm(BaseModel):
    """What the coach decides, named as in `app.settings`; a box that is not ticked is not sent."""

    threshold: str
    most_changes: str
    trained_attempts: str
    trained_within_days: str
    harder_after_fall: str = "no"
    after_fall_odds: str = "no"
    second_half_odds_women: str = "no"
    second_half_odds_men: str = "no"


@router.post("/{skater_id}/limits")
def limits(
    request: Request, stores: StoresDep, skater_id: int, form: Annotated[LimitsForm, Form()]
) -> Response:
    """Change what the coach decides; programs already started keep theirs."""
    for name, text in form.model_dump().items():
        stores.settings.change(name, with_point(text))
    return htmx.go_to(request, f"/skaters/{skater_id}#limits")


def _element(stores: Stores, skater_id: int, element_id: int) -> TrainedRecord:
    for record in stores.skaters.trained(skater_id):
        if record.id == element_id:
            return record
    raise InputError(
        say("element"),
        say("%(given)s given; expected an element of this skater: reload the page", given=element_id),
    )


def _page(
    request: Request,
    stores: Stores,
    skater_id: int,
    adding: NewElement = NOTHING_TYPED,
    status: int = 200,
) -> Response:
    skater = stores.skaters.get(skater_id)
    today = datetime.now(UTC).date()
    layouts = stores.layouts.of_skater(skater_id)
    edition = usual_edition(layouts)
    coach = stores.settings.coach()
    late = stores.attempts.of_skater(skater_id, since=first_day(today))
    trained = stores.skaters.trained(skater_id)
    view = skater_view(skater, trained, coach, today, edition, late, layouts, adding)
    return page(request, "skater/page.html", view, status=status)
