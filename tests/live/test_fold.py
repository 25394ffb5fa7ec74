"""The fold: undo is an event, and a log with undone passes means the same as the log without them."""

from __future__ import annotations

import pytest
from hypothesis import given, strategies as st

from app.errors import ProgramError
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
)
from app.live.fold import LiveState, fold, step
from app.live.program import Plan, PlannedPass, Setting

CODES = ("3Lz+3T", "3F", "2A", "3Lo", "3F+2T", "3S")
"""Invented plan."""


def plan(setting: Setting = Setting.RUN_THROUGH) -> Plan:
    """An invented free skating of six passes."""
    passes = tuple(PlannedPass(code, 20 + 35 * place, place > 2) for place, code in enumerate(CODES))
    return Plan("isu/2026-27/senior/women/free", setting, "", passes)


def skated(number: int, code: str = "3S", fall: bool = False) -> PassSkated:
    """Pass `number`, attempted as planned, come out as `code`."""
    return PassSkated(number, CODES[number - 1], "as planned", (Reading(code, fall),))


@st.composite
def logs(draw: st.DrawFn) -> list[Event]:
    """Logs the screens could write: passes in order, undo, stops and clearances, confirmations."""
    events: list[Event] = []
    state = LiveState(plan())
    for _ in range(draw(st.integers(0, 25))):
        event = draw(st.sampled_from(possible(state)))
        events.append(event)
        state = step(state, event)
    return events


def possible(state: LiveState) -> list[Event]:
    """What a screen offers in this state."""
    if state.stopped:
        return [Cleared("coach", "tapped by mistake"), AdviceAllowed("laptop")]
    found: list[Event] = [Stopped(), AdviceAllowed("laptop"), AdviceHidden("boards"), AdviceShown("boards")]
    if not state.finished:
        number = state.next_number
        found += [skated(number), skated(number, "2T", fall=True), PassLeftOut(number)]
    if state.logged:
        found.append(Undone(len(state.logged)))
    return found


def without_undone(events: list[Event]) -> list[Event]:
    """The log with each undone pass and its undo struck out, found without the fold: matching brackets."""
    kept: list[Event] = []
    for event in events:
        if isinstance(event, Undone):
            latest = max(n for n, one in enumerate(kept) if isinstance(one, PassSkated | PassLeftOut))
            del kept[latest]
        else:
            kept.append(event)
    return kept


@given(logs())
def test_a_log_with_undone_passes_equals_the_log_without_them(events: list[Event]) -> None:
    assert fold(plan(), events) == fold(plan(), without_undone(events))


@given(logs())
def test_doing_and_undoing_leaves_the_state_untouched(events: list[Event]) -> None:
    state = fold(plan(), events)
    if state.stopped or state.finished:
        return
    tapped = step(state, skated(state.next_number, "2F", fall=True))
    assert tapped != state
    assert step(tapped, Undone(state.next_number)) == state


@given(logs())
def test_folding_step_by_step_equals_folding_from_the_start(events: list[Event]) -> None:
    state = LiveState(plan())
    for number, event in enumerate(events, start=1):
        state = step(state, event)
        assert state == fold(plan(), events[:number])


@pytest.mark.parametrize(
    ("events", "said"),
    [
        ([skated(2)], "expected pass 1"),
        ([skated(1), skated(1)], "expected pass 2"),
        ([Undone(1)], "the latest logged is 0"),
        ([skated(1), skated(2), Undone(1)], "the latest logged is 2"),
        ([Stopped(), skated(1)], "an adult has to clear it first"),
        ([Cleared("coach", "mistake")], "nothing to clear"),
    ],
)
def test_a_damaged_log_is_refused_in_words(events: list[Event], said: str) -> None:
    with pytest.raises(ProgramError, match=said):
        fold(plan(), events)


def test_a_stop_survives_an_undo_before_it_and_hides_everything() -> None:
    state = fold(plan(), [skated(1), Stopped()])
    assert state.stopped
    assert not state.advice_shown
    cleared = step(state, Cleared("coach", "medical staff have cleared the skater"))
    assert cleared.advice_shown
    assert cleared.clearances[0].by == "coach"


def test_a_competition_shows_no_advice_until_it_is_confirmed() -> None:
    state = fold(plan(Setting.COMPETITION), [skated(1)])
    assert not state.advice_shown
    assert step(state, AdviceAllowed("laptop")).advice_shown


def test_a_run_through_shows_advice_at_once() -> None:
    assert LiveState(plan()).advice_shown


def test_changes_count_what_was_tried_not_what_came_out() -> None:
    popped = PassSkated(1, "3Lz+3T", "popped", (Reading("2Lz"),))
    swapped = PassSkated(2, "3F+2T", "as planned", (Reading("3F+2T"),))
    assert fold(plan(), [popped]).changes == 0
    assert fold(plan(), [popped, swapped, PassLeftOut(3)]).changes == 1


def test_a_fall_in_one_of_two_readings_counts_as_a_fall() -> None:
    doubt = PassSkated(1, "3Lz+3T", "?", (Reading("3Lz", chance=0.5), Reading("3Lz", fall=True, chance=0.5)))
    assert fold(plan(), [doubt]).just_fell
    assert not fold(plan(), [doubt, skated(2)]).just_fell


def test_hidden_advice_comes_back_only_when_it_is_asked_for_and_allowed() -> None:
    hidden = fold(plan(), [AdviceHidden("boards"), skated(1), Undone(1)])
    assert not hidden.advice_shown
    assert step(hidden, AdviceShown("laptop")).advice_shown
    competition = fold(plan(Setting.COMPETITION), [AdviceHidden("boards"), AdviceShown("boards")])
    assert not competition.advice_shown
    assert step(competition, AdviceAllowed("laptop")).advice_shown
