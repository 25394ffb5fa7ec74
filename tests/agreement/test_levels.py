"""The same agreement under the rulebooks of children's and national levels.

Outside fact: the definition of `value` in the `advise` contract, computed term by term (app/planner/exhaustive.py).
"""

from __future__ import annotations

from random import Random

import pytest

from app.planner.packing import packable
from tests.agreement.compare import faults_of, problem_of, target_faults
from tests.agreement.level_cases import LEVELS, level_case

CASES, BLOCK = 432, 54


@pytest.mark.parametrize("first", range(0, CASES, BLOCK))
def test_expected_points(first: int) -> None:
    faults = {seed: found for seed in range(first, first + BLOCK) if (found := faults_of(level_case(seed)))}
    assert not faults


def test_chance_of_a_target() -> None:
    seeds = range(1, CASES, 7)
    faults = {seed: found for seed in seeds if (found := target_faults(level_case(seed), Random(seed)))}
    assert not faults


def test_the_loops_refuse_rules_they_do_not_know() -> None:
    """Bonuses, groups, take-offs, limits inside a unit: the solver over the judge answers, the loops never see them."""
    known = {name: packable(problem_of(level_case(seed))) for seed, name in enumerate(LEVELS)}
    for slow in (
        "usa/2025-26/juvenile/all/free",
        "canada/2022-23/juvenile/all/free",
        "club/2022-23/cubs-b/all/free",
    ):
        assert not known[slow]
    assert known["isu/2022-23/basic-novice/all/free"]
    assert known["club/2022-23/novice-b/girls/free"]
