"""Bounds for levels whose rules the loops do not know: never below the exact value, so that the search stays exact.

Outside fact: the exhaustive solver, which computes the contract's definition of `value` term by term.
"""

from __future__ import annotations

import pytest

from app.planner import exhaustive
from app.planner.mechanics import TallyMechanics
from app.planner.packing import packable
from app.planner.relaxed import RelaxedBounds, relaxed
from app.rulebook.editions import edition
from tests.agreement.compare import problem_of
from tests.agreement.level_cases import LEVELS, level_case

FREE = [seed for seed in range(126) if list(LEVELS)[seed % len(LEVELS)].endswith("free")]


@pytest.mark.parametrize("block", range(6))
def test_no_bound_is_below_the_exact_value(block: int) -> None:
    looked_at = 0
    for seed in FREE[block::6]:
        problem = problem_of(level_case(seed))
        if packable(problem) or len(problem.histories) > 1 or RelaxedBounds.of(problem) is None:
            continue
        mechanics = TallyMechanics(problem)
        certain, key = mechanics.start(problem.histories[0], problem.changes_done, 0)
        bounds = mechanics.bounds(0, key, problem.changes_done)
        for bound, exact in zip(bounds, exhaustive.option_values(problem), strict=True):
            if exact is not None and exact > exhaustive.BARRED / 2:
                assert certain + bound >= float(exact) - 1e-6, seed
                looked_at += 1
    assert looked_at > 5


def test_what_is_left_out() -> None:
    """The loops get an edition without the rules they do not know; the rest stays."""
    canada = relaxed(edition("canada/2022-23/juvenile/all/free"))
    assert canada.rules.family
    assert canada.rules.family.most_repeated is None
    assert canada.rules.units == edition("canada/2022-23/juvenile/all/free").rules.units
    juvenile = relaxed(edition("usa/2025-26/juvenile/all/free"))
    assert juvenile.rules.limits is None
    assert juvenile.bonuses is None
    assert juvenile.rules.units
    assert juvenile.rules.units.inside == ()
