"""The live screen: one frozen view, built from the state, the engine's answer and the one line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from markupsafe import Markup

from app.domain.words import say
from app.live.events import LoggedPass, PassSkated
from app.live.fold import LiveState, likeliest
from app.live.line import Line
from app.live.pad import Group, Tap, taps
from app.live.program import KnownElement, PlannedPass, Setting, clock
from app.live.rehearsal import as_called, call_now
from app.web.views.called import CalledView
from app.web.views.day_place import DayPlace
from app.web.views.left import LeftView
from app.web.views.questions import QuestionView, what_words
from app.web.views.timing import ClockView

MOST_COMMON = 6


class Mode(StrEnum):
    """What the screen may show."""

    ADVICE = "advice"
    SILENT = "silent"
    STOPPED = "stopped"
    FINISHED = "finished"


@dataclass(frozen=True, slots=True)
class TryView:
    """The buttons for one tried element: `common` ones on the glass at once, `more` one tap further in."""

    code: str
    is_planned: bool
    common: tuple[Tap, ...]
    more: tuple[Tap, ...]
    both: tuple[Tap, ...]
    doubts: tuple[Tap, ...]


@dataclass(frozen=True, slots=True)
class PadView:
    """The pass to log; forms send `key` for it.

    `planned` and the swap on the table each have their buttons; `others` are trained codes.

    `cue`: the skater's own words for the planned element, while advice may show.
    """

    number: int
    key: int
    count: int
    planned: str
    when: str
    late: bool
    cue: str
    tries: tuple[TryView, ...]
    others: tuple[str, ...]
    called: str = ""
    as_called: Tap | None = None
    """In a rehearsal: the event of the failure called for this pass, and the button that says it was done so."""


@dataclass(frozen=True, slots=True)
class Advised:
    """Everything that is hidden while advice is not allowed or the program is stopped."""

    line: Line
    gone: tuple[str, ...]
    left: tuple[LeftView, ...]
    points: str
    refused: str


@dataclass(frozen=True, slots=True)
class LiveView:
    """The live page. `event_id` marks the next tap, so a tap sent twice is logged once.

    `fault`: why there is no advice although it may show; logging goes on.
    `seen` is the length of the log: another screen asks whether it has grown. `place`: how many passes are logged.
    `undo_of`, `redo_of`, `stops`, `hidings` are event ids for those buttons. `role`: what this device may do;
    `log_only`: advice is not for this device. `differ`: for the line, that two loggers differ.
    `hidden`: someone wants no advice for now, though the rules would allow it. `after_fall`: ask for injuries first.
    """

    program_id: int
    title: str
    skater: str
    occasion: str
    is_competition: bool
    allowed: bool
    hidden: bool
    after_fall: bool
    mode: Mode
    fault: str
    advised: Advised | None
    pad: PadView | None
    drawing: Markup
    latest: str
    undo_number: int
    event_id: str
    seen: int
    place: int
    notice: str
    undo_of: str
    redo_of: str
    stops: str
    hidings: str
    role: str
    log_only: bool
    questions: tuple[QuestionView, ...]
    differ: str
    clock: ClockView
    day: DayPlace | None = None
    """The way to the other skaters of a competition day."""
    is_rehearsal: bool = False
    call: CalledView | None = None
    """In a rehearsal: the failure to call before the pass to come, in place of the advice."""


def mode_of(state: LiveState) -> Mode:
    """What the screen may show in this state; a stop wins over everything."""
    if state.stopped:
        return Mode.STOPPED
    if state.finished:
        return Mode.FINISHED
    return Mode.ADVICE if state.advice_shown else Mode.SILENT


def pad_of(
    state: LiveState,
    known: Mapping[str, KnownElement],
    offered: tuple[str, ...],
    swap_now: str | None,
    mode: Mode,
) -> PadView | None:
    """The buttons for the pass to come; None when there is none or the program is stopped."""
    row = state.next_pass
    if row is None or state.stopped:
        return None
    call = call_now(state)
    codes = [row.code, *([swap_now] if swap_now else [])]
    return PadView(
        number=state.next_number,
        key=state.next_key,
        count=len(state.plan.passes),
        planned=row.code,
        when=clock(row.seconds),
        late=row.late,
        cue=known[row.code].cue if row.code in known and mode is Mode.ADVICE else "",
        tries=tuple(_try(code, row.code) for code in codes),
        others=_others(row, offered, swap_now),
        called=call.id if call else "",
        as_called=as_called(row.code, call.failure) if call else None,
    )


def _others(row: PlannedPass, offered: tuple[str, ...], swap_now: str | None) -> tuple[str, ...]:
    """Trained elements for "something else": this pass's own options first."""
    first = [code for code in row.options if code in offered]
    return tuple(code for code in dict.fromkeys([*first, *offered]) if code not in (row.code, swap_now))


def _try(code: str, planned: str) -> TryView:
    found = {group: tuple(tap for tap in taps(code) if tap.group is group) for group in Group}
    main = found[Group.MAIN]
    common = _common(main)
    more = tuple(tap for tap in main if tap not in common)
    return TryView(code, code == planned, common, more, found[Group.BOTH], found[Group.DOUBT])


def _common(main: tuple[Tap, ...]) -> tuple[Tap, ...]:
    """What happens most, for the glass of a small phone (common practice, no source): six at most."""
    falls = [tap for tap in main if tap.key.startswith("fell-")]
    lost = [tap for tap in main if tap.key.startswith("lost-")]
    rest = [tap for tap in main if tap.key in ("popped-1", "error")]
    wanted = [main[0], *lost[:1], *falls[:1], *rest, *falls[1:], *lost[1:]]
    return tuple(wanted[:MOST_COMMON])


def latest_of(state: LiveState) -> str:
    """The latest logged pass in words; empty when nothing is logged."""
    return said(len(state.logged), state.logged[-1]) if state.logged else ""


def said(number: int, entry: LoggedPass) -> str:
    """One logged pass in words."""
    return say("Pass %(number)s: %(what)s", number=number, what=what_words(entry))


def note_of(entry: LoggedPass) -> str:
    """The short word under a pass in the drawing."""
    if isinstance(entry, PassSkated):
        if len(entry.readings) > 1:
            return "?"
        if likeliest(entry).fall:
            return say("fell")
    return ""


def is_competition(state: LiveState) -> bool:
    """Whether this program is skated in a competition."""
    return state.plan.setting is Setting.COMPETITION
