"""Planners are shared by question, answer one thread at a time, and are let go when there are too many."""

from __future__ import annotations

from threading import Thread
from typing import Any

import pytest

from app.errors import InputError
from app.web.kept_planners import KeptPlanner, KeptPlanners


def question(points: int) -> dict[str, Any]:
    """A request of one pass; `points` makes it differ from others. Invented."""
    return {
        "edition": "isu/2025-26/senior/women/free",
        "passes": [{"planned": "2A", "options": ["2A"]}],
        "attempts": {"2A": [{"becomes": "2A", "chance": 1, "goe": points / 10}]},
    }


def kept(planners: KeptPlanners, program: int, asked: int) -> KeptPlanner:
    with planners.held(program, lambda: question(asked)) as found:
        return found


def test_programs_with_the_same_question_share_a_planner() -> None:
    planners = KeptPlanners()
    assert kept(planners, 1, 5) is kept(planners, 2, 5)
    assert kept(planners, 3, 6) is not kept(planners, 1, 5)


def test_a_programs_question_is_made_once() -> None:
    """A live program carries a snapshot of its plan, so its question cannot change."""
    planners = KeptPlanners()
    first = kept(planners, 1, 5)

    def never() -> dict[str, Any]:
        raise AssertionError("asked for again")

    with planners.held(1, never) as again:
        assert again is first


def test_the_least_used_are_let_go_and_come_back_when_asked() -> None:
    planners = KeptPlanners(most=2)
    first = kept(planners, 1, 1)
    kept(planners, 2, 2)
    assert planners.known(1) is first
    kept(planners, 3, 3)
    assert planners.known(2) is None, "program 1 was asked for more lately"
    assert planners.known(1) is first
    assert kept(planners, 2, 2).planner.advise().best == "2A"


def test_one_thread_at_a_time_holds_a_planner_and_others_do_not_wait() -> None:
    planners, order = KeptPlanners(), []

    def ask(program: int, asked: int) -> None:
        with planners.held(program, lambda: question(asked)):
            order.append(program)

    with planners.held(1, lambda: question(1)):
        same, other = Thread(target=ask, args=(2, 1)), Thread(target=ask, args=(3, 3))
        same.start()
        other.start()
        other.join(10)
        assert order == [3], "another question is answered, the same one waits"
    same.join(10)
    assert order == [3, 2]


def test_a_question_that_cannot_be_asked_says_so_every_time() -> None:
    planners = KeptPlanners()
    for _ in range(2):
        with (
            planners.held(1, lambda: question(5) | {"edition": "nowhere"}) as found,
            pytest.raises(InputError),
        ):
            found.planner  # noqa: B018  (making it is what fails)
