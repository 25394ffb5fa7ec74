"""A memo that overflows grows and keeps what it holds: the answers do not depend on its size."""

from __future__ import annotations

import pytest

from app.planner.backward import BackwardSolver
from app.planner.problem import read_problem
from app.requests import AdviseRequest, read_request
from tests.agreement import programs


@pytest.mark.parametrize("edition", ["isu/2025-26/senior/women/free", "isu/2026-27/senior/women/free"])
def test_answers_do_not_depend_on_the_room(edition: str) -> None:
    """Twelve elements at four passes: some thousand states, far more than the smallest memo holds."""
    problem = read_problem(read_request(AdviseRequest, programs.random_program(3, edition, 4, 12)))
    answers = []
    for size in (64, 1 << 18):
        solver = BackwardSolver(problem, size)
        _, node = solver.start(problem.histories, 0, 0)
        answers.append((solver.value(0, node), solver.option_values(0, node), solver.states() > 100))
    (small, small_options, many), (large, large_options, _) = answers
    assert many
    assert small == pytest.approx(large)
    assert small_options == pytest.approx(large_options)
