"""What the compiled loops know, and what they must leave to the judge."""

from __future__ import annotations

import pytest

from app.planner.packing import packable
from app.planner.plan import Planner
from app.planner.problem import Problem, read_problem
from app.requests import AdviseRequest, read_request
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


def test_every_jump_there_is_fits() -> None:
    """Twenty-three different jumps in one program."""
    assert packable(problem(one_pass(MANY, attempts=clean(*MANY))))
