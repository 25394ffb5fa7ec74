"""How the points of a program spread.

Outside facts: chances and points worked by hand (base values as in test_advice); the exhaustive solver for whole cases.
"""

from __future__ import annotations

from fractions import Fraction
from random import Random

import pytest

from app.engine import Planner, Spread
from app.errors import InputError
from app.planner import exhaustive, graph
from app.planner.packing import packable
from tests.agreement import programs
from tests.agreement.cases import case
from tests.agreement.compare import plan_worth, planned, problem_of, reachable_points
from tests.planner.requests_for_tests import FREE

TWO = {
    "edition": FREE,
    "passes": [{"planned": "3Lz", "options": ["3Lz", "2A"]}, {"planned": "2A", "options": ["2A"]}],
    "attempts": {
        "3Lz": [
            {"becomes": "3Lz", "chance": "0.7", "goe": "1"},
            {"becomes": "3Lz", "chance": "0.2", "goe": "-5", "fall": True},
            {"becomes": "2Lz", "chance": "0.1"},
        ],
        "2A": [{"becomes": "2A", "chance": "0.5"}, {"becomes": "1A", "chance": "0.5"}],
    },
}


def pairs(spread: Spread) -> list[tuple[float, float]]:
    return [(round(x, 6), round(c, 6)) for x, c in zip(spread.points, spread.chances, strict=True)]


def test_every_end_with_its_chance() -> None:
    """3Lz 5.90 with +1 (0.59), or a fall (-2.95 - 1), or 2Lz 2.10; then 2A 3.30 or 1A 1.10."""
    ends = {6.49 + 3.30: 0.35, 6.49 + 1.10: 0.35, 1.95 + 3.30: 0.1, 1.95 + 1.10: 0.1}
    ends |= {2.10 + 3.30: 0.05, 2.10 + 1.10: 0.05}
    expected = [(round(points, 6), chance) for points, chance in sorted(ends.items())]
    spread = Planner(TWO).spread([], 0)
    assert pairs(spread) == expected
    assert spread.within == 0.0


def test_quantiles_and_chances_read_off_the_ends() -> None:
    """Rising: 3.05 (0.1), 3.20 (0.05), 5.25 (0.1), 5.40 (0.05), 7.59 (0.35), 9.79 (0.35)."""
    spread = Planner(TWO).spread([], 0)
    assert spread.quantile(0.1) == pytest.approx(3.05)
    assert spread.quantile(0.11) == pytest.approx(3.20)
    assert spread.quantile(0.9) == pytest.approx(9.79)
    assert spread.at_least(5.40) == pytest.approx(0.75)
    assert spread.at_least(9.80) == 0.0


def test_one_swap_changes_its_pass_alone() -> None:
    """2A twice: 3.30 or 1.10 each."""
    assert pairs(Planner(TWO).spread([], 0, (0, "2A"))) == [(2.2, 0.25), (4.4, 0.5), (6.6, 0.25)]
    with pytest.raises(InputError, match="not among them"):
        Planner(TWO).spread([], 0, (0, "3F"))


def test_after_a_pass_the_rest_alone() -> None:
    """A done pass brings what only it decides: nothing here, so the 2A alone."""
    spread = Planner(TWO).spread([{"code": "3Lz"}], 1)
    assert pairs(spread) == [(1.1, 0.5), (3.3, 0.5)]


@pytest.mark.parametrize("block", range(4))
def test_mean_and_chances_are_those_of_the_exhaustive_solver(block: int) -> None:
    """Loops, judge, beliefs, short programs: the mean is `keep_all`, the chance of a total is its own."""
    packed = 0
    for seed in range(block, 240, 4):
        problem = problem_of(case(seed))
        plan = planned(problem)
        if plan is None:
            continue
        spread = Planner(case(seed)).spread(case(seed).get("done", []), 0)
        assert sum(spread.chances) == pytest.approx(1)
        assert spread.mean * 100 == pytest.approx(float(plan_worth(problem, plan)), abs=1e-6), seed
        nail = reachable_points(problem, Random(seed))
        truth = float(plan_worth(problem, plan, Fraction(nail) * 100))
        assert spread.at_least(float(nail)) == pytest.approx(truth, abs=1e-9), seed
        packed += packable(problem) and len(problem.histories) == 1
    assert packed > 12


def test_the_best_answers_bring_the_optimum() -> None:
    """The mean under the best answers is `value`, which the exhaustive solver knows."""
    seen = 0
    for seed in range(0, 240, 3):
        problem = problem_of(case(seed))
        spread = Planner(case(seed)).spread_of_best(case(seed).get("done", []), 0)
        if spread is None:
            assert problem.edition.is_short or len(problem.histories) > 1 or not packable(problem)
            continue
        assert spread.mean * 100 == pytest.approx(float(exhaustive.optimum(problem)), abs=1e-5), seed
        seen += 1
    assert seen > 20


def test_a_coarse_grid_says_how_far_it_may_be_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """With little room the ends are merged on a grid: each lies within what is said of a true one."""
    request = programs.usual_program(FREE, 5, 3)
    exact = Planner(request).spread([], 0)
    monkeypatch.setattr(graph, "WORLDS", 512)
    coarse = Planner(request).spread([], 0)
    assert exact.within == 0.0 < coarse.within < 3
    assert len(coarse.points) < len(exact.points)
    assert coarse.mean == pytest.approx(exact.mean, abs=coarse.within)
    for share in (0.1, 0.25, 0.5, 0.75, 0.9):
        assert coarse.quantile(share) == pytest.approx(exact.quantile(share), abs=coarse.within + 1e-9)
