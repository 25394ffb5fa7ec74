"""The page that puts a pass right: what each logged pass was, who said so, and the forms to correct it."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import uuid4

from app.domain.words import both, either, say
from app.live.fold import LiveState
from app.live.merge import Slot
from app.live.pad import Tap, taps
from app.web.views.boards import Sheet
from app.web.views.questions import what_words


@dataclass(frozen=True, slots=True)
class PassRow:
    """One logged pass. `key`, `of`: how events name it; `half`: in which half it started and who says so."""

    number: int
    key: int
    planned: str
    words: str
    who: str
    half: str
    late: bool
    of: str
    taps: tuple[Tap, ...]
    event_id: str


@dataclass(frozen=True, slots=True)
class PassesView:
    """The logged passes of a program. `seen`: length of the log; `event_id` marks the next tap."""

    program_id: int
    title: str
    rows: tuple[PassRow, ...]
    seen: int
    event_id: str


def passes_view(sheet: Sheet) -> PassesView:
    """The view of what is logged so far."""
    state = sheet.state
    rows = tuple(_row(slot, state) for slot in state.slots)
    return PassesView(sheet.record.id, sheet.record.layout_name, rows, len(sheet.log), uuid4().hex)


def _row(slot: Slot, state: LiveState) -> PassRow:
    planned = state.plan.passes[slot.number - 1].code
    late = state.late[slot.number - 1]
    authors = dict.fromkeys(one.name for candidate in slot.candidates for one in candidate.authors)
    return PassRow(
        number=slot.number,
        key=slot.key,
        planned=planned,
        words=either(what_words(one.what) for one in slot.candidates),
        who=both(authors),
        half=say("Counted as second half.") if late else say("Counted as first half."),
        late=late,
        of=" ".join(slot.ids),
        taps=taps(planned),
        event_id=uuid4().hex,
    )
