"""The call-out trainer against the planner and the live screen's choice, called independently. Layouts are invented."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date
from functools import cache
from random import Random
from typing import Any

import pytest

from app import engine
from app.live.advice import Choice, Swap, choose, is_harder, question
from app.live.events import PassLeftOut, PassSkated
from app.live.fold import LiveState, fold
from app.live.pad import taps
from app.live.program import KnownElement, Limits, Outcome, Plan, PlannedPass, Setting
from app.planner.slips import Kind
from app.practice.trainer import Answer, Call, calls, is_trap, program_key
from app.practice.verdicts import Weight, in_words, right_line, verdict
from tests.practice.trainer_layouts import InventedLayout, invented_layout

LAYOUTS = 15
QUESTIONS = 1000
PRINTED = 0.005
"""Points too few to print."""


@cache
def layout(seed: int) -> tuple[InventedLayout, tuple[Call, ...], engine.Planner]:
    """A layout, the trainer's calls, and a planner of the test's own."""
    found = invented_layout(seed)
    asked = question(found.plan, found.offered, found.known, found.limits)
    return found, calls(found.plan, found.offered, found.known, found.limits), engine.Planner(asked)


@cache
def drawn() -> tuple[tuple[int, Call, Answer], ...]:
    """Layout, call and answer of each random question."""
    random = Random("a thousand questions")
    found = []
    with_calls = [seed for seed in range(LAYOUTS) if layout(seed)[1]]
    for _ in range(QUESTIONS):
        seed = random.choice(with_calls)
        call = random.choice(layout(seed)[1])
        found.append((seed, call, random.choice(call.answers)))
    return tuple(found)


def done_of(plan: Plan, call: Call) -> list[dict[str, Any]]:
    """The program so far in the words of the contract, written by hand."""
    rows = plan.passes[: call.key.number]
    said = [{"code": r.code, "late": r.late, "planned": r.code, "tried": r.code} for r in rows]
    failed = said[-1]
    if call.becomes is None:
        return [*said[:-1], {"code": None, "late": failed["late"], "planned": failed["planned"]}]
    fell = call.key.kind is Kind.FELL
    error = call.key.kind is not Kind.TAIL_SHORT
    return [*said[:-1], failed | {"code": call.becomes, "fall": fell, "error": error}]


def state_of(plan: Plan, call: Call) -> LiveState:
    """The state of the live screen after somebody tapped exactly this on its pad."""
    events: list[Any] = []
    for number, row in enumerate(plan.passes[: call.key.number], start=1):
        tap = next(one for one in taps(row.code) if one.key == "planned")
        if number == call.key.number:
            if call.becomes is None:
                events.append(PassLeftOut(number))
                break
            wanted = (call.becomes, call.key.kind is Kind.FELL, call.key.kind is not Kind.TAIL_SHORT)
            tap = next(
                one for one in taps(row.code) if [(r.code, r.fall, r.error) for r in one.readings] == [wanted]
            )
        events.append(PassSkated(number, row.code, tap.how, tap.readings))
    return fold(plan, events)


def choice_of(seed: int, call: Call) -> tuple[Choice, list[Swap]]:
    """What the live screen would say, and every single change with its gain, from the test's own planner."""
    made, _, planner = layout(seed)
    said = planner.advise(done_of(made.plan, call), call.key.number)
    codes = [row.code for row in made.plan.passes]
    swaps = [Swap(one.number, codes[one.number - 1], one.element, one.gain) for one in said.swaps]
    return choose(swaps, state_of(made.plan, call), made.offered, made.limits), swaps


def starred(plan: Plan, call: Call, swap: Swap | None) -> set[tuple[int, int]]:
    """Pass and place of every jump with a star among the passes to come, read from the codes of the finished sheet."""
    rows = []
    for number, row in enumerate(plan.passes, start=1):
        code: str | None = row.code
        if number == call.key.number:
            code = call.becomes
        elif swap is not None and number == swap.number:
            code = swap.element
        if code is not None:
            fell = number == call.key.number and call.key.kind is Kind.FELL
            error = number == call.key.number and call.key.kind is not Kind.TAIL_SHORT
            rows.append((number, engine.Performed(code, row.late, fell, error)))
    lines = engine.review(engine.edition(plan.edition), [one for _, one in rows]).lines
    return {
        (number, one.jump)
        for (number, _), line in zip(rows, lines, strict=True)
        if number > call.key.number
        for one in line.rulings
        if "*" in line.code and one.ruling == "nothing"
    }


