"""A day's other programs hear what counts for all of them: that the rules of the event allow advice."""

from __future__ import annotations

from datetime import UTC, datetime

from app.live.events import AdviceAllowed, to_record
from app.web.live_log import Tap, hub_of, sheet_of

MOST_SIGNS = 60
"""Of an event id, so that the number of another program fits behind it."""


def allow_beside(tap: Tap) -> None:
    """Advice was confirmed in one program of a day: it is for those of the day that are open already."""
    mine = tap.stores.days.of_program(tap.program_id)
    if mine is None:
        return
    name, payload = to_record(AdviceAllowed(tap.visitor.name))
    for other in tap.stores.days.starts(mine.day_id):
        program_id = other.program_id
        if program_id is None or program_id == tap.program_id:
            continue
        if sheet_of(tap.stores, program_id).state.advice_allowed:
            continue
        tap.stores.live.append(
            program_id,
            f"{tap.event_id[:MOST_SIGNS]}-{program_id}",
            tap.at,
            tap.visitor.name,
            name,
            payload,
            device=tap.visitor.device,
            role=tap.visitor.role,
        )
        tap.stores.live.confirm_advice(program_id, datetime.now(UTC))
        hub_of(tap.request).news(program_id)
