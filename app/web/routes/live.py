"""The live screen: start, log a pass, undo, stop, clear, allow advice. Every form works without JavaScript."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from starlette.background import BackgroundTask

from app import engine
from app.domain.notation import parse_jump_element
from app.errors import InputError
from app.live.events import (
    AdviceAllowed,
    AdviceHidden,
    AdviceShown,
    Cleared,
    Event,
    PassLeftOut,
    PassSkated,
    Reading,
    Stopped,
    Undone,
    to_record,
)
from app.live.fold import LiveState, step
from app.live.pad import tap_of
from app.storage.records import LiveProgramRecord
from app.storage.stores import Stores
from app.web import htmx
from app.web.advisor import Advisor, check_countable
from app.web.deps import StoresDep, VisitorDep
from app.web.rendering import page
from app.web.views.boards import Sheet, board
from app.web.views.plans import second_half_odds
from app.web.views.review import review_view
from app.web.visitor import Visitor

router = APIRouter(prefix="/live", include_in_schema=False)

Text = Annotated[str, Form()]
Number = Annotated[int, Form()]


@router.post("")
def start(request: Request, stores: StoresDep, layout_id: Number, kind: Text, event: Text = "") -> Response:
    """Open a live program from a layout; plan and trained elements are kept as they are now."""
    if kind not in ("run-through", "competition"):
        raise InputError("kind", f"{kind!r} given; expected run-through or competition")
    layout, coach = stores.layouts.get(layout_id), stores.settings.coach()
    record = LiveProgramRecord(
        skater_id=layout.skater_id,
        layout_id=layout.id,
        layout_name=layout.name,
        edition=layout.edition,
        fingerprint=engine.edition(layout.edition).fingerprint,
        items=layout.items,
        trained=stores.skaters.trained(layout.skater_id),
        kind="competition" if kind == "competition" else "run-through",
        started_at=datetime.now(UTC),
        event=event.strip(),
        threshold=coach.threshold,
        most_changes=coach.most_changes,
        harder_after_fall=coach.harder_after_fall,
        after_fall_odds=coach.after_fall_odds,
        second_half_odds=second_half_odds(coach, layout.edition),
    )
    record = replace(record, advice_confirmed_at=_confirmed_before(stores, record))
    return htmx.go_to(request, f"/live/{stores.live.start(record).id}")


@router.get("/{program_id}")
def show(request: Request, stores: StoresDep, program_id: int) -> Response:
    """The screen as it stands."""
    return _board(request, stores, program_id)


@router.get("/{program_id}/news")
def news(request: Request, stores: StoresDep, program_id: int, seen: int) -> Response:
    """For other screens on the same program: the board when the log has grown past `seen`, else 204."""
    if len(stores.live.events(program_id, after=seen)) == 0:
        return Response(status_code=204)
    return _board(request, stores, program_id)


@router.post("/{program_id}/pass")
def log_pass(
    request: Request,
    stores: StoresDep,
    visitor: VisitorDep,
    program_id: int,
    number: Number,
    tap: Text,
    event_id: Text,
    code: Text = "",
    fall: Text = "",
) -> Response:
    """Log what happened on pass `number`. `tap` is "<tried> <key>", "left out" or "typed" (then `code`)."""
    state = _sheet(stores, program_id).state
    if state.stopped or number != state.next_number or state.finished:
        return _after(request, stores, program_id, f"Pass {number} was already logged.")
    try:
        event = _typed(state, code.strip(), fall == "yes") if tap == "typed" else _tapped(state, tap)
        check_countable(step(state, event))
    except InputError as error:
        return _after(request, stores, program_id, f"Not logged. {error}")
    _append(stores, program_id, visitor, event_id, event)
    return _after(request, stores, program_id)


@router.post("/{program_id}/undo")
def undo(
    request: Request,
    stores: StoresDep,
    visitor: VisitorDep,
    program_id: int,
    number: Number,
    event_id: Text,
) -> Response:
    """Take back pass `number`, the latest one."""
    state = _sheet(stores, program_id).state
    if state.stopped or not number or number != len(state.logged):
        return _after(request, stores, program_id, "Nothing to undo there.")
    _append(stores, program_id, visitor, event_id, Undone(number, state.slots[-1].ids))
    return _after(request, stores, program_id)


@router.post("/{program_id}/hurt")
def hurt(
    request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int, event_id: Text
) -> Response:
    """Hurt or hit the head: everything stops."""
    if not _sheet(stores, program_id).state.stopped:
        _append(stores, program_id, visitor, event_id, Stopped())
    return _after(request, stores, program_id)


@router.post("/{program_id}/clear")
def clear(
    request: Request,
    stores: StoresDep,
    visitor: VisitorDep,
    program_id: int,
    event_id: Text,
    by: Text = "",
    relying_on: Text = "",
) -> Response:
    """A named adult lifts the stop and says what they rely on."""
    state = _sheet(stores, program_id).state
    if not state.stopped:
        return _after(request, stores, program_id)
    if not by.strip() or not relying_on.strip():
        return _after(
            request, stores, program_id, "Still stopped: name the adult and tick what they rely on."
        )
    _append(stores, program_id, visitor, event_id, Cleared(by.strip(), relying_on.strip(), state.stops))
    return _after(request, stores, program_id)


@router.post("/{program_id}/allow")
def allow(
    request: Request,
    stores: StoresDep,
    visitor: VisitorDep,
    program_id: int,
    event_id: Text,
    confirmed: Text = "",
) -> Response:
    """Someone has confirmed that this event's rules allow advice during the skate."""
    if confirmed != "yes":
        return _after(request, stores, program_id, "Advice stays hidden: tick the box first.")
    if _sheet(stores, program_id).state.allowed_by is None:
        _append(stores, program_id, visitor, event_id, AdviceAllowed(visitor.name))
        stores.live.confirm_advice(program_id, datetime.now(UTC))
    return _after(request, stores, program_id)