def test_the_verdicts_equal_the_planners_on_a_thousand_random_questions() -> None:
    weights: Counter[Weight] = Counter()
    for seed, call, answer in drawn():
        made, _, _ = layout(seed)
        choice, swaps = choice_of(seed, call)
        found = verdict(call, answer, made.limits)
        weights[found.weight] += 1
        where = f"layout {seed}, {call.key}, {answer.name}"
        best = choice.swap.gain if choice.swap else 0.0
        won = next(one.gain for one in swaps if one == answer.swap) if answer.swap else 0.0
        assert found.won == pytest.approx(won, abs=1e-9), where
        assert found.away == pytest.approx(max(best - won, 0.0), abs=1e-9), where
        same = answer.swap == choice.swap
        as_good = (
            answer.swap is not None
            and choice.swap is not None
            and abs(best - won) <= PRINTED
            and won >= made.limits.threshold
        )
        assert (found.weight is Weight.RIGHT) == (same or as_good), where
        spoilt = starred(made.plan, call, answer.swap) - starred(made.plan, call, None)
        void = bool(spoilt) and won <= 0 and found.weight is not Weight.RIGHT
        assert (found.weight is Weight.WORTHLESS) == void, where
        if found.weight is Weight.CLOSE:
            assert best - won < max(made.limits.threshold, PRINTED), where
        if found.weight is Weight.AWAY:
            assert best - won >= max(made.limits.threshold, PRINTED), where
    assert all(weights[weight] >= 20 for weight in Weight), weights
    assert sum(weights.values()) == QUESTIONS


def test_points_won_are_the_difference_of_two_whole_programs() -> None:
    """The slow way: a planner that can only keep the plan against one that can only make the swap."""
    looked = 0
    for seed, call, answer in drawn()[::20]:
        if answer.swap is None:
            continue
        made, _, _ = layout(seed)
        asked = question(made.plan, made.offered, made.known, made.limits)
        values = []
        for swap in (None, answer.swap):
            rows = []
            for number, row in enumerate(asked["passes"], start=1):
                only = swap.element if swap is not None and swap.number == number else row["planned"]
                rows.append(row | {"options": [only]})
            planner = engine.Planner(asked | {"passes": rows, "max_changes": None})
            values.append(planner.advise(done_of(made.plan, call), call.key.number).value)
        assert verdict(call, answer, made.limits).won == pytest.approx(values[1] - values[0], abs=1e-6)
        looked += 1
    assert looked >= 20


def test_only_trained_elements_and_nothing_harder_after_a_fall_stand_on_the_buttons() -> None:
    fell = 0
    for seed in range(LAYOUTS):
        made, found, _ = layout(seed)
        for call in found:
            plain, *others = call.answers
            assert plain.swap is None
            assert 1 <= len(others) <= 4
            assert len({one.name for one in call.answers}) == len(call.answers)
            assert call.choice.swap is None or call.choice.swap in [one.swap for one in others]
            for one in others:
                assert one.swap is not None
                assert one.swap.element is None or one.swap.element in made.offered
                right_after = one.swap.number == call.key.number + 1
                if call.key.kind is Kind.FELL and right_after and not made.limits.harder_after_fall:
                    fell += 1
                    assert one.swap.element is None or not is_harder(one.swap.element, one.swap.planned)
    assert fell


def may_be_offered(swap: Swap, call: Call, made: InventedLayout) -> bool:
    """Trained, and nothing harder right after a fall."""
    if swap.element is None:
        return True
    held = call.key.kind is Kind.FELL and not made.limits.harder_after_fall
    harder = swap.number == call.key.number + 1 and is_harder(swap.element, swap.planned)
    return swap.element in made.offered and not (held and harder)


def test_a_trap_stands_on_the_buttons_where_there_is_one() -> None:
    with_trap = 0
    for seed in range(LAYOUTS):
        made, found, _ = layout(seed)
        for call in found:
            plain = call.answers[0]
            _, swaps = choice_of(seed, call)
            allowed = [one for one in swaps if may_be_offered(one, call, made)]
            kept = starred(made.plan, call, None)
            traps = [one for one in allowed if one.gain <= 0 and starred(made.plan, call, one) - kept]
            shown = [one for one in call.answers[1:] if is_trap(one, plain)]
            assert bool(traps) == bool(shown)
            with_trap += bool(shown)
    assert with_trap


WOMEN = "isu/2025-26/senior/women/free"
DAY = date(2026, 11, 2)
USUAL = Limits()
ROWS = (("3Lz+3T",), ("3F+2T",), ("2A+2T",), ("3Lo", "3Lo+2T", "3Lo+2Lo"))


