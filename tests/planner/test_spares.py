"""What a spare is worth, against a slow recursion over the judge, and worked by hand."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from app.legality.judge import judge, judge_all
from app.legality.tally import Executed, Tally
from app.planner.fragile import LONG_UNIT, REPEAT, UNIT, Spare
from app.planner.problem import Problem, read_problem
from app.planner.spares import changes, spares
from app.requests import AdviseRequest
from app.scoring.base_value import base_value
from app.scoring.execution import grade_worth
from app.scoring.late_bonus import credited
from tests.planner.test_fragility import request_of

JUNIOR = "isu/2025-26/junior/women/free"


def slow_optimum(
    problem: Problem, place: int, tally: Tally, late: tuple[tuple[bool, int], ...], falls: int, changed: int
) -> Fraction:
    """The best expected hundredths from a pass on: every option, every outcome, nothing merged."""
    book = problem.edition
    if place == len(problem.passes):
        chosen = credited(book, [is_late for is_late, _ in late])
        return Fraction(sum(bonus for (_, bonus), has in zip(late, chosen, strict=True) if has))
    found = []
    for option in problem.passes[place].options:
        if not problem.allowed(place, option, changed):
            continue
        value = Fraction(0)
        for attempt in option.attempts:
            behind, gain, places = tally, Fraction(0), late
            if attempt.fall:
                gain -= book.fall_deduction(falls + 1)
            if attempt.element is not None:
                judged = judge(book, tally, attempt.element)
                behind, ruled = judged.tally, judged.verdict.element
                plain = base_value(book, ruled)
                gain += plain + attempt.grade * Fraction(*grade_worth(book, ruled))
                places = (*late, (problem.passes[place].late, base_value(book, ruled, True) - plain))
            after = slow_optimum(
                problem, place + 1, behind, places, falls + attempt.fall, changed + option.change
            )
            value += attempt.chance * (gain + after)
        found.append(value)
    return max(found)


def slow_value(request: AdviseRequest, spare: Spare, more: bool | None) -> float:
    """The optimum at the boundary of a spare, with one use given back, one more made, or neither. Points."""
    problem = read_problem(request)
    codes = [row.planned or "" for row in request.passes[: spare.after]]
    elements = [
        option.attempts[0].element for option in (p.options[0] for p in problem.passes[: spare.after])
    ]
    assert [str(element) for element in elements] == codes, "in these cases the likeliest end is the element"
    verdicts, tally = judge_all(problem.edition, [element for element in elements if element])
    late = []
    for one, found in zip(problem.passes, verdicts, strict=False):
        plain = base_value(problem.edition, found.element)
        late.append((one.late, base_value(problem.edition, found.element, True) - plain))
    if more is not None:
        given, taken = changes(spare.what)
        tally = (given if more else taken)(tally)
    return float(slow_optimum(problem, spare.after, tally, tuple(late), 0, 0)) / 100


SMALL = [
    [(["3F+2T"], False), (["3S+2T", "3S"], False), (["2A", "2A+2T"], True)],
    [(["3S+3T"], False), (["3S", "3S+2T"], False), (["3F+2T", "3F"], True), (["2A+2T", "2A"], True)],
    [(["3F+2T+2Lo"], False), (["3F", "3F+2T"], True), (["3S+2T+2Lo", "3S+2T"], True)],
]


@pytest.mark.parametrize(
    "edition", ["isu/2025-26/senior/women/free", "isu/2026-27/senior/women/free", JUNIOR]
)
@pytest.mark.parametrize("program", SMALL)
def test_spares_agree_with_a_slow_recursion(program: Any, edition: str) -> None:
    request = request_of(program, edition)
    found = spares(request)
    assert {one.after for one in found} == set(range(len(program)))
    moved = 0
    for one in found:
        now = slow_value(request, one, None)
        if one.one_more is not None:
            assert one.one_more == pytest.approx(slow_value(request, one, True) - now, abs=1e-5)
            moved += one.one_more > 0
        if one.one_fewer is not None:
            assert one.one_fewer == pytest.approx(now - slow_value(request, one, False), abs=1e-5)
            moved += one.one_fewer > 0
    assert moved


def the(found: tuple[Spare, ...], what: str, after: int) -> Spare:
    """The spare of a thing at a boundary."""
    return next(one for one in found if (one.what, one.after) == (what, after))


def sure(program: list[tuple[list[str], bool]], edition: str = "isu/2025-26/senior/women/free") -> Any:
    """Attempts that always land with grade 0, so that values are sums of base values."""
    codes = {code for row, _ in program for code in row}
    return request_of(program, edition, attempts={code: [{"becomes": code, "chance": 1}] for code in codes})


def test_a_free_double_toe_is_worth_its_value_when_it_decides() -> None:
    """Doubles count twice. With both gone a tail is worth nothing; given one back it is 2T: 1.30 (value table)."""
    program = [(["3Lz+2T"], False), (["3F+2T"], False), (["3Lo", "3Lo+2T"], False)]
    spare = the(spares(sure(program)), "2T", 2)
    assert (spare.left, spare.one_more, spare.one_fewer) == (0, pytest.approx(1.30), None)
    # Before the second one is used, losing one of two costs a tail there or later: again 1.30.
    assert the(spares(sure(program)), "2T", 1).one_fewer == pytest.approx(1.30)


def test_an_open_unit_is_worth_the_tail_that_would_be_void() -> None:
    """Three units count; a fourth keeps 70 % of its first jump only, so it is not tried: 2Lo 1.70 is the tail."""
    program = [(["3Lz+2T"], False), (["3F+2T"], False), (["2A+3T"], False), (["3Lo", "3Lo+2Lo"], False)]
    spare = the(spares(sure(program)), UNIT, 3)
    assert (spare.left, spare.one_more, spare.one_fewer) == (0, pytest.approx(1.70), None)
    assert the(spares(sure(program)), "2Lo", 3).one_more is None


def test_the_three_jump_unit_is_worth_its_third_jump() -> None:
    """One unit may have three jumps; given back, the second one's 2Lo counts: 1.70."""
    program = [(["3Lz+2T+2Lo"], False), (["3F+2T", "3F+2T+2Lo"], False)]
    spare = the(spares(sure(program)), LONG_UNIT, 1)
    assert (spare.left, spare.one_more, spare.one_fewer) == (0, pytest.approx(1.70), None)


