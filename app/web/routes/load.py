"""How many jumps a skater made, by day and week. It counts, and says where to ask."""

from __future__ import annotations

from datetime import date

from fastapi import APIRouter, Request, Response

from app.live.events import PassSkated
from app.live.fold import likeliest
from app.practice.load import SkatedProgram, load_of
from app.storage.records import LiveProgramRecord
from app.storage.stores import Stores
from app.web.deps import StoresDep
from app.web.live_log import sheet_of
from app.web.rendering import page
from app.web.routes.log import today
from app.web.views.load import MOST_BACK, first_shown, load_view

router = APIRouter(prefix="/skaters/{skater_id}/load", include_in_schema=False)

MOST_PROGRAMS = 2_000
"""Programs of one skater that are looked at, the latest: years of them."""


@router.get("")
def show(request: Request, stores: StoresDep, skater_id: int, back: int = 0) -> Response:
    """The page; `back`: how many weeks ago it ends."""
    skater, on = stores.skaters.get(skater_id), today()
    shown = min(max(back, 0), MOST_BACK)
    since = first_shown(on, shown)
    programs = stores.live.recent(skater_id, limit=MOST_PROGRAMS)
    attempts, drills = stores.attempts.of_skater(skater_id), stores.drills.of_skater(skater_id)
    load = load_of(attempts, drills, (_skated(stores, one) for one in programs if _day(one) >= since))
    days = [*(one.day for one in attempts), *(one.day for one in drills), *map(_day, programs)]
    first = min(days, default=None)
    by_hand = sum(one.attempts - one.log.attempts for one in stores.skaters.trained(skater_id))
    return page(request, "load/page.html", load_view(skater, load, first, (on, shown), by_hand))


def _day(record: LiveProgramRecord) -> date:
    """The day of a program where it was skated."""
    return record.started_at.astimezone().date()


def _skated(stores: Stores, record: LiveProgramRecord) -> SkatedProgram:
    """The jump elements of a program as they came out, whatever was planned or called."""
    state = sheet_of(stores, record.id).state
    codes = tuple(likeliest(one).code for one in state.logged if isinstance(one, PassSkated))
    return SkatedProgram(_day(record), record.kind, codes, record.id)
