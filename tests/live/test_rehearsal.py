"""When a failure is called in a rehearsal, and what counts as called. The layout and its weights are invented."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from app.errors import RecoupError
from app.live.events import (
    Author,
    Cleared,
    Corrected,
    Event,
    FailureCalled,
    PassLeftOut,
    PassSkated,
    Reading,
    Stamped,
    Stopped,
    Undone,
    from_record,
    to_record,
)
from app.live.fold import LiveState, fold
from app.live.pad import taps
from app.live.program import Plan, PlannedPass, Setting
from app.live.rehearsal import (
    MOST,
    Callable,
    Rehearsal,
    as_called,
    call_now,
    called_passes,
    draw,
    lot,
)

CODES = ("3Lz+3T", "3F", "2A", "3Lo+2T", "3S")
PLAN = Plan(
    "isu/2026-27/senior/women/free",
    Setting.RUN_THROUGH,
    "",
    tuple(PlannedPass(code, 20 + 40 * n, n > 2) for n, code in enumerate(CODES)),
)
LOST = Callable(1, "tail lost", "3T", "3Lz", 3.0)
POPPED = Callable(2, "popped by one", "3F", "2F", 1.0)
SHORT = Callable(4, "tail lost", "2T", "3Lo", 4.0)
REHEARSAL = Rehearsal(7, 2, (LOST, POPPED, SHORT))
SEEDS = 4000


def stamped(*events: tuple[str, Event]) -> list[Stamped]:
    """Events with ids of their own, a second apart."""
    return [Stamped(name, float(at), Author(), event) for at, (name, event) in enumerate(events)]


def planned(number: int, called: str = "") -> PassSkated:
    code = CODES[number - 1]
    return PassSkated(number, code, "as planned", (Reading(code),), called)


def done(one: Callable, called: str) -> PassSkated:
    """A pass done as it was called."""
    code = CODES[one.number - 1]
    return PassSkated(one.number, code, one.failure, (Reading(one.becomes or "", error=True),), called)


def failure(one: Callable) -> FailureCalled:
    return FailureCalled(one.number, one.failure, one.jump, one.becomes)


def state_of(*events: tuple[str, Event]) -> LiveState:
    return fold(PLAN, stamped(*events))


def drawn_at(seed: int) -> FailureCalled | None:
    """The first failure called when every pass comes as planned."""
    for number in range(1, len(CODES) + 1):
        state = state_of(*((f"p{n}", planned(n)) for n in range(1, number)))
        one = draw(replace(REHEARSAL, seed=seed), state, answer_to_come=False)
        if one is not None:
            return one
    return None


def test_each_failure_is_called_as_often_as_its_weight_says() -> None:
    """3 : 1 : 4 of 8. Four standard deviations of a binomial count are allowed."""
    found = Counter(drawn_at(seed) for seed in range(SEEDS))
    assert found[None] == 0
    for one, share in ((LOST, 3 / 8), (POPPED, 1 / 8), (SHORT, 4 / 8)):
        spread = 4 * (SEEDS * share * (1 - share)) ** 0.5
        assert abs(found[failure(one)] - SEEDS * share) < spread


def test_the_same_seed_calls_the_same_and_a_lot_lies_between_0_and_1() -> None:
    assert [drawn_at(seed) for seed in range(50)] == [drawn_at(seed) for seed in range(50)]
    lots = [lot(seed, number) for seed in range(300) for number in range(1, 8)]
    assert all(0 <= one < 1 for one in lots)
    assert len(set(lots)) == len(lots)


def test_one_failure_is_called_when_one_was_asked_for() -> None:
    state = state_of(("c", failure(LOST)), ("p1", done(LOST, "c")))
    for seed in range(200):
        assert draw(Rehearsal(seed, 1, (POPPED,)), state, answer_to_come=False) is None


def test_never_more_than_two_whatever_is_asked_for() -> None:
    many = Rehearsal(1, 9, tuple(replace(POPPED, number=number) for number in (2, 3, 4)))
    state = state_of(
        ("c1", failure(LOST)), ("p1", done(LOST, "c1")), ("c2", failure(POPPED)), ("p2", done(POPPED, "c2"))
    )
    assert MOST == len(called_passes(state)) == 2
    assert all(draw(replace(many, seed=seed), state, answer_to_come=False) is None for seed in range(200))


def test_a_second_one_waits_until_the_first_is_answered() -> None:
    state = state_of(("c", failure(LOST)), ("p1", done(LOST, "c")))
    sure = Rehearsal(3, 2, (POPPED,))
    assert draw(sure, state, answer_to_come=True) is None
    assert draw(sure, state, answer_to_come=False) == failure(POPPED)


@pytest.mark.parametrize(
    "own",
    [
        PassSkated(1, "3Lz+3T", "tail lost", (Reading("3Lz", error=True),)),
        PassSkated(1, "3Lz+3T", "fell on the 3T", (Reading("3Lz+3T", fall=True, error=True),)),
        PassLeftOut(1),
    ],
    ids=["tail lost", "fell", "left out"],
)
def test_nothing_is_called_on_top_of_a_miss_of_the_skaters_own(own: Event) -> None:
    state = state_of(("p1", own), ("c", failure(POPPED)))
    assert draw(Rehearsal(3, 2, (POPPED,)), state, answer_to_come=False) is None
    assert call_now(state) is None


def test_an_error_or_a_doubtful_call_is_no_miss() -> None:
    doubt = (Reading("3Lz+3T", chance=0.5), Reading("3Lz<+3T", chance=0.5))
    for readings in (doubt, (Reading("3Lz+3T", error=True),)):
        state = state_of(("p1", PassSkated(1, "3Lz+3T", "?", readings)))
        assert draw(Rehearsal(3, 1, (POPPED,)), state, answer_to_come=False) == failure(POPPED)


def test_hurt_ends_the_calling_also_when_the_stop_is_lifted() -> None:
    stop = ("s", Stopped())
    assert call_now(state_of(("c", failure(LOST)))) is not None
    assert call_now(state_of(("c", failure(LOST)), stop)) is None
    lifted = state_of(("c", failure(LOST)), stop, ("l", Cleared("A coach", "tapped by mistake", ("s",))))
    assert not lifted.stopped
    assert call_now(lifted) is None
    assert draw(Rehearsal(3, 1, (LOST,)), lifted, answer_to_come=False) is None


def test_a_call_stands_before_its_pass_alone_and_can_be_taken_back() -> None:
    call = ("c", failure(POPPED))
    assert call_now(state_of(call)) is None  # pass 1 comes first
    before = state_of(call, ("p1", planned(1)))
    now = call_now(before)
    assert now is not None
    assert (now.id, now.failure) == ("c", failure(POPPED))
    assert call_now(state_of(call, ("p1", planned(1)), ("o", Undone(2, ("c",))))) is None
    assert call_now(state_of(call, ("p1", planned(1)), ("p2", done(POPPED, "c")))) is None


def test_a_pass_counts_as_called_only_when_its_screen_showed_the_call() -> None:
    call, first = ("c", failure(POPPED)), ("p1", planned(1))
    heard = state_of(call, first, ("p2", done(POPPED, "c")))
    (one,) = called_passes(heard)
    assert (one.number, one.failure, one.as_called) == (2, failure(POPPED), True)
    # A phone without its connection logs the same pass and knows of no call: it is the skater's own.
    assert called_passes(state_of(call, first, ("p2", done(POPPED, "")))) == ()
    # What was called off, or named wrongly, is none either.
    assert called_passes(state_of(call, first, ("p2", done(POPPED, "c")), ("o", Undone(2, ("c",))))) == ()
    assert called_passes(state_of(call, first, ("p2", done(POPPED, "p1")))) == ()


def test_a_corrected_pass_stays_called_and_one_done_otherwise_says_so() -> None:
    call, first = ("c", failure(POPPED)), ("p1", planned(1))
    events = (call, first, ("p2", done(POPPED, "c")), ("k", Corrected(planned(2), ("p2",))))
    (one,) = called_passes(state_of(*events))
    assert not one.as_called
    fell = PassSkated(2, "3F", "popped and fell", (Reading("2F", fall=True, error=True),), "c")
    state = state_of(call, first, ("p2", fell), ("c4", failure(SHORT)), ("p3", planned(3)))
    assert [one.as_called for one in called_passes(state)] == [False]
    assert call_now(state) is None  # the fall was the skater's own


def test_the_button_done_as_called_leaves_what_was_called() -> None:
    for one, key in ((LOST, "lost-2"), (POPPED, "popped-1"), (SHORT, "lost-2")):
        tap = as_called(CODES[one.number - 1], failure(one))
        assert tap is not None
        assert tap.key == key
        assert tap in taps(CODES[one.number - 1])
    assert as_called("3F", FailureCalled(2, "not attempted", "3F", None)) is None


def test_the_order_of_arrival_makes_no_difference() -> None:
    events = stamped(("c", failure(LOST)), ("p1", done(LOST, "c")), ("p2", planned(2)))
    assert called_passes(fold(PLAN, events)) == called_passes(fold(PLAN, events[::-1]))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"failure": "fell"}, "may be called"),
        ({"becomes": "3Q"}, "3Q"),
        ({"becomes": 3}, "expected the code"),
    ],
)
def test_a_call_that_nobody_could_make_is_refused(changed: dict[str, object], said: str) -> None:
    name, payload = to_record(failure(LOST))
    with pytest.raises(RecoupError, match=said):
        from_record(name, payload | changed)


def test_old_logs_without_a_called_failure_are_read() -> None:
    name, payload = to_record(planned(1))
    del payload["called"]
    assert from_record(name, payload) == planned(1)
    assert from_record("pass left out", {"number": 2}) == PassLeftOut(2)
    name, payload = to_record(failure(LOST))
    assert from_record(name, payload) == failure(LOST)
