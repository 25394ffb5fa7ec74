"""Builds the live view: fold the log, ask the engine if advice may show, put it into words."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import uuid4

from app import engine
from app.errors import InputError
from app.live import advice
from app.live.advice import Choice
from app.live.fold import LiveState, fold
from app.live.line import Ground, line_of
from app.live.program import Limits
from app.live.tempting import refusal
from app.rulebook.editions import Edition
from app.settings import CoachSettings
from app.storage.records import LiveProgramRecord, LoggedEvent, SkaterRecord
from app.web.advisor import Advisor, Answer, Elements, called, sort_elements
from app.web.views import live, plans
from app.web.views.left import gone_of, left_of
from app.web.views.live import Advised, LiveView, Mode
from app.web.views.pictures import live_picture


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything stored about one live program that its screen needs."""

    record: LiveProgramRecord
    log: tuple[LoggedEvent, ...]
    skater: SkaterRecord
    coach: CoachSettings

    @property
    def edition(self) -> Edition:
        """The rulebook the program is skated under."""
        return engine.edition(self.record.edition)

    @property
    def state(self) -> LiveState:
        """The log, folded."""
        return fold(plans.plan_of(self.record, self.edition), plans.events_of(self.log))

    @property
    def limits(self) -> Limits:
        """The coach's limits for this program."""
        return plans.program_limits(self.record, self.coach)

    @property
    def elements(self) -> Elements:
        """The skater's elements as they were when the program began."""
        known = plans.known_of(self.record.trained, self.record.edition)
        return sort_elements(known, self.limits, self.record.started_at.date())


def board(sheet: Sheet, advisor: Advisor, notice: str = "") -> LiveView:
    """The live view of a program as it stands."""
    state, elements = sheet.state, sheet.elements
    mode = live.mode_of(state)
    choice, advised, fault = None, None, ""
    if mode is Mode.ADVICE:
        try:
            choice, advised = _advised(sheet, state, elements, advisor)
        except InputError as error:
            fault = str(error)
    swap = choice.swap if choice else None
    now = swap.element if swap is not None and swap.number == state.next_number else None
    return LiveView(
        program_id=sheet.record.id,
        title=sheet.record.layout_name,
        skater=sheet.skater.name,
        occasion=sheet.record.event,
        is_competition=live.is_competition(state),
        allowed=state.advice_allowed,
        hidden=state.hidden,
        after_fall=state.just_fell,
        mode=mode,
        fault=fault,
        advised=advised,
        pad=live.pad_of(state, elements.known, tuple(elements.offered), now),
        drawing=live_picture(
            "The program so far",
            sheet.edition,
            state,
            plans.marks_of(sheet.record.items),
            swap,
            called(state) if state.advice_shown else None,
        ),
        latest=live.latest_of(state),
        undo_number=0 if state.stopped else len(state.logged),
        event_id=uuid4().hex,
        seen=len(sheet.log),
        notice=notice,
    )


def _advised(sheet: Sheet, state: LiveState, elements: Elements, advisor: Advisor) -> tuple[Choice, Advised]:
    answer = advisor.ask(sheet.record.id, state, elements, sheet.limits)
    choice = advice.choose(answer.swaps, state, elements.offered, sheet.limits)
    swapped = advisor.rulings_if(state, choice.swap) if choice.swap else {}
    ground = Ground(state, sheet.edition, elements.offered, sheet.limits, answer.as_planned, swapped)
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
    said = f"{answer.skated:.2f} base, {answer.to_come:.0f} more expected."
    ahead = [row.code for row in state.plan.passes[len(state.logged) :]]
    sure = set(advice.sure_things(state.plan, elements.known))
    others = set(advice.unknown_chances(state.plan, elements.known)) - sure
    for codes, how in ((others, "others at this level"), (sure, "landed")):
        waiting = [code for code in ahead if code in codes]
        if waiting:
            said += f" No chances are recorded for {', '.join(waiting)}: reckoned as {how}."
    return said
