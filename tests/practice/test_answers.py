"""What became of called failures: the answers are the planner's, the log is written by hand. All invented."""

from __future__ import annotations

from functools import cache

from app import engine
from app.live.advice import Swap, choose, question
from app.live.events import Author, Event, FailureCalled, PassLeftOut, PassSkated, Reading, Stamped
from app.live.fold import LiveState, fold
from app.practice.answers import Answered, Tried, answered
from app.practice.rehearsals import Rehearsable, rehearsable
from app.practice.trainer import swaps_of
from tests.practice.trainer_layouts import InventedLayout, invented_layout


@cache
def rehearsed() -> tuple[InventedLayout, Rehearsable]:
    """The first invented layout with a failure whose answer is two passes later or more."""
    for seed in range(40):
        made = invented_layout(seed)
        for one in rehearsable(made.plan, made.offered, made.known, made.limits):
            swap = one.call.choice.swap
            if (
                swap is not None
                and swap.element
                and swap.number >= one.call.key.number + 2
                and one.call.becomes
            ):
                return made, one
    raise AssertionError("no such layout among forty")


def swap() -> Swap:
    found = rehearsed()[1].call.choice.swap
    assert found is not None
    return found


def state_of(*later: Event) -> LiveState:
    """The program up to the called pass, done as called, and what came later."""
    made, one = rehearsed()
    key = one.call.key
    rows = made.plan.passes
    events: list[Event] = [
        PassSkated(n, row.code, "as planned", (Reading(row.code),))
        for n, row in enumerate(rows[: key.number - 1], start=1)
    ]
    events.append(FailureCalled(key.number, key.kind.value, key.jump, one.call.becomes))
    call = f"e{len(events) - 1}"
    error = key.kind.value != "tail shortened"
    done = (Reading(one.call.becomes or "", error=error),)
    events.append(PassSkated(key.number, rows[key.number - 1].code, key.kind.value, done, call))
    every = [*events, *later]
    return fold(made.plan, [Stamped(f"e{n}", float(n), Author(), event) for n, event in enumerate(every)])


def planned(number: int) -> PassSkated:
    code = rehearsed()[0].plan.passes[number - 1].code
    return PassSkated(number, code, "as planned", (Reading(code),))


def between() -> list[Event]:
    """The passes between the called one and its answer, as planned."""
    return [planned(n) for n in range(rehearsed()[1].call.key.number + 1, swap().number)]


def another_meanwhile() -> bool:
    """Whether the live screen comes to another answer on the way, asked state by state."""
    made, _ = rehearsed()
    planner = engine.Planner(question(made.plan, made.offered, made.known, made.limits))
    states = [state_of(*between()[: n + 1]) for n in range(len(between()))]
    said = [choose(swaps_of(planner, one), one, made.offered, made.limits).swap for one in states]
    return any(one is None or (one.number, one.element) != (swap().number, swap().element) for one in said)


def result(state: LiveState) -> Answered:
    made, _ = rehearsed()
    (found,) = answered(state, made.offered, made.known, made.limits)
    return found


def test_the_answer_is_the_one_of_the_live_screen_right_after_the_call() -> None:
    made, one = rehearsed()
    planner = engine.Planner(question(made.plan, made.offered, made.known, made.limits))
    state = state_of()
    said = choose(swaps_of(planner, state), state, made.offered, made.limits).swap
    found = result(state)
    assert found.swap == said == one.call.choice.swap
    assert found.tried is Tried.NOT_REACHED
    assert found.call.as_called


def test_an_answer_tried_and_landed_or_missed_is_tried() -> None:
    code = swap().element or ""
    for reading in (Reading(code), Reading(code.split("+")[0], fall=True, error=True)):
        entry = PassSkated(swap().number, code, "", (reading,))
        found = result(state_of(*between(), entry))
        assert (found.tried, found.entry) == (Tried.TRIED, entry)
        assert found.changed is another_meanwhile()


def test_another_element_or_none_there_is_not_the_answer() -> None:
    for entry in (planned(swap().number), PassLeftOut(swap().number)):
        found = result(state_of(*between(), entry))
        assert (found.tried, found.entry) == (Tried.NOT_TRIED, entry)


def test_a_program_without_calls_has_no_answers() -> None:
    made, _ = rehearsed()
    state = fold(made.plan, [planned(1)])
    assert answered(state, made.offered, made.known, made.limits) == ()