@router.post("/{program_id}/hide")
def hide(
    request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int, event_id: Text
) -> Response:
    """Take advice and points off every screen on this program."""
    if not _sheet(stores, program_id).state.hidden:
        _append(stores, program_id, visitor, event_id, AdviceHidden(visitor.name))
    return _after(request, stores, program_id)


@router.post("/{program_id}/show")
def show_again(
    request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int, event_id: Text
) -> Response:
    """Advice that was hidden may be seen again, where the rules of the event allow it."""
    state = _sheet(stores, program_id).state
    if state.hidden:
        _append(stores, program_id, visitor, event_id, AdviceShown(visitor.name, state.hidings))
    return _after(request, stores, program_id)


@router.get("/{program_id}/review")
def review(request: Request, stores: StoresDep, program_id: int) -> Response:
    """Planned and executed, pass by pass; while points are hidden, only once all is logged."""
    sheet = _sheet(stores, program_id)
    state = sheet.state
    if not (state.finished or state.stopped or state.advice_shown):
        return htmx.go_to(request, f"/live/{program_id}")
    return page(request, "live/review.html", review_view(sheet))


def _tapped(state: LiveState, tap: str) -> Event:
    if tap == "left out":
        return PassLeftOut(state.next_number)
    tried, _, key = tap.partition(" ")
    found = tap_of(tried, key)
    if found is None:
        raise InputError("tap", f"{tap!r} given; expected a button of this pass")
    return PassSkated(state.next_number, tried, found.how, found.readings)


def _typed(state: LiveState, code: str, fall: bool) -> Event:
    """A typed code is a slip of the planned element, not a choice to try something else."""
    executed = str(parse_jump_element(code).without_rulings())
    planned = state.plan.passes[len(state.logged)].code
    how = "something else, fell" if fall else "something else"
    return PassSkated(state.next_number, planned, how, (Reading(executed, fall, error=fall),))


def _append(stores: Stores, program_id: int, visitor: Visitor, event_id: str, event: Event) -> None:
    name, payload = to_record(event)
    stores.live.append(program_id, event_id, datetime.now(UTC), visitor.name, name, payload)


def _sheet(stores: Stores, program_id: int) -> Sheet:
    record = stores.live.program(program_id)
    skater = stores.skaters.get(record.skater_id)
    return Sheet(record, stores.live.events(program_id), skater, stores.settings.coach())


def _after(request: Request, stores: Stores, program_id: int, notice: str = "") -> Response:
    """After a tap: htmx gets the board, a plain browser is sent back to the page (unless there is a notice)."""
    if htmx.is_htmx(request) or notice:
        return _board(request, stores, program_id, notice)
    return htmx.go_to(request, f"/live/{program_id}")


def _board(request: Request, stores: Stores, program_id: int, notice: str = "") -> Response:
    sheet, advisor = _sheet(stores, program_id), advisor_of(request)
    answer = page(request, "live/page.html", board(sheet, advisor, notice), fragment="live/_board.html")
    answer.background = BackgroundTask(advisor.prepare, program_id, sheet.state)
    return answer


def advisor_of(request: Request) -> Advisor:
    """The advisor of this server, made at the first question."""
    state = request.app.state
    if not hasattr(state, "advisor"):
        state.advisor = Advisor()
    advisor: Advisor = state.advisor
    return advisor


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
