"""What each single swap does for the chance to reach a total, against the exhaustive solver."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest

from app.engine import Planner
from app.planner.packing import packable
from tests.agreement.cases import case
from tests.agreement.compare import plan_worth, planned, problem_of, reachable_points


@pytest.mark.parametrize("block", range(3))
def test_every_swap_against_the_exhaustive_solver(block: int) -> None:
    """Free skatings in the loops, the rest by the judge; sums met on the nail and missed by a hair."""
    packed = swaps = 0
    for seed in range(block, 150, 3):
        problem = problem_of(case(seed))
        plan = planned(problem)
        nail = reachable_points(problem, Random(seed))
        for points in (nail, nail + Decimal("0.0001")):
            found = Planner(case(seed)).swap_chances(case(seed).get("done", []), 0, points)
            if plan is None:
                assert found is None
                continue
            assert found is not None
            need = Fraction(points) * 100
            pairs = [(found.keep, plan_worth(problem, plan, need))]
            for swap in found.swaps:
                place = swap.number - 1 - len(problem.histories[0].done)
                codes = [option.code for option in problem.passes[place].options]
                swapped = [*plan[:place], codes.index(swap.element), *plan[place + 1 :]]
                pairs.append((swap.value, plan_worth(problem, swapped, need)))
                assert swap.gain == pytest.approx(swap.value - found.keep)
            for mine, truth in pairs:
                assert mine - 1e-9 <= float(truth) <= mine + found.bound + 1e-9, (seed, points)
            swaps += len(found.swaps)
        packed += packable(problem) and len(problem.histories) == 1
    assert packed > 10
    assert swaps > 30


def test_no_swap_is_left_when_all_changes_are_made() -> None:
    request = {
        "edition": "isu/2025-26/senior/women/free",
        "passes": [{"planned": "2A", "options": ["2A", "3Lz"]}],
        "attempts": {code: [{"becomes": code, "chance": 1}] for code in ("2A", "3Lz")},
        "max_changes": 1,
    }
    changed = {"code": "3F", "planned": "3S", "tried": "3F"}
    found = Planner(request).swap_chances([changed], 0, Decimal("4"))
    assert found is not None
    assert (found.keep, found.swaps) == (0.0, ())
    kept = Planner(request).swap_chances([{"code": "3S"}], 0, Decimal("4"))
    assert kept is not None
    assert [(one.number, one.element, one.value) for one in kept.swaps] == [(2, "3Lz", 1.0)]
