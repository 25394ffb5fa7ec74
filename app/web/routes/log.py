"""The practice log: two taps an attempt, undo by one, and the log as a CSV file."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Annotated
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Form, Query, Request, Response

from app.domain.words import listed, say
from app.errors import InputError
from app.practice.log_table import read_fate, write_table
from app.practice.table_dates import read_day
from app.storage.records import PLACES, AttemptRecord, HandedRecord, TrainedRecord
from app.storage.stores import Stores
from app.web import htmx
from app.web.deps import StoresDep
from app.web.rendering import page
from app.web.views.log import ending_view, log_view
from app.web.views.log_entries import entries_view

router = APIRouter(prefix="/skaters/{skater_id}/log", include_in_schema=False)

MOST_ENTRIES = 30
Text = Annotated[str, Form()]
Sending = Annotated[str, Form(min_length=8, max_length=64, pattern=r"^[A-Za-z0-9-]+$")]
UNDO_WITHIN = timedelta(hours=12)
"""What was logged longer ago is not taken out by one tap."""


@router.get("")
def show(request: Request, stores: StoresDep, skater_id: int, day: str = "", place: str = "") -> Response:
    """The elements to tap on."""
    skater = stores.skaters.get(skater_id)
    last = stores.attempts.last(skater_id, _now() - UNDO_WITHIN)
    when = _when(day, place, last)
    of_day = stores.attempts.of_skater(skater_id, since=when[0])
    return page(
        request, "log/page.html", log_view(skater, stores.skaters.trained(skater_id), when, last, of_day)
    )


@router.get("/elements/{element_id}")
def endings(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    element_id: int,
    day: str = "",
    place: str = "",
    layout: int = 0,
) -> Response:
    """How the attempt ended. `layout`: the rehearsal sheet it was asked from, 0: none."""
    skater = stores.skaters.get(skater_id)
    element = _element(stores, skater_id, element_id)
    view = ending_view(skater, element, _when(day, place), str(uuid4()), layout)
    return page(request, "log/ending.html", view)


@router.post("")
def log_one(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    element_id: Annotated[int, Form()],
    fate: Text,
    sending: Sending,
    day: Text = "",
    place: Text = "",
    layout: Annotated[int, Form()] = 0,
) -> Response:
    """Count one attempt; a second sending of the same form counts nothing. Back to the sheet of `layout`, if any."""
    element = _element(stores, skater_id, element_id)
    on, where = _when(day, place)
    ended = read_fate(fate, element.code)
    attempt = AttemptRecord(skater_id, sending, element.code, element.entry, on, where, ended)
    stores.attempts.append([attempt], _now())
    return htmx.go_to(request, f"/layouts/{layout}/rehearse" if layout else _address(skater_id, on, where))


@router.post("/undo")
def undo(
    request: Request, stores: StoresDep, skater_id: int, sending: Sending, day: Text = "", place: Text = ""
) -> Response:
    """Leave the last sending out again."""
    stores.attempts.undo(skater_id, sending)
    return htmx.go_to(request, _address(skater_id, *_when(day, place)))


@router.get("/entries")
def entries(
    request: Request, stores: StoresDep, skater_id: int, start: Annotated[int, Query(ge=0, le=10**9)] = 0
) -> Response:
    """The entries one by one, the latest first."""
    skater = stores.skaters.get(skater_id)
    found = stores.attempts.entries(skater_id, MOST_ENTRIES + 1, start)
    return page(request, "log/entries.html", entries_view(skater, found, start, MOST_ENTRIES))


@router.post("/entries/{entry_id}")
def leave_out(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    entry_id: int,
    left_out: Text = "yes",
    start: Annotated[int, Form(ge=0, le=10**9)] = 0,
) -> Response:
    """Take one entry out, or put it back in."""
    stores.attempts.leave_out(skater_id, entry_id, left_out=left_out == "yes")
    return htmx.go_to(request, f"/skaters/{skater_id}/log/entries?start={start}#entry-{entry_id}")


@router.get("/attempts.csv")
def export(stores: StoresDep, skater_id: int) -> Response:
    """The whole log as CSV, as the table page reads it; that it was given out is noted."""
    stores.skaters.get(skater_id)
    stores.handed.add(HandedRecord(datetime.now(UTC), "attempts", skater_id))
    written = write_table(stores.attempts.of_skater(skater_id))
    named = {
        "Content-Disposition": f'attachment; filename="attempts-{skater_id}.csv"',
        "Cache-Control": "no-store",
    }
    return Response(written, media_type="text/csv; charset=utf-8", headers=named)


def today() -> date:
    """The day on this laptop's own clock, where the practice is."""
    return datetime.now().astimezone().date()


def _now() -> datetime:
    return datetime.now().astimezone()


def _when(day: str, place: str, last: tuple[AttemptRecord, ...] = ()) -> tuple[date, str]:
    """Day and place as chosen; not chosen: today, and the place of what was logged last today, a drill aside."""
    if place and place not in PLACES:
        raise InputError(
            say("place"),
            say("%(given)s given; expected one of: %(expected)s", given=repr(place), expected=listed(PLACES)),
        )
    on = read_day(day, today()) if day else today()
    usual = last[0].place if last and last[0].day == on and last[0].place != "drill" else PLACES[0]
    return on, place or usual


def _address(skater_id: int, day: date, place: str) -> str:
    return f"/skaters/{skater_id}/log?{urlencode({'day': day.isoformat(), 'place': place})}"


def _element(stores: Stores, skater_id: int, element_id: int) -> TrainedRecord:
    for record in stores.skaters.trained(skater_id):
        if record.id == element_id:
            return record
    raise InputError(
        say("element"),
        say(
            "%(given)s given; expected an element of this skater: go back to the list",
            given=element_id,
        ),
    )
