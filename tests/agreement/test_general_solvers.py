"""The planner against QuantEcon and OR-Tools CP-SAT: the same optimum. `scripts/bench` compares at size."""

from __future__ import annotations

from random import Random

import pytest

from app import engine
from app.planner.plan import Planner
from tests.agreement.compare import problem_of
from tests.agreement.general import clean_layout, finite_horizon
from tests.agreement.programs import all_clean, random_program

CLOSE = 1e-6


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("edition", ["isu/2025-26/senior/men/free", "isu/2026-27/senior/women/free"])
def test_finite_horizon_solver(edition: str, seed: int) -> None:
    request = random_program(seed, edition, passes=4, elements=5, outcomes=3)
    problem = problem_of(request)
    assert Planner(request).advise().value * 100 == pytest.approx(finite_horizon(problem).value, abs=CLOSE)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("edition", ["isu/2025-26/senior/men/free", "isu/2022-23/junior/women/free"])
def test_constraint_solver_on_the_all_clean_case(edition: str, seed: int) -> None:
    """CP-SAT knows only programs without a worthless jump: the planner's best must be one, and as good."""
    request = all_clean(seed, edition, passes=7, elements=Random(seed).choice((16, 20, 24)))
    advice = Planner(request).advise()
    book = engine.edition(edition)
    late = [one["late"] for one in request["passes"]]
    options = [one["options"] for one in request["passes"]]
    assert advice.value * 100 == pytest.approx(clean_layout(book, late, options).value, abs=CLOSE)
    program = [
        engine.Performed(code, is_late) for code, is_late in zip(advice.if_landed, late, strict=True) if code
    ]
    review = engine.review(book, program)
    assert review.base_total == pytest.approx(advice.value * 100, abs=CLOSE)
    assert not [r for line in review.lines for r in line.rulings if r.ruling == "nothing"]
