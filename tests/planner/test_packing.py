"""What the compiled loops know, and what they must leave to the judge."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.planner.packing import packable
from app.planner.plan import Planner
from app.planner.problem import Problem, read_problem
from app.requests import AdviseRequest, read_request
from app.rulebook.editions import SHELF, edition
from app.rulebook.own import named
from tests.planner.requests_for_tests import SHORT, Request, clean, one_pass

NO_STAR_COUNTS = {"starred_jumps_use_up_an_execution": "no"}
MANY = [f"{turns}{name}" for turns in (2, 3, 4) for name in ("T", "S", "Lo", "F", "Lz", "A")]
MANY += [f"{turns}{name}" for turns in (5,) for name in ("T", "S", "Lo", "F", "Lz")]


def problem(request: Request) -> Problem:
    """The checked problem."""
    return read_problem(read_request(AdviseRequest, request))


@pytest.mark.parametrize(
    "edition",
    [
        "isu/2022-23/senior/women/free",
        "isu/2025-26/junior/men/free",
        "isu/2026-27/senior/women/free",
        "isu/2022-23/intermediate-novice/all/free",
    ],
)
def test_free_skatings_are_packed(edition: str) -> None:
    assert packable(problem(one_pass(["2A"], edition=edition)))


UNKNOWN_TO_THE_LOOPS = {
    "a short program": one_pass(["2A"], edition=SHORT),
    "the other reading of starred jumps": one_pass(["2A"], switches=NO_STAR_COUNTS),
    "a unit of seven jumps": one_pass(["2T+2T+2T+2T+2T+2T+2T"]),
    "a limit of more changes than four bits hold": one_pass(["2A"], max_changes=16),
    "a season whose late factor is rounded jump by jump": one_pass(
        ["2A"], edition="isu/2018-19/senior/women/free"
    ),
}


@pytest.mark.parametrize("request_", UNKNOWN_TO_THE_LOOPS.values(), ids=UNKNOWN_TO_THE_LOOPS)
def test_what_the_loops_do_not_know_is_solved_all_the_same(request_: Request) -> None:
    assert not packable(problem(request_))
    assert Planner(request_).advise().value >= 0


def test_a_jump_that_only_history_knows_has_a_slot() -> None:
    """A third 2T counts for nothing also when 2T stands in no option but this one."""
    twice = [{"code": "3F+2T"}, {"code": "3Lz+2T"}]
    request = one_pass(["3S+2T", "3S"], done=twice)
    advice = Planner(request).advise()
    by_name = {option.element: option.value for option in advice.options}
    assert by_name["3S+2T"] == by_name["3S"]
    assert [ruling.jump for option in advice.options for ruling in option.rulings] == [2]


def test_an_euler_before_the_first_jump_takes_nothing_with_it() -> None:
    """Slides 2026: one Euler in the program. The second one and what hangs on it count for nothing, the Lutz does."""
    again = "Eu+3Lz+Eu+3S"
    request = one_pass([again, "3Lz"], edition="isu/2026-27/senior/women/free", done=[{"code": "2A+Eu+3S"}])
    assert packable(problem(request))
    by_name = {option.element: option.value for option in Planner(request).advise().options}
    assert by_name[again] == by_name["3Lz"] == 5.9


def test_late_bonus_that_is_rounded_up_to_the_next_bit_is_not_lost() -> None:
    """Invented: 20.47 x 1.50 = 30.705, on a sheet 30.71. 10.24 of late bonus is one more than ten bits hold."""
    women = edition("isu/2025-26/senior/women/free")
    late = women.rules.late.model_copy(update={"percent": 150})
    values = replace(women.values, rows=dict.fromkeys(women.values.rows, 2047))
    book = replace(women, rules=women.rules.model_copy(update={"late": late}), values=values)
    book = named(book, "Half as much again", 1)
    SHELF.own[book.name] = book
    rows = [{"planned": code, "options": [code], "late": True} for code in ("2A", "3Lz")]
    request = {"edition": book.name, "passes": rows, "attempts": clean("2A", "3Lz")}
    assert Planner(request).advise().value == 61.42


def test_every_jump_there_is_fits() -> None:
    """Twenty-three different jumps in one program."""
    assert packable(problem(one_pass(MANY, attempts=clean(*MANY))))
