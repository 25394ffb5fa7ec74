"""The live screen: which programs there are, start one, show it, follow it, and who may see advice."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import JSONResponse
from starlette.concurrency import run_in_threadpool

from app.domain.words import say
from app.errors import InputError
from app.live.events import AdviceAllowed, AdviceHidden, AdviceShown, stamped_json
from app.storage.database import Database
from app.storage.records import LiveProgramRecord, ProgramKind
from app.storage.stores import Stores, open_stores
from app.web import htmx, opening, sse
from app.web.day_log import allow_beside
from app.web.deps import DatabaseDep, StoresDep, VisitorDep
from app.web.live_board import show_board
from app.web.live_log import TapDep, advisor_of, hub_of, ids_of, sheet_of, sheet_unless
from app.web.rendering import page
from app.web.under_way import under_way
from app.web.views.boards import big
from app.web.views.passes import passes_view
from app.web.views.plans import as_chosen, stamped_of
from app.web.views.programs import programs_of
from app.web.views.review import review_view

router = APIRouter(prefix="/live", include_in_schema=False)

MOST_ENTRIES, LONGEST_NUMBER = 10**9, 10
"""No log has more; a number of any length may be asked for."""
Text = Annotated[str, Form()]
Number = Annotated[int, Form()]


@router.post("")
def start(request: Request, stores: StoresDep, layout_id: Number, kind: Text, event: Text = "") -> Response:
    """Open a live program from a layout; plan and trained elements are kept as they are now."""
    if kind not in ("run-through", "competition"):
        raise InputError(
            say("kind"), say("%(given)s given; expected run-through or competition", given=repr(kind))
        )
    chosen: ProgramKind = "competition" if kind == "competition" else "run-through"
    record = opening.fresh(stores, [stores.layouts.get(layout_id)], chosen, event.strip())
    record = replace(record, advice_confirmed_at=_confirmed_before(stores, record))
    return htmx.go_to(request, f"/live/{stores.live.start(record).id}")


@router.get("")
def programs(request: Request, stores: StoresDep, visitor: VisitorDep) -> Response:
    """The latest programs, for a phone that is to join one."""
    recent = tuple(as_chosen(one, stores.live.events(one.id)) for one in stores.live.recent())
    skaters = {one.id: one.name for one in stores.skaters.all()}
    going = under_way(stores, datetime.now(UTC))
    view = programs_of(recent, skaters, visitor, stores.days.all(), going)
    return page(request, "live/programs.html", view)


@router.get("/{program_id}")
def show(request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int) -> Response:
    """The screen as it stands."""
    return show_board(request, sheet_of(stores, program_id), visitor)


@router.get("/{program_id}/news")
def news(request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int, seen: int) -> Response:
    """For other screens on the same program: the board unless `seen` is the last entry of the log, else 204.

    A log may be shorter than a screen knows: a copy was brought back.
    """
    sheet = sheet_unless(stores, program_id, seen)
    return Response(status_code=204) if sheet is None else show_board(request, sheet, visitor)


@router.get("/{program_id}/stream")
async def stream(
    request: Request, database: DatabaseDep, visitor: VisitorDep, program_id: int, seen: int = 0
) -> Response:
    """The log as it grows, as server-sent events; `Last-Event-ID` (a browser coming back) before `seen`."""
    last = request.headers.get("Last-Event-ID", "")
    after = int(last) if last.isdecimal() and len(last) <= LONGEST_NUMBER else seen
    await run_in_threadpool(_check_program, database, program_id)
    read = sse.reader(database, program_id, visitor.device_id)
    return sse.answer(sse.stream(hub_of(request), program_id, min(after, MOST_ENTRIES), read))


@router.get("/{program_id}/log")
def log(stores: StoresDep, program_id: int, after: int = 0) -> Response:
    """The log from number `after` on, as JSON: what the stream would send."""
    stores.live.program(program_id)
    entries = stores.live.events(program_id, after=after)
    return JSONResponse([stamped_json(one.seq, one.at, stamped_of(one)) for one in entries])


@router.get("/{program_id}/big")
def show_big(request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int) -> Response:
    """The cue word alone, to be held up for the skater to read."""
    view = big(sheet_of(stores, program_id), advisor_of(request), visitor)
    return page(request, "live/big.html", view, fragment="live/_big.html")


@router.get("/{program_id}/passes")
def passes(request: Request, stores: StoresDep, program_id: int) -> Response:
    """What each logged pass was, with the forms that put it right."""
    return page(request, "live/passes.html", passes_view(sheet_of(stores, program_id)))


@router.post("/{program_id}/allow")
def allow(tap: TapDep, confirmed: Text = "") -> Response:
    """Someone has confirmed that this event's rules allow advice during the skate."""
    if confirmed != "yes":
        return tap.answer(say("Advice stays hidden: tick the box first."))
    if tap.state.allowed_by is None:
        tap.log(AdviceAllowed(tap.visitor.name))
        tap.stores.live.confirm_advice(tap.program_id, datetime.now(UTC))
        tap.read_anew()
        allow_beside(tap)
    return tap.answer()


@router.post("/{program_id}/hide")
def hide(tap: TapDep) -> Response:
    """Take advice and points off every screen on this program."""
    if not tap.state.hidden:
        tap.log(AdviceHidden(tap.visitor.name))
    return tap.answer()


@router.post("/{program_id}/show")
def show_again(tap: TapDep, of: Text = "") -> Response:
    """Advice that was hidden may be seen again, where the rules of the event allow it."""
    hidings = ids_of(of) or tap.state.hidings
    if hidings:
        tap.log(AdviceShown(tap.visitor.name, hidings))
    return tap.answer()


@router.get("/{program_id}/review")
def review(request: Request, stores: StoresDep, program_id: int) -> Response:
    """Planned and executed, pass by pass; while points are hidden, only once all is logged."""
    sheet = sheet_of(stores, program_id)
    state = sheet.state
    if not (state.finished or state.stopped or state.advice_shown):
        return htmx.go_to(request, f"/live/{program_id}")
    return page(request, "live/review.html", review_view(sheet, stores.sheets.of_program(program_id)))


def _check_program(database: Database, program_id: int) -> None:
    """Raises NotStored: once a stream has begun, nothing can be refused any more."""
    with open_stores(database) as stores:
        stores.live.program(program_id)


def _confirmed_before(stores: Stores, record: LiveProgramRecord) -> datetime | None:
    """When advice was confirmed for the same event in an earlier program of this skater; once is enough."""
    if record.kind != "competition" or not record.event:
        return None
    earlier = stores.live.recent(record.skater_id, limit=50)
    same = (one for one in earlier if _plain(one.event) == _plain(record.event))
    return next((one.advice_confirmed_at for one in same if one.advice_confirmed_at is not None), None)


def _plain(event: str) -> str:
    """The name of an event without what a thumb gets wrong: case and spaces."""
    return " ".join(event.split()).casefold()
