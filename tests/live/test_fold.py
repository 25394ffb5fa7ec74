"""The fold: undo is an event, and a log with undone passes means the same as the log without them."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings, strategies as st

from app.live.events import (
    AdviceAllowed,
    AdviceHidden,
    AdviceShown,
    Author,
    Chosen,
    Cleared,
    Corrected,
    Event,
    Inserted,
    Interrupted,
    LatenessSet,
    MusicStarted,
    PassLeftOut,
    PassSkated,
    Reading,
    Redone,
    Resumed,
    Stamped,
    Stopped,
    Undone,
)
from app.live.fold import LiveState, Why, fold, in_sure_halves, step
from app.live.merge import stamp
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


def stamped(name: str, at: float, event: Event) -> Stamped:
    """An event of the laptop with its id and moment."""
    return Stamped(name, at, Author(), event)


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


def without_undone(log: tuple[Stamped, ...]) -> list[Stamped]:
    """The log with each undone pass and its undo struck out, found without the fold: matching brackets."""
    kept: list[Stamped] = []
    for one in log:
        if isinstance(one.event, Undone):
            latest = max(n for n, old in enumerate(kept) if isinstance(old.event, PassSkated | PassLeftOut))
            del kept[latest]
        else:
            kept.append(one)
    return kept


@settings(deadline=None)  # a busy machine
@given(logs())
def test_a_log_with_undone_passes_equals_the_log_without_them(events: list[Event]) -> None:
    log = stamp(events)
    assert fold(plan(), log) == fold(plan(), without_undone(log))


@settings(deadline=None)  # a busy machine
@given(logs())
def test_doing_and_undoing_leaves_the_state_untouched(events: list[Event]) -> None:
    state = fold(plan(), events)
    if state.stopped or state.finished:
        return
    tapped = step(state, skated(state.next_number, "2F", fall=True))
    assert tapped != state
    assert step(tapped, Undone(state.next_number)) == state


@settings(deadline=None)  # a busy machine
@given(logs())
def test_folding_step_by_step_equals_folding_from_the_start(events: list[Event]) -> None:
    state = LiveState(plan())
    for number, event in enumerate(events, start=1):
        state = step(state, event)
        assert state == fold(plan(), events[:number])


def whys(state: LiveState) -> list[Why]:
    """Why the log needs decisions."""
    return [one.why for one in state.undecided]


def test_a_pass_with_one_missing_before_it_waits_and_comes_in_when_that_is_logged() -> None:
    state = fold(plan(), [skated(1), skated(3)])
    assert (len(state.logged), state.next_number, whys(state)) == (1, 2, [Why.GAP])
    filled = step(state, skated(2))
    assert (len(filled.logged), whys(filled)) == (3, [])


def test_the_same_account_of_a_pass_by_two_people_is_one() -> None:
    state = fold(plan(), [skated(1), skated(1)])
    assert (len(state.logged), whys(state)) == (1, [])
    assert len(state.slots[0].ids) == 2


def test_two_accounts_of_a_pass_are_both_kept_half_and_half_until_one_is_chosen() -> None:
    """Half and half: two people at the boards, neither surer than the other; no source."""
    landed, fell = stamped("a", 10, skated(1)), stamped("b", 11, skated(1, fall=True))
    state = fold(plan(), [landed, fell])
    assert whys(state) == [Why.DIFFER]
    (entry,) = state.logged
    assert isinstance(entry, PassSkated)
    assert {(one.fall, one.chance) for one in entry.readings} == {(False, 0.5), (True, 0.5)}
    assert state.just_fell
    chosen = step(state, Chosen(1, "b", ("a",)))
    assert (whys(chosen), chosen.logged) == ([], (fell.event,))


def test_not_attempted_against_skated_keeps_the_chance_of_a_free_box() -> None:
    state = fold(plan(), [skated(1), PassLeftOut(1)])
    assert whys(state) == [Why.DIFFER]
    assert state.slots[0].left_out == 0.5
    assert fold(plan(), [PassLeftOut(1), PassLeftOut(1)]).slots[0].left_out == 1


def test_an_undo_of_a_pass_that_others_followed_leaves_a_gap_not_a_hole() -> None:
    first, second = stamped("a", 1, skated(1)), stamped("b", 2, skated(2))
    state = fold(plan(), [first, second, Undone(1, ("a",))])
    assert (state.logged, whys(state), state.next_key) == ((), [Why.GAP], 1)
    assert len(step(state, skated(1)).logged) == 2


def test_undo_and_redo_of_a_correction() -> None:
    first = stamped("a", 1, skated(1))
    fell = skated(1, fall=True)
    put_right = stamped("c", 2, Corrected(fell, ("a",)))
    assert fold(plan(), [put_right, first]).logged == (fell,)
    undone = stamped("u", 3, Undone(1, ("c",)))
    state = fold(plan(), [undone, first, put_right])
    assert (state.logged, state.redo) == ((skated(1),), ("u",))
    assert step(state, Redone(("u",))).logged == (fell,)


def test_a_correction_whose_pass_has_not_arrived_waits() -> None:
    early = fold(plan(), [stamped("c", 2, Corrected(skated(1, fall=True), ("a",)))])
    assert (early.logged, whys(early)) == ((), [Why.WAITING])


def test_a_forgotten_pass_moves_the_later_ones_on() -> None:
    events: list[Event | Stamped] = [
        skated(1),
        skated(2, "2A"),
        stamped("i", 9, Inserted(2, skated(2, "3F"))),
    ]
    state = fold(plan(), events)
    codes = [entry.readings[0].code for entry in state.logged if isinstance(entry, PassSkated)]
    assert codes == ["3S", "3F", "2A"]
    assert [entry.number for entry in state.logged] == [1, 2, 3]
    assert (state.next_number, state.next_key) == (4, 3)
    assert len(step(state, skated(3)).logged) == 4
    assert step(state, Undone(2, ("i",))) == fold(plan(), events[:2])


def test_a_pass_the_plan_has_no_place_for_is_kept_and_named() -> None:
    full = [skated(number) for number in range(1, 7)]
    state = fold(plan(), [*full, Inserted(1, skated(1, "3F"))])
    assert (len(state.logged), whys(state)) == (6, [Why.NO_PLACE])
    for number in (0, -3, 7, 99):
        odd = fold(plan(), [skated(1), PassLeftOut(number)])
        assert (len(odd.logged), whys(odd)) == (1, [Why.NO_PLACE])


def test_a_pass_logged_while_stopped_is_kept_for_afterwards() -> None:
    stopped = fold(plan(), [Stopped(), skated(1)])
    assert (stopped.stopped, len(stopped.logged)) == (True, 1)


def test_a_clearance_lifts_only_the_stops_it_names() -> None:
    """A second knock reported from a phone without a connection must not be lifted by an earlier clearance."""
    first, second = stamped("s1", 1, Stopped()), stamped("s2", 2, Stopped())
    cleared = stamped("c", 3, Cleared("coach", "tapped by mistake", ("s1",)))
    assert not fold(plan(), [first, cleared]).stopped
    assert fold(plan(), [first, cleared, second]).stopped


def test_a_stop_cannot_be_undone() -> None:
    state = fold(plan(), [stamped("s", 1, Stopped()), Undone(1, ("s",))])
    assert state.stopped


def test_the_clock_decides_the_half_unless_it_is_overruled() -> None:
    """Required time 4:00, second half from 2:00 (ISU Communication 2176, the middle of the required time)."""
    timed = replace(plan(), seconds=240)
    early = [
        stamped("m", 1000, MusicStarted()),
        *(stamped(str(n), 1000 + 20 * n, skated(n)) for n in (1, 2, 3)),
    ]
    late = stamped("4", 1140, skated(4))
    before_half = stamped("4", 1121, skated(4))
    assert fold(timed, [*early, late]).late == (False, False, False, True)
    assert fold(timed, [*early, before_half]).late == (False, False, False, False)
    assert fold(timed, [*early[1:], before_half]).late == (False, False, False, True), (
        "without a clock: the plan"
    )
    overruled = stamped("o", 1200, LatenessSet(4, ("4",), late=True))
    assert fold(timed, [*early, before_half, overruled]).late[3]


def halves(state: LiveState, now: float = 0.0) -> list[bool]:
    """The half of every pass at that moment, the logged ones and those to come."""
    return [row.late for row in in_sure_halves(state, now).plan.passes]


def test_what_comes_after_a_late_pass_is_late_and_after_a_stop_of_the_music_nothing_is() -> None:
    """Second half from 2:00 of 4:00, and nothing late after a stop of the music: ISU Communication 2176."""
    timed = replace(plan(), seconds=240)
    planned = [row.late for row in timed.passes]
    assert planned.index(True) > 2, "or the cases below show nothing"
    music = stamped("m", 1000, MusicStarted())
    assert halves(fold(timed, [music])) == planned
    assert halves(fold(timed, [music, stamped("1", 1030, skated(1))])) == planned
    slow = fold(timed, [music, stamped("1", 1030, skated(1)), stamped("2", 1140, skated(2))])
    assert halves(slow) == [False] + [True] * (len(planned) - 1)
    assert [row.late for row in slow.plan.passes] == planned, "the plan itself stays"
    stop = stamped("i", 1060, Interrupted(music_stopped=True))
    assert halves(fold(timed, [music, stamped("1", 1030, skated(1)), stop])) == [False] * len(planned)
    late_before = [stamped("1", 1140, skated(1)), stamped("i", 1150, Interrupted(music_stopped=True))]
    assert halves(fold(timed, [music, *late_before])) == [True] + [False] * (len(planned) - 1)


def test_once_the_music_has_run_for_half_the_time_all_that_comes_is_late() -> None:
    """The same rule: what starts at 2:00 of 4:00 or after it is in the second half, though it was planned before."""
    timed = replace(plan(), seconds=240)
    planned = [row.late for row in timed.passes]
    assert planned[1] is False, "or the cases below show nothing"
    music, first = stamped("m", 1000, MusicStarted()), stamped("1", 1030, skated(1))
    assert halves(fold(timed, [music, first]), now=1119) == planned
    assert halves(fold(timed, [music, first]), now=1120) == [False] + [True] * (len(planned) - 1)
    assert halves(fold(timed, [first]), now=1120) == planned, "without a clock: the plan"
    still = [stamped("i", 1060, Interrupted(music_stopped=False)), stamped("r", 1070, Resumed(("i",)))]
    assert halves(fold(timed, [music, first, *still]), now=1120)[1], "the music runs while the skater stands"
    stopped = [stamped("i", 1060, Interrupted(music_stopped=True)), stamped("r", 1070, Resumed(("i",)))]
    assert halves(fold(timed, [music, first, *stopped]), now=1300) == [False] * len(planned)


def test_music_from_the_beginning_ends_the_interruption_before_it() -> None:
    """Used to be: the clock stood at 0:00 for the rest of the program.

    A program that starts anew has its second half (ISU rules on a restart, from memory).
    """
    timed = replace(plan(), seconds=240)
    stopped = [stamped("m", 1000, MusicStarted()), stamped("i", 1020, Interrupted(music_stopped=True))]
    clock = fold(timed, [*stopped, stamped("n", 1100, MusicStarted(("m",)))]).clock
    assert clock.open_interruption is None
    assert clock.running(1130) == 30
    assert clock.started_late(1230, half=120) is True


def test_the_clock_stands_still_with_the_music() -> None:
    events = [
        stamped("m", 1000, MusicStarted()),
        stamped("i", 1050, Interrupted(music_stopped=True)),
        stamped("r", 1110, Resumed(("i",))),
        stamped("j", 1130, Interrupted(music_stopped=False)),
    ]
    clock = fold(plan(), events).clock
    assert clock.running(1040) == 40
    assert clock.running(1100) == 50
    assert clock.running(1120) == 60
    assert clock.running(1140) == 80
    assert clock.running(999) is None
    assert clock.open_interruption is not None
    assert clock.stood is None
    assert clock.started_late(1250, 120) is False, "nothing is late after the music stopped (C2176)"


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
