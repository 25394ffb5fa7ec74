"""Builds the live view: fold the log, ask the engine if advice may show, put it into words."""

from __future__ import annotations

import time
from collections.abc import Hashable
from dataclasses import dataclass, field
from functools import cached_property
from uuid import uuid4

from app import engine
from app.domain.said import said_of
from app.domain.words import figure, listed, say, sentences
from app.errors import InputError
from app.live import advice, aim
from app.live.advice import Choice, Swap
from app.live.events import Ids
from app.live.fold import LiveState, fold, in_sure_halves
from app.live.line import Ground, line_of
from app.live.program import Limits
from app.live.tempting import refusal
from app.rulebook.editions import Edition
from app.security.roles import VIEWER
from app.settings import CoachSettings
from app.storage.records import LiveProgramRecord, LoggedEvent, SkaterRecord
from app.web.advisor import Advisor, Answer, Elements, called, lasting_mark, sort_elements
from app.web.standing import spins_and_steps
from app.web.views import live, plans
from app.web.views.called import called_view
from app.web.views.day_place import DayPlace
from app.web.views.decided import decide
from app.web.views.left import gone_of, left_of
from app.web.views.live import Advised, LiveView, Mode
from app.web.views.pictures import live_picture
from app.web.views.questions import differ_words, questions_of
from app.web.views.timing import clock_view
from app.web.visitor import Visitor


@dataclass(frozen=True)
class Sheet:
    """Everything stored about one live program that its screen needs. What follows from it is worked out once."""

    record: LiveProgramRecord
    log: tuple[LoggedEvent, ...]
    skater: SkaterRecord
    coach: CoachSettings
    day: DayPlace | None = None
    """Where it stands on a competition day; None: it was started by itself."""
    asked: list[Seen] = field(default_factory=list, compare=False, repr=False)
    """The advice, once somebody has asked for it."""
    written: dict[Hashable, object] = field(default_factory=dict, compare=False, repr=False)
    """Boards already written, by what they depend on beside this; see `app.web.live_board`."""

    @cached_property
    def edition(self) -> Edition:
        """The rulebook the program is skated under, as it was when the program began."""
        return engine.edition(engine.pinned(self.record.edition, self.record.fingerprint))

    @cached_property
    def state(self) -> LiveState:
        """The log, folded."""
        return fold(plans.plan_of(self.record, self.edition), plans.events_of(self.log))

    @cached_property
    def ahead(self) -> LiveState:
        """The same, with the passes to come in the half they are sure to start in: what advice is asked about."""
        return in_sure_halves(self.state, time.time())

    @cached_property
    def mark(self) -> str:
        """Equal, in every process, for what asks the engine the same."""
        return lasting_mark(self.record.id, self.ahead, self.elements, self.limits)

    @cached_property
    def limits(self) -> Limits:
        """The coach's limits for this program."""
        return plans.program_limits(self.record, self.coach)

    @cached_property
    def elements(self) -> Elements:
        """The skater's elements as they were when the program began."""
        known = plans.known_of(self.record.trained, self.record.edition)
        return sort_elements(known, self.limits, self.record.started_at.date())


@dataclass(frozen=True, slots=True)
class Seen:
    """What one device sees of the advice; `fault`: why there is none although it may show."""

    mode: Mode
    swap: Swap | None = None
    advised: Advised | None = None
    fault: str = ""


def seen_mode(state: LiveState, visitor: Visitor) -> Mode:
    """What may be on the screen of that device."""
    mode = live.mode_of(state)
    return Mode.SILENT if mode is Mode.ADVICE and not visitor.sees_advice else mode


def seen_by(sheet: Sheet, advisor: Advisor, visitor: Visitor) -> Seen:
    """Asks the engine, if advice may show on this device; once, however many screens look on."""
    mode = seen_mode(sheet.ahead, visitor)
    if mode is not Mode.ADVICE:
        return Seen(mode)
    if not sheet.asked:
        sheet.asked.append(_asked(sheet, advisor))
    return sheet.asked[0]


def _asked(sheet: Sheet, advisor: Advisor) -> Seen:
    try:
        choice, advised = _advised(sheet, sheet.ahead, sheet.elements, advisor)
    except InputError as error:
        return Seen(Mode.ADVICE, fault=said_of(error))
    return Seen(Mode.ADVICE, choice.swap, advised)


def board(sheet: Sheet, advisor: Advisor, visitor: Visitor, now: float, notice: str = "") -> LiveView:
    """The live view of a program as it stands, for one device; `now` in seconds since 1970."""
    state, elements = sheet.ahead, sheet.elements
    found = seen_by(sheet, advisor, visitor)
    swap, event_id = found.swap, uuid4().hex
    logs = visitor.role != VIEWER
    undo_of = own_of(state, visitor)
    at_once = swap.element if swap is not None and swap.number == state.next_number else None
    return LiveView(
        program_id=sheet.record.id,
        title=sheet.record.layout_name,
        skater=sheet.skater.name,
        occasion=sheet.record.event,
        is_competition=live.is_competition(state),
        allowed=state.advice_allowed,
        hidden=state.hidden,
        after_fall=state.just_fell,
        mode=found.mode,
        fault=found.fault,
        advised=found.advised,
        pad=live.pad_of(state, elements.known, tuple(elements.offered), at_once, found.mode)
        if logs
        else None,
        drawing=live_picture(
            say("The program so far"),
            sheet.edition,
            state,
            plans.marks_of(sheet.record.items),
            swap,
            called(state) if state.advice_shown and visitor.sees_advice else None,
        ),
        latest=live.latest_of(state),
        undo_number=len(state.logged) if undo_of else 0,
        event_id=event_id,
        seen=len(sheet.log),
        place=len(state.logged),
        notice=notice,
        undo_of=" ".join(undo_of),
        redo_of=" ".join(state.redo) if logs else "",
        stops=" ".join(state.stops),
        hidings=" ".join(state.hidings),
        role=visitor.role,
        log_only=not visitor.sees_advice,
        questions=questions_of(state, event_id),
        differ=differ_words(state),
        clock=clock_view(state, sheet.edition, now),
        day=sheet.day,
        is_rehearsal=sheet.record.rehearsal is not None,
        call=called_view(state),
    )


