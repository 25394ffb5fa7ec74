"""Which failures may be called on the ice, on invented layouts drawn from a fixed seed, and what their drills jump."""

from __future__ import annotations

from functools import cache

import pytest

from app import engine
from app.domain.notation import parse_jump_element
from app.live.advice import choose, question
from app.live.events import PassSkated, Reading
from app.live.fold import fold
from app.planner.slips import Kind
from app.practice.drills import StepKind, drill_of, jumps_of, singles
from app.practice.rehearsals import DRILLS, Rehearsable, callables, rehearsable, worth_a_drill
from app.practice.trainer import swaps_of
from tests.practice.trainer_layouts import InventedLayout, invented_layout

LAYOUTS = 15


@cache
def layout(seed: int) -> tuple[InventedLayout, tuple[Rehearsable, ...]]:
    """An invented layout and what may be called on it."""
    found = invented_layout(seed)
    return found, rehearsable(found.plan, found.offered, found.known, found.limits)


def every() -> list[tuple[InventedLayout, Rehearsable]]:
    return [(made, one) for seed in range(LAYOUTS) for made, found in [layout(seed)] for one in found]


def test_there_is_something_to_call_and_more_than_one_kind() -> None:
    kinds = {one.call.key.kind for _, one in every()}
    assert {Kind.TAIL_LOST, Kind.POPPED} <= kinds


def test_never_a_fall_never_an_untrained_pass() -> None:
    for made, one in every():
        assert one.call.key.kind is not Kind.FELL
        assert not one.call.state.just_fell
        assert one.call.planned in made.offered


def test_what_is_skated_is_a_part_of_the_trained_element_easier_or_trained_itself() -> None:
    """Read from the codes as text, without the app's own notion of a failure."""
    for made, one in every():
        becomes, planned = one.call.becomes, one.call.planned
        if becomes is None or becomes in made.offered:
            continue
        if planned.startswith(f"{becomes}+"):
            continue
        lead = planned.split("+")[0]
        assert "+" not in becomes, f"{planned} to {becomes}"
        assert becomes.lstrip("0123456789") == lead.lstrip("0123456789")
        assert int(becomes[0]) < int(lead[0])


def test_the_answer_is_the_live_screens_and_trained() -> None:
    """The planner is asked anew, after a log written by hand."""
    asked = 0
    for seed in range(LAYOUTS):
        made, found = layout(seed)
        planner = engine.Planner(question(made.plan, made.offered, made.known, made.limits))
        for one in found:
            rows = made.plan.passes[: one.call.key.number]
            if one.call.becomes is None:
                continue
            events = [
                PassSkated(n, row.code, "as planned", (Reading(row.code),)) for n, row in enumerate(rows, 1)
            ]
            error = one.call.key.kind is not Kind.TAIL_SHORT
            events[-1] = PassSkated(
                len(rows), rows[-1].code, "called", (Reading(one.call.becomes, error=error),)
            )
            state = fold(made.plan, events)
            choice = choose(swaps_of(planner, state), state, made.offered, made.limits)
            assert choice == one.call.choice
            asked += 1
            if choice.swap is not None and choice.swap.element is not None:
                assert choice.swap.element in made.offered
    assert asked > 30


def test_a_fall_makes_the_lost_tail_likelier_that_leaves_the_same() -> None:
    """The chances are added up from the invented outcomes themselves."""
    compared = 0
    for made, one in every():
        planned, becomes = one.call.planned, one.call.becomes
        if becomes is None or not planned.startswith(f"{becomes}+") or "+" in becomes:
            continue
        same = [end.chance for end in made.known[planned].outcomes if end.becomes == becomes]
        late = made.plan.passes[one.call.key.number - 1].late
        if late and made.limits.second_half_odds:
            continue  # the published odds of the second half move them
        assert one.call.chance == pytest.approx(sum(same))
        compared += any(end.fall and end.becomes == becomes for end in made.known[planned].outcomes)
    assert compared > 3


