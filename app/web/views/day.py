"""A competition day: who starts in which order, how far each is, and the way to each live program."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from hashlib import sha256

from app.domain.words import say
from app.live.fold import LiveState
from app.live.warm_up import LETTERS, chosen_letter
from app.storage.records import DayRecord, LayoutRecord, SkaterRecord, StartRecord
from app.storage.stores import Stores
from app.web.live_log import sheet_of
from app.web.opening import agreed
from app.web.under_way import how_far, is_under_way
from app.web.views.boards import Sheet
from app.web.views.home import DayLink, day_links, edition_words
from app.web.views.plans import events_of
from app.web.visitor import Visitor


class Status(StrEnum):
    """How far a start is, in the words of the screen."""

    TO_COME = "to come"
    WARM_UP = "in warm-up"
    SKATING = "skating"
    DONE = "done"
    STOPPED = "stopped"
    WITHDRAWN = "withdrawn"


STATUS_WORDS = {
    Status.TO_COME: say("to come"),
    Status.WARM_UP: say("in warm-up"),
    Status.SKATING: say("skating"),
    Status.DONE: say("done"),
    Status.STOPPED: say("stopped"),
    Status.WITHDRAWN: say("withdrawn"),
}
SHAPES = {
    Status.TO_COME: "○",
    Status.WARM_UP: "◐",
    Status.SKATING: "▶",
    Status.DONE: "✓",
    Status.STOPPED: "✚",
    Status.WITHDRAWN: "–",
}
"""A shape beside each word."""


@dataclass(frozen=True, slots=True)
class StartCard:
    """One start. `program_id`: 0 until somebody opens it; `layout`: the chosen or first layout with its letter.

    `now`: the program is under way; `status` and `shape` say the same twice. `letters`: how many layouts there are.
    """

    id: int
    place: int
    skater: str
    status: str
    shape: str
    says: str
    layout: str
    letters: int
    program_id: int
    now: bool


@dataclass(frozen=True, slots=True)
class DayView:
    """The day. `seen` changes when anything on it does. `is_coach`: may change the order."""

    id: int
    name: str
    kind: str
    starts: tuple[StartCard, ...]
    is_coach: bool
    seen: str


def day_view(stores: Stores, day: DayRecord, visitor: Visitor) -> DayView:
    """The day as it stands."""
    names = {one.id: one.name for one in stores.skaters.all()}
    starts = tuple(start_card(stores, one, names) for one in stores.days.starts(day.id))
    return with_seen(DayView(day.id, day.name, day.kind, starts, visitor.is_coach, ""))


def with_seen(view: DayView) -> DayView:
    """The same with its mark, which changes when anything else does."""
    return replace(view, seen=mark_of(view))


def mark_of(view: object) -> str:
    """A short mark that changes when the view does."""
    return sha256(repr(view).encode()).hexdigest()[:16]


def start_card(stores: Stores, start: StartRecord, names: Mapping[int, str]) -> StartCard:
    """One start as the day shows it."""
    sheet = None if start.program_id is None else sheet_of(stores, start.program_id)
    state = None if sheet is None else sheet.state
    status = status_of(start, state)
    layouts = agreed(stores, start)
    return StartCard(
        id=start.id,
        place=start.place,
        skater=names[start.skater_id],
        status=STATUS_WORDS[status],
        shape=SHAPES[status],
        says=how_far(state) if state is not None and is_under_way(state) else "",
        layout=layout_words(sheet, layouts),
        letters=len(layouts),
        program_id=start.program_id or 0,
        now=status is Status.SKATING,
    )


def status_of(start: StartRecord, state: LiveState | None) -> Status:
    """How far a start is: a stop before all, then what was skated, then what the coach said."""
    if state is not None and state.stopped:
        return Status.STOPPED
    if start.withdrawn:
        return Status.WITHDRAWN
    if start.mark == "done" or (state is not None and state.finished):
        return Status.DONE
    if state is not None and is_under_way(state):
        return Status.SKATING
    return Status.WARM_UP if start.mark == "warm-up" else Status.TO_COME


def layout_words(sheet: Sheet | None, layouts: Sequence[LayoutRecord]) -> str:
    """The layout of a start: the one of its program, else the first agreed one; with its letter if there are more."""
    if sheet is not None:
        letter = chosen_letter(events_of(sheet.log)) or LETTERS[0]
        return f"{letter}: {sheet.record.layout_name}" if sheet.record.variants else sheet.record.layout_name
    if not layouts:
        return say("no layout any more")
    return f"{LETTERS[0]}: {layouts[0].name}" if len(layouts) > 1 else layouts[0].name


@dataclass(frozen=True, slots=True)
class LayoutChoice:
    """One layout to agree on."""

    id: int
    name: str
    edition: str


@dataclass(frozen=True, slots=True)
class SkaterChoice:
    """One skater with the layouts there are."""

    name: str
    layouts: tuple[LayoutChoice, ...]


@dataclass(frozen=True, slots=True)
class OrderRow:
    """One start in the order: its agreed layouts by id, and what may be done with it."""

    card: StartCard
    layout_ids: tuple[int, ...]
    first: bool
    last: bool
    may_agree: bool
    own: SkaterChoice


@dataclass(frozen=True, slots=True)
class OrderView:
    """The order of a day, to be changed by the coach."""

    id: int
    name: str
    rows: tuple[OrderRow, ...]
    skaters: tuple[SkaterChoice, ...]
    letters: tuple[str, ...]
    notice: str


def order_view(stores: Stores, day: DayRecord, notice: str = "") -> OrderView:
    """The order with every form that changes it."""
    skaters = stores.skaters.all()
    names = {one.id: one.name for one in skaters}
    choices = {one.id: _choice(stores, one) for one in skaters}
    starts = stores.days.starts(day.id)
    rows = tuple(
        OrderRow(
            card=(card := start_card(stores, one, names)),
            layout_ids=one.layout_ids,
            first=place == 0,
            last=place == len(starts) - 1,
            may_agree=card.status in (Status.TO_COME, Status.WARM_UP),
            own=choices[one.skater_id],
        )
        for place, one in enumerate(starts)
    )
    with_layouts = tuple(one for one in choices.values() if one.layouts)
    return OrderView(day.id, day.name, rows, with_layouts, LETTERS, notice)


def _choice(stores: Stores, skater: SkaterRecord) -> SkaterChoice:
    return SkaterChoice(
        skater.name,
        tuple(
            LayoutChoice(one.id, one.name, edition_words(one.edition))
            for one in stores.layouts.of_skater(skater.id)
        ),
    )


@dataclass(frozen=True, slots=True)
class DaysView:
    """Every day, the newest first."""

    days: tuple[DayLink, ...]


def days_view(stores: Stores) -> DaysView:
    """The list of days."""
    return DaysView(day_links(stores.days.all()))