def test_a_repeat_place_is_worth_the_second_execution() -> None:
    """Two different triples may be repeated; a third one counts for nothing the second time: 3Lo 4.90."""
    program = [
        (["3Lz+3T"], False),
        (["3Lz"], False),
        (["2A+3T"], False),
        (["3Lo"], False),
        (["3Lo+2T"], False),
    ]
    spare = the(spares(sure(program)), REPEAT, 4)
    # Given back, 3Lo counts: 4.90.
    assert (spare.left, spare.one_more) == (0, pytest.approx(4.90))
    assert the(spares(sure(program)), REPEAT, 0).left == 2


def test_what_a_rulebook_does_not_number_is_no_spare() -> None:
    """A level of doubles has no quota of triples, basic novice no three-jump unit: "none left" would be untrue."""
    program = [(["2Lo+2T"], False), (["2F"], False), (["1A"], False)]
    doubles = {one.what for one in spares(sure(program, "usa/2025-26/pre-juvenile/all/free"))}
    assert UNIT in doubles
    assert LONG_UNIT in doubles
    assert REPEAT not in doubles
    assert LONG_UNIT not in {one.what for one in spares(sure(program, "isu/2025-26/basic-novice/all/free"))}


def test_changes_are_one_use_and_nothing_else() -> None:
    tally = Tally(
        boxes=3,
        units=2,
        long_units=1,
        executed=(Executed("2T", 2, True, True), Executed("3F", 2, True, True)),
    )
    for what in ("2T", UNIT, LONG_UNIT, REPEAT):
        given, taken = changes(what)
        for after in (given(tally), taken(tally)):
            assert after != tally
            assert after.boxes == 3
    assert changes("2T")[0](tally).times("2T") == 1
    assert changes("2T")[1](tally).times("2T") == 3
    assert changes(REPEAT)[0](tally).repeated_names((3, 4, 5)) == ()
    assert changes(REPEAT)[0](tally).times("3F") == 2
    assert len(changes(REPEAT)[1](tally).repeated_names((3, 4, 5))) == 2
    assert changes("2Lo")[0](tally) == tally


def test_a_short_program_has_no_spares() -> None:
    short = "isu/2025-26/senior/women/short"
    assert spares(request_of([(["3S+3T"], False), (["2A"], False), (["3F"], True)], short)) == ()