def test_what_the_answer_wins_is_counted_over_what_it_wins_anyway() -> None:
    for made, one in every():
        swap = one.call.choice.swap
        if swap is None:
            assert (one.anyway, one.wins) == (0.0, 0.0)
            continue
        planner = engine.Planner(question(made.plan, made.offered, made.known, made.limits))
        rows = made.plan.passes[: one.call.key.number]
        done = [{"code": r.code, "late": r.late, "planned": r.code, "tried": r.code} for r in rows]
        said = planner.advise(done, len(rows))
        anyway = [s.gain for s in said.swaps if (s.number, s.element) == (swap.number, swap.element)]
        assert one.wins == pytest.approx(max(swap.gain - max([*anyway, 0.0]), 0.0))


def test_two_drills_at_most_those_with_most_at_stake() -> None:
    for seed in range(LAYOUTS):
        made, found = layout(seed)
        drills = worth_a_drill(found, made.limits)
        assert len(drills) <= DRILLS == 2
        assert all(one.wins >= made.limits.threshold for drill in drills for one in drill.failures)
        stakes = [drill.at_stake for drill in drills]
        assert stakes == sorted(stakes, reverse=True)
        # Every failure with an answer worth a change that is in no drill has less at stake than each drill.
        drilled = {one.call.key for drill in drills for one in drill.failures}
        answers = {(d.first.key.number, d.swap.number, d.swap.element) for d in drills}
        for one in found:
            swap = one.call.choice.swap
            if swap is None or one.wins < made.limits.threshold or one.call.key in drilled:
                continue
            assert (one.call.key.number, swap.number, swap.element) not in answers
            assert all(one.at_stake <= stake for stake in stakes)


def test_a_rehearsal_keeps_every_failure_that_weighs_something() -> None:
    for seed in range(LAYOUTS):
        _, found = layout(seed)
        kept = callables(found)
        assert all(one.weight > 0 for one in kept)
        assert sum(one.weight for one in kept) == pytest.approx(
            sum(one.call.chance * one.call.stake for one in found)
        )


@pytest.mark.parametrize(
    ("code", "easy", "jumps"),
    [
        ("3S+3T", "1S+1T", 2),
        ("2A", "1A", 1),
        ("3F+Eu+3S", "1F+Eu+1S", 3),
        ("3Lz", "1Lz", 1),
        ("Lz", "1Lz", 0),
    ],
)
def test_singles_and_jumps_counted_by_hand(code: str, easy: str, jumps: int) -> None:
    assert singles(code) == easy
    assert jumps_of(code) == jumps


def test_a_drill_counts_what_its_steps_jump_and_repeats_nothing() -> None:
    seen = 0
    for seed in range(LAYOUTS):
        made, found = layout(seed)
        for drilled in worth_a_drill(found, made.limits):
            drill = drill_of(made.plan, drilled)
            seen += 1
            assert [step.kind for step in drill.steps[:3]] == [StepKind.SAY, StepKind.WALK, StepKind.MARK]
            assert all(step.jumps == 0 for step in drill.steps[:3])
            # By hand: the failed pass and the answer once in singles, the answer once whole.
            failed, answer = drilled.first.becomes, drilled.swap.element
            by_hand = sum(code.count("+") + 1 for code in (failed, answer, answer) if code)
            assert drill.jumps == by_hand <= 8
            whole = [step for step in drill.steps if step.kind is StepKind.WHOLE]
            assert [step.codes for step in whole] == ([(answer,)] if answer else [])
            assert answer is None or answer in made.offered
            easy = [code for step in drill.steps if step.kind is StepKind.SINGLES for code in step.codes]
            turns = {jump.revolutions for code in easy for jump in parse_jump_element(code).jumps}
            assert turns <= {1}
            assert drill.start == made.plan.passes[drilled.first.key.number - 1].seconds
            assert drill.end == made.plan.passes[drilled.swap.number - 1].seconds > drill.start
    assert seen > 10