def lost_tail(limits: Limits = USUAL, trained: tuple[str, ...] = ("3Lo+2T", "3Lo+2Lo")) -> Call:
    """Invented: everything lands but the 3T of pass 1, lost one time in ten."""
    codes = [code for row in ROWS for code in row]
    known = {code: KnownElement(code, True, 20, 20, DAY, (Outcome(code, 1.0),)) for code in codes}
    fates = (Outcome("3Lz+3T", 0.9), Outcome("3Lz", 0.1, error=True))
    known["3Lz+3T"] = replace(known["3Lz+3T"], outcomes=fates, cue="up and quick")
    passes = tuple(PlannedPass(row[0], 20 * n, False, row) for n, row in enumerate(ROWS, start=1))
    plan = Plan(WOMEN, Setting.RUN_THROUGH, "", passes)
    offered = {code: known[code] for code in trained}
    (found,) = calls(plan, offered, known, limits)
    return found


def test_a_lost_tail_by_hand() -> None:
    """2Lo 1.70 (value table); a third 2T is worth nothing (Handbook 2025/26: doubles twice at most)."""
    call = lost_tail()
    assert (call.key.number, call.key.kind, call.key.jump, call.becomes) == (1, Kind.TAIL_LOST, "3T", "3Lz")
    assert [one.name for one in call.answers] == ["plan", "4 3Lo+2Lo", "4 3Lo+2T"]
    plan, loop, toe = (verdict(call, one, Limits()) for one in call.answers)
    assert (loop.weight, loop.won, loop.away) == (Weight.RIGHT, pytest.approx(1.70), 0.0)
    assert (plan.weight, plan.won, plan.away) == (Weight.AWAY, 0.0, pytest.approx(1.70))
    assert (toe.weight, toe.won, toe.away) == (Weight.WORTHLESS, pytest.approx(0.0), pytest.approx(1.70))
    assert plan.why == "Keeping the plan leaves 1.7 points that a trained swap would win back."
    assert toe.why == "Then the 2T of pass 4 counts for nothing: no more 2T: executed twice."
    assert toe.rule is not None
    assert toe.rule.how_sure.startswith("read")
    # A blind pick of three wins 1.70 one time in three.
    assert call.stake == pytest.approx(1.70 * 2 / 3)
    assert call.weight == pytest.approx(0.1 * 1.70 * 2 / 3)


def test_under_the_threshold_the_plan_is_the_answer_and_the_swap_is_close() -> None:
    limits = Limits(threshold=2.0)
    call = lost_tail(limits)
    plan, loop, toe = (verdict(call, one, limits).weight for one in call.answers)
    assert (plan, loop, toe) == (Weight.RIGHT, Weight.CLOSE, Weight.WORTHLESS)


def test_what_is_not_trained_is_on_no_button() -> None:
    call = lost_tail(trained=("3Lo+2T",))
    assert [one.name for one in call.answers] == ["plan", "4 3Lo+2T"]
    assert call.choice.swap is None


def test_where_no_change_is_allowed_nothing_is_called() -> None:
    made, _, _ = layout(0)
    assert calls(made.plan, made.offered, made.known, replace(made.limits, most_changes=0)) == ()


def test_the_right_answer_is_told_as_the_live_screen_tells_it() -> None:
    call = lost_tail()
    known = {"3Lo+2Lo": KnownElement("3Lo+2Lo", True, 20, 18, DAY, (), cue="wait, then knee")}
    line = right_line(call, engine.edition(WOMEN), known, Limits())
    assert (line.headline, line.gain, line.needs) == ("Pass 4: 3Lo+2Lo", "+1.7 points", "trained 18 of 20")
    assert line.cue == "wait, then knee"
    assert line.why.startswith("The combination lost on pass 1 left a place free")


def test_a_slow_right_answer_gets_a_kind_word_and_nothing_else_does() -> None:
    assert in_words(2.9, Weight.RIGHT) == ""
    assert in_words(7.2, Weight.AWAY) == ""
    assert in_words(7.2, Weight.RIGHT).startswith("It took 7 seconds. The thought is right")


def test_a_layout_is_remembered_by_what_is_skated() -> None:
    plan = invented_layout(0).plan
    renamed = replace(plan, occasion="another day")
    moved = replace(plan, passes=plan.passes[::-1])
    assert program_key(plan) == program_key(renamed)
    assert len({program_key(plan), program_key(moved), program_key(replace(plan, edition=WOMEN + "x"))}) == 3
