"""A rehearsal under way: after every tap the lot of the next pass falls, and a failure is called or not."""

from __future__ import annotations

from hashlib import sha256

from app.errors import InputError
from app.live import advice
from app.live.events import FailureCalled
from app.live.fold import LiveState
from app.live.rehearsal import called_passes, draw
from app.storage.records import LiveProgramRecord
from app.web.advisor import Advisor
from app.web.views.boards import Sheet

AUTHOR = "Recoup"


def next_call(sheet: Sheet, advisor: Advisor) -> FailureCalled | None:
    """What to call before the pass to come; None where nothing is, or the program is no rehearsal."""
    state = sheet.state
    if sheet.record.rehearsal is None or state.changes >= sheet.limits.most_changes:
        return None
    to_come = bool(called_passes(state)) and _answer_to_come(sheet, state, advisor)
    return draw(sheet.record.rehearsal, state, answer_to_come=to_come)


def call_id(record: LiveProgramRecord, number: int) -> str:
    """The id of the call before a pass: one a pass, whoever asks, and another in every installation."""
    said = repr((record.id, record.started_at.isoformat(), record.rehearsal))
    return f"call-{sha256(said.encode()).hexdigest()[:24]}-{number}"


def _answer_to_come(sheet: Sheet, state: LiveState, advisor: Advisor) -> bool:
    """Whether the live screen has a swap to make."""
    elements, limits = sheet.elements, sheet.limits
    try:
        said = advisor.ask(sheet.record.id, state, elements, limits)
    except InputError:
        return False
    return advice.choose(said.swaps, state, elements.offered, limits).swap is not None