def own_of(state: LiveState, visitor: Visitor) -> Ids:
    """The events of the latest pass that this device may take back."""
    if state.stopped or not state.slots or visitor.role == VIEWER:
        return ()
    ids = state.slots[-1].ids
    if visitor.is_coach:
        return ids
    return tuple(one.id for one in state.log if one.id in ids and one.author.device == visitor.device)


LOGGING_ONLY, DONE, LEAVE_OUT = say("Logging only"), say("Done"), say("Leave out")


@dataclass(frozen=True, slots=True)
class BigView:
    """One word for the skater, filling the screen. `kind` names the state: advice, silent, stopped, finished.

    `place`: how many passes are logged. `does`: in a rehearsal, what is skated instead; the word is then the failure
    that is called.
    """

    program_id: int
    word: str
    kind: Mode
    seen: int
    place: int
    event_id: str
    does: str = ""


def big(sheet: Sheet, advisor: Advisor, visitor: Visitor) -> BigView:
    """The cue word of the advised swap, or its code; the planned element when the plan is kept."""
    state = sheet.ahead
    found = seen_by(sheet, advisor, visitor)
    call = called_view(state)
    word = call.word if call else _word(found, sheet, state)
    does = call.does if call else ""
    return BigView(sheet.record.id, word, found.mode, len(sheet.log), len(state.logged), uuid4().hex, does)


def _word(found: Seen, sheet: Sheet, state: LiveState) -> str:
    if found.mode is Mode.STOPPED:
        return say("Stop")
    if found.mode is not Mode.ADVICE or state.next_pass is None:
        return LOGGING_ONLY if found.mode is Mode.SILENT else DONE
    swap = found.swap
    now = swap is not None and swap.number == state.next_number
    if now and swap is not None and swap.element is None:
        return LEAVE_OUT
    code = swap.element if now and swap is not None and swap.element else state.next_pass.code
    return word_of(code, sheet.elements)


def word_of(code: str, elements: Elements) -> str:
    """The skater's own words for an element, else its code."""
    known = elements.known.get(code)
    return known.cue if known is not None and known.cue else code


def _advised(sheet: Sheet, state: LiveState, elements: Elements, advisor: Advisor) -> tuple[Choice, Advised]:
    aimed = state.aim.kind != "expected"
    others = spins_and_steps(sheet.edition, sheet.record.items) if aimed else 0.0
    decided = decide(sheet.record.id, state, elements, sheet.limits, others, advisor)
    answer, choice = decided.answer, decided.choice
    each = advisor.if_called(sheet.record.id, decided.state, elements, sheet.limits, others)
    ground = Ground(
        state,
        sheet.edition,
        elements.offered,
        sheet.limits,
        answer.as_planned,
        advisor.rulings_if(state, choice.swap) if choice.swap else {},
        aim.words(state.aim) if decided.by_chance else "",
        answer.kept,
        sentences(decided.note, decided.doubt(each, elements, sheet.limits)),
    )
    tempting = advisor.tempting(state, elements)
    shown = Advised(
        line=line_of(choice, ground),
        gone=gone_of(answer.left, answer.as_skated, state),
        left=left_of(answer.left, state),
        points=_points(answer, state, elements),
        refused=refusal(tempting, sheet.limits.threshold),
    )
    return choice, shown


def _points(answer: Answer, state: LiveState, elements: Elements) -> str:
    base, more = figure(answer.skated, 2), figure(answer.to_come, 0)
    return points_words(base, more, waiting_words(state, elements))


def points_words(base: str, more: str, waiting: str) -> str:
    """Points so far and to come, and what they are reckoned from."""
    counted = say("%(base)s base, %(more)s more expected.", base=base, more=more)
    return sentences(counted, waiting)


def waiting_words(state: LiveState, elements: Elements) -> str:
    """The passes to come without recorded chances, and what they are reckoned as; empty when there are none."""
    said = []
    ahead = [row.code for row in state.plan.passes[len(state.logged) :]]
    sure = set(advice.sure_things(state.plan, elements.known))
    others = set(advice.unknown_chances(state.plan, elements.known)) - sure
    if waiting := listed(code for code in ahead if code in others):
        said.append(
            say("No chances are recorded for %(codes)s: reckoned as others at this level.", codes=waiting)
        )
    if waiting := listed(code for code in ahead if code in sure):
        said.append(say("No chances are recorded for %(codes)s: reckoned as landed.", codes=waiting))
    return sentences(*said)
