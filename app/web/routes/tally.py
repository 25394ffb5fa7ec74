"""Paper for rinks where phones are unwelcome: a sheet to print, and a form that takes a filled one in at one go."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, Depends, Request, Response
from starlette.datastructures import FormData

from app import engine
from app.domain.notation import parse_jump_element
from app.domain.said import said_of
from app.domain.words import say
from app.errors import InputError
from app.live.events import LoggedPass, to_record
from app.live.program import PlannedPass
from app.live.tally import Box, logged
from app.storage.records import EnteredEvent, LayoutRecord, ProgramKind
from app.storage.stores import Stores
from app.web import htmx, opening
from app.web.advisor import check_countable, sort_elements
from app.web.deps import JobsDep, StoresDep, VisitorDep
from app.web.live_log import EVENT_ID
from app.web.rendering import page
from app.web.routes.card import found_card
from app.web.views import plans
from app.web.views.tally import Filled, filled_view, tally_view

router = APIRouter(prefix="/layouts/{layout_id}/tally", include_in_schema=False)

MOST_EVENT = 80
MOST_FIELDS = 400


async def get_form(request: Request) -> FormData:
    """The fields of the form as they came."""
    return await request.form(max_fields=MOST_FIELDS, max_files=0)


FormDep = Annotated[FormData, Depends(get_form)]


@router.get("")
def printed(
    request: Request, stores: StoresDep, jobs: JobsDep, visitor: VisitorDep, layout_id: int
) -> Response:
    """The sheet to print, with the card's rules beside the passes."""
    layout = stores.layouts.get(layout_id)
    found = found_card(request, stores, jobs, layout_id)
    if isinstance(found, Response):
        return found
    skater = stores.skaters.get(layout.skater_id)
    return page(request, "tally/print.html", tally_view(layout, skater, found, can_enter=visitor.is_coach))


@router.get("/enter")
def ask(request: Request, stores: StoresDep, layout_id: int) -> Response:
    """The form for a filled sheet."""
    layout = stores.layouts.get(layout_id)
    given = Filled(day=datetime.now(UTC).date().isoformat())
    view = filled_view(layout, _trained(stores, layout), uuid4().hex, given)
    return page(request, "tally/enter.html", view)


@router.post("/enter")
def enter(
    request: Request, stores: StoresDep, visitor: VisitorDep, layout_id: int, form: FormDep
) -> Response:
    """A program with everything that stands on the sheet; a second sending of the form changes nothing."""
    layout = stores.layouts.get(layout_id)
    sending = str(form.get("sending", ""))
    if not EVENT_ID.fullmatch(sending):
        raise InputError(
            say("sending"),
            say("given %(given)s; expected the form as it was shown: reload it", given=repr(sending[:40])),
        )
    given = _filled(form, layout)
    try:
        passes = _passes(layout, given)
        at = _moment(given.day)
    except InputError as error:
        view = filled_view(layout, _trained(stores, layout), sending, given, said_of(error))
        return page(request, "tally/enter.html", view, status=422)
    kind: ProgramKind = "competition" if given.kind == "competition" else "run-through"
    record = replace(opening.fresh(stores, [layout], kind, given.event), started_at=at)
    events = [
        EnteredEvent(
            f"{sending}-{place}",
            at + timedelta(seconds=place),
            visitor.name,
            *to_record(event),
            device=visitor.device,
            role=visitor.role,
        )
        for place, event in enumerate(passes, start=1)
    ]
    program = stores.live.enter(record, events)
    return htmx.go_to(request, f"/live/{program.id}/review")


def _filled(form: FormData, layout: LayoutRecord) -> Filled:
    """What the form said, as far as it can be said of this layout."""
    numbers = range(1, sum(one.kind == "jump" for one in layout.items) + 1)
    known = {box.value: box for box in Box}
    ticked = {
        n: frozenset(known[str(one)] for one in form.getlist(f"box-{n}") if str(one) in known)
        for n in numbers
    }
    tried = {n: str(form[f"tried-{n}"])[:40] for n in numbers if f"tried-{n}" in form}
    return Filled(
        ticked=ticked,
        tried=tried,
        kind=str(form.get("kind", "run-through")),
        event=" ".join(str(form.get("event", "")).split())[:MOST_EVENT],
        day=str(form.get("day", ""))[:10],
    )


def _passes(layout: LayoutRecord, given: Filled) -> list[LoggedPass]:
    """The events of the sheet. Raises InputError naming the pass."""
    edition = engine.edition(layout.edition)
    found = []
    for number, row in enumerate(plans.passes_of(layout.items, edition), start=1):
        event = logged(number, _tried(number, row, given), given.ticked[number])
        check_countable(layout.edition, event)
        found.append(event)
    if not found:
        raise InputError(say("layout"), say("%(name)s has no jump pass; add one first", name=layout.name))
    return found


def _tried(number: int, row: PlannedPass, given: Filled) -> str:
    code = given.tried.get(number, row.code).strip()
    try:
        return str(parse_jump_element(code).without_rulings())
    except InputError:
        raise InputError(
            say("pass %(number)s", number=number),
            say("%(given)s given; expected a jump pass such as 2A+2T", given=repr(code)),
        ) from None


def _moment(text: str) -> datetime:
    """The day of the skate, at this time of day; not in the future."""
    now = datetime.now(UTC)
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise InputError(
            say("day"),
            say("%(given)s given; expected a day such as %(date)s", given=repr(text), date=now.date()),
        ) from None
    if day > now.date():
        raise InputError(say("day"), say("%(given)s given; expected today or a day before it", given=day))
    return datetime.combine(day, now.time(), UTC)


def _trained(stores: Stores, layout: LayoutRecord) -> tuple[str, ...]:
    """Codes of the trained elements, those that may have been tried instead."""
    known = plans.known_of(stores.skaters.trained(layout.skater_id), layout.edition)
    limits = plans.limits_of(stores.settings.coach(), layout.edition)
    return tuple(sorted(sort_elements(known, limits, datetime.now(UTC).date()).offered))
