"""Three columns and the price: alignment against every alignment there is, the price against whole programs.

Programs are invented; base values and rules are those of the rulebook (3Lz 5.90, 3F 5.30, 3T 4.20, 2T 1.30; a repeated
solo triple keeps 70 %: ISU rules, season 2025/26).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from random import Random

import pytest

from app import engine
from app.review.compare import (
    ALONE,
    PLACES,
    Beside,
    Called,
    Cause,
    Tried,
    causes,
    credit_apart,
    side_by_side,
    three_columns,
    unlike,
)
from app.review.price import Skate, price
from tests.review.skates import FREE, POOL, bonus_skate_of, skate_of

SKATES = 1000


def test_the_price_adds_up_to_the_cent_on_a_thousand_programs() -> None:
    """Planned total less every step is the called total; both totals are summed here anew from whole programs."""
    shorts = moved = slips = 0
    for seed in range(SKATES):
        name, lines, skate = skate_of(seed)
        book = engine.edition(name)
        found = price(book, lines, skate)
        planned = engine.review(book, skate.planned).base_total + skate.others[0]
        called = sum(skate.scores) + skate.others[1] + skate.deductions
        steps = [c.itself + c.call + c.grade + c.fall + sum(d.points for d in c.dragged) for c in found.costs]
        rest = found.order + found.others + found.deductions + found.sheet
        assert (found.planned, found.called) == (planned, called), seed
        assert planned + sum(steps) + rest == called, seed
        shorts += book.is_short
        moved += any(one.moved for one in lines)
        slips += bool(found.sheet)
    assert min(shorts, moved, slips) > 30  # every kind was among them


def test_the_price_adds_up_on_a_thousand_programs_with_a_bonus() -> None:
    """The same at six levels with a bonus, the bonus of both ends among the totals."""
    earned = own = moved = 0
    for seed in range(SKATES):
        book, lines, skate = bonus_skate_of(seed)
        found = price(book, lines, skate)
        plan, came = engine.review(book, skate.planned), engine.review(book, skate.called)
        planned = plan.base_total + plan.bonus_total + skate.others[0]
        called = sum(skate.scores) + came.bonus_total + skate.others[1] + skate.deductions
        steps = sum(c.itself + c.call + c.grade + c.fall + c.bonus + c.consequence for c in found.costs)
        rest = found.order + found.others + found.deductions + found.sheet
        assert (found.planned, found.called) == (planned, called), seed
        assert planned + steps + rest == called, seed
        assert found.adds_up
        assert found.bonus == (plan.bonus_total, came.bonus_total), seed
        earned += bool(plan.bonus_total)
        own += any(c.bonus for c in found.costs)
        moved += any(d.why == "the bonus moves" for c in found.costs for d in c.dragged)
    assert min(earned, own, moved) > 30  # every kind was among them


def test_a_popped_double_axel_loses_its_bonus_and_the_next_one_wins_it() -> None:
    """Canada, pre-novice 2022/23: one bonus point for one double Axel a program. 3.30 to 1.10 is 2.20 of value."""
    book = engine.edition("canada/2022-23/pre-novice/all/free")
    plan = tuple(engine.Performed(code) for code in ("2A", "2Lz", "2A+2T"))
    came = (engine.Performed("1A"), *plan[1:])
    rows = [
        Called(one.code, line.code) for one, line in zip(came, engine.review(book, came).lines, strict=True)
    ]
    log = [Tried(p.code, c.code) for p, c in zip(plan, came, strict=True)]
    scores = tuple(line.base_value for line in engine.review(book, came).lines)
    lines = three_columns([one.code for one in plan], log, rows)
    first = price(book, lines, Skate(plan, came, came, (0, 0, 0), scores)).costs[0]
    assert (first.itself, first.bonus) == (-220, -100)
    assert [(one.line, one.points, one.why) for one in first.dragged] == [(2, 100, "the bonus moves")]


LATE_PLAN = ("3Lz", "3F", "2A", "3Lo", "3S", "2A+2T", "3T")
"""Seven passes, the last four late: the last three of them get the factor (ISU, season 2025/26)."""


def late_skate(*without_x: int) -> tuple[frozenset[int], list[Tried], list[Called]]:
    """Lines on which log and sheet differ about credit, when the sheet lacks the x on these passes (from 1)."""
    book = engine.edition(FREE)
    log = [Tried(code, code, late=n > 3) for n, code in enumerate(LATE_PLAN, start=1)]
    rows = [Called(code, code, n > 4 and n not in without_x) for n, code in enumerate(LATE_PLAN, start=1)]
    return credit_apart(book, three_columns(LATE_PLAN, log, rows), log, rows), log, rows


def test_an_x_lost_from_the_first_credited_jump_is_seen_by_the_log() -> None:
    """A sheet alone cannot show it; the log knows that the jump before started late as well."""
    assert late_skate()[0] == frozenset()
    found, log, rows = late_skate(5)
    assert found == {4}
    lines = three_columns(LATE_PLAN, log, rows)
    said = [causes(one, LATE_PLAN, log, rows, credit=n in found) for n, one in enumerate(lines)]
    assert said == [(), (), (), (), (Cause.CREDIT,), (), ()]
    assert late_skate(6)[0] == {5}


def test_the_lost_x_has_its_price() -> None:
    """3S late is 4.30 x 1.1 = 4.73: the sheet without the x takes 0.43, which stands at that pass."""
    book = engine.edition(FREE)
    plan = tuple(engine.Performed(code, late=n > 3) for n, code in enumerate(LATE_PLAN, start=1))
    called = tuple(engine.Performed(code, late=n > 5) for n, code in enumerate(LATE_PLAN, start=1))
    scores = tuple(line.base_value for line in engine.review(book, called).lines)
    _, log, rows = late_skate(5)
    found = price(book, three_columns(LATE_PLAN, log, rows), Skate(plan, plan, called, (0,) * 7, scores))
    assert [(n, c.call) for n, c in enumerate(found.costs, start=1) if c.call] == [(5, -43)]
    assert found.planned - found.called == 43


def test_every_pass_of_every_column_stands_on_one_line() -> None:
    for seed in range(300):
        _, lines, skate = skate_of(seed)
        assert sorted(one.planned for one in lines if one.planned is not None) == list(
            range(len(skate.planned))
        )
        assert sorted(one.tried for one in lines if one.tried is not None) == list(range(len(skate.tried)))
        assert [one.called for one in lines if one.called is not None] == list(range(len(skate.called)))


@pytest.mark.parametrize("seed", range(60))
def test_the_alignment_costs_least_of_all(seed: int) -> None:
    """Against the cheapest of all alignments, found by plain recursion from the definition."""
    random = Random(seed)
    first = [random.choice(POOL) for _ in range(random.randint(0, 6))]
    second = [random.choice(POOL) for _ in range(random.randint(0, 6))]

    @cache
    def least(i: int, j: int) -> float:
        if not i or not j:
            return (i + j) * ALONE
        found = [
            least(i - 1, j) + ALONE,
            least(i, j - 1) + ALONE,
            least(i - 1, j - 1) + unlike(first[i - 1], second[j - 1]),
        ]
        if i > 1 and j > 1:
            crossed = unlike(first[i - 1], second[j - 2]) + unlike(first[i - 2], second[j - 1])
            found.append(least(i - 2, j - 2) + PLACES + crossed)
        return min(found)

    pairs = side_by_side(first, second)
    cost = (
        sum(ALONE if a is None or b is None else unlike(first[a], second[b]) for (a, b), _ in pairs)
        + PLACES * sum(moved for _, moved in pairs) / 2
    )
    assert cost == pytest.approx(least(len(first), len(second)))


PLAN = ("3Lz+3T", "3F", "3Lo", "3S+2T", "3Lz", "2A+2T", "2A")


def beside(*codes: str) -> list[tuple[int | None, int | None]]:
    """Plan and sheet side by side, without a log; numbers from 1."""
    rows = [Called(code, code) for code in codes]
    lines = three_columns(PLAN, [], rows)
    return [
        (None if one.planned is None else one.planned + 1, None if one.called is None else one.called + 1)
        for one in lines
    ]


def test_a_pass_dropped_put_in_or_swapped_shifts_nothing_else() -> None:
    straight = [(n, n) for n in range(1, 8)]
    assert beside(*PLAN) == straight
    assert beside("3Lz", "3F", "2Lo", "3S+2T", "3Lz<", "2A+2T", "2A") == straight
    without_loop = [c for c in PLAN if c != "3Lo"]
    assert beside(*without_loop) == [(1, 1), (2, 2), (3, None), (4, 3), (5, 4), (6, 5), (7, 6)]
    put_in = ["3Lz+3T", "3T", *PLAN[1:]]
    assert beside(*put_in) == [(1, 1), (None, 2), (2, 3), (3, 4), (4, 5), (5, 6), (6, 7), (7, 8)]
    swapped = ["3Lz+3T", "3Lo", "3F", *PLAN[3:]]
    assert beside(*swapped) == [(1, 1), (3, 2), (2, 3), (4, 4), (5, 5), (6, 6), (7, 7)]


def why(planned: str, tried: Tried, called: Called) -> tuple[Cause, ...]:
    """The causes of one line."""
    return causes(Beside(0, 0, 0), [planned], [tried], [called])


def test_each_difference_has_its_cause() -> None:
    same = Called("3Lz+3T", "3Lz+3T")
    assert why("3Lz+3T", Tried("3Lz+3T", "3Lz+3T"), same) == ()
    assert why("3Lz", Tried("3Lz+3T", "3Lz+3T"), same) == (Cause.DECISION,)
    assert why("3Lz+3T", Tried("3Lz+3T", "3Lz"), Called("3Lz", "3Lz")) == (Cause.CONSISTENCY,)
    assert why("3Lz+3T", Tried("3Lz+3T", "3Lz+3T", fall=True), same) == (Cause.CONSISTENCY,)
    assert why("3Lz+3T", Tried("3Lz+3T", "3Lz+3T"), Called("3Lz<+3T", "3Lz<+3T")) == (Cause.CALL,)
    assert why("3Lz", Tried("3Lz", "3Lz"), Called("3Lz", "3Lz+REP")) == (Cause.RULE,)
    both = why("3Lz", Tried("3F", "2F"), Called("2F<", "2F<*"))
    assert both == (Cause.DECISION, Cause.CONSISTENCY, Cause.CALL, Cause.RULE)


def one_error(
    planned: Sequence[str], came: Sequence[str]
) -> tuple[engine.Edition, Skate, tuple[Beside, ...]]:
    """A skate in which the sheet agrees with the log and every grade is 0."""
    book = engine.edition(FREE)
    plan, skated = (tuple(engine.Performed(code) for code in codes) for codes in (planned, came))
    lines = engine.review(book, skated).lines
    rows = [Called(one.code, line.code) for one, line in zip(skated, lines, strict=True)]
    log = [Tried(p, c) for p, c in zip(planned, came, strict=True)]
    skate = Skate(plan, skated, skated, (0,) * len(came), tuple(line.base_value for line in lines))
    return book, skate, three_columns(planned, log, rows)


def test_a_lost_tail_costs_itself_and_drags_the_repeat_along() -> None:
    """3Lz+3T came as 3Lz: 4.20 for the tail, and the solo 3Lz later is a repeat: 30 % of 5.90 = 1.77."""
    book, skate, lines = one_error(("3Lz+3T", "3F", "3Lz"), ("3Lz", "3F", "3Lz"))
    found = price(book, lines, skate)
    first = found.costs[0]
    assert (first.itself, first.call, first.consequence) == (-420, 0, -177)
    assert [(one.line, one.points) for one in first.dragged] == [(2, -177)]
    assert first.dragged[0].why
    assert [cost.itself for cost in found.costs[1:]] == [0, 0]


def test_a_tail_put_elsewhere_wins_back_both() -> None:
    """The tail on the second 3Lz: 4.20 come back, and the repeat is in a unit now: 1.77 as well."""
    book, skate, lines = one_error(("3Lz+3T", "3F", "3Lz"), ("3Lz", "3F", "3Lz+3T"))
    found = price(book, lines, skate)
    assert found.costs[0].error + found.costs[0].consequence == -597
    assert found.costs[2].itself + found.costs[2].consequence == 597
    assert found.planned == found.called
