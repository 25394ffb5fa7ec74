"""Which programs are under way: begun, not all logged, and heard of lately. They stand first on the first page."""

from __future__ import annotations

from datetime import datetime, timedelta

from app.domain.words import say
from app.live.fold import LiveState
from app.storage.stores import Stores
from app.web.live_log import sheet_of
from app.web.views.home import GoOnCard

LATELY = timedelta(hours=12)
MOST = 3


def under_way(stores: Stores, now: datetime) -> tuple[GoOnCard, ...]:
    """The programs under way, the latest tap first."""
    found = []
    for record in stores.live.touched(now - LATELY):
        start = stores.days.of_program(record.id)
        if start is not None and start.mark == "done":
            continue
        sheet = sheet_of(stores, record.id)
        if is_under_way(sheet.state):
            found.append(
                GoOnCard(record.id, sheet.skater.name, sheet.record.layout_name, how_far(sheet.state))
            )
    return tuple(found[:MOST])


def is_under_way(state: LiveState) -> bool:
    """Whether a program has begun (a pass, the music, a stop) and is not all logged."""
    begun = bool(state.logged or state.undecided or state.stopped or state.clock.runs)
    return begun and (state.stopped or not state.finished)


def how_far(state: LiveState) -> str:
    """How far a program is, in words; no points, no advice."""
    if state.stopped:
        return say("stopped")
    if state.finished:
        return say("all passes logged")
    return say(
        "pass %(next_number)s of %(count)s next", next_number=state.next_number, count=len(state.plan.passes)
    )
