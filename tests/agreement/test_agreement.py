"""The planner against the exhaustive solver, in exact fractions.

Outside fact: the definition of `value` in the `advise` contract, which app/planner/exhaustive.py computes
term by term for every plan and every outcome, merging and pruning nothing. Every solver must give the same
number: the compiled loops, sets of worlds over the loops, sets of worlds over the judge.
`scripts/agree` runs any number of further cases.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest

from app.errors import InputError
from app.planner import graph, needs_table, packed_target, plan, target
from app.planner.plan import Planner
from tests.agreement.cases import case, with_target
from tests.agreement.compare import faults_of, planned, problem_of, reachable_points, target_faults, truth_of

CASES, BLOCK = 2_200, 50
TARGETS = range(3, CASES, 12)
GRIDS = range(5, 400, 5)


@pytest.mark.parametrize("first", range(0, CASES, BLOCK))
def test_expected_points(first: int) -> None:
    faults = {seed: found for seed in range(first, first + BLOCK) if (found := faults_of(case(seed)))}
    assert not faults


@pytest.mark.parametrize("block", range(4))
def test_chance_of_a_target(block: int) -> None:
    """Chances of at least so many points: met exactly, missed by a hair, some way off."""
    seeds = list(TARGETS)[block::4]
    faults = {seed: found for seed in seeds if (found := target_faults(case(seed), Random(seed)))}
    assert not faults


def test_a_target_met_exactly_counts_as_reached() -> None:
    """`>=`: a program that can end with one sum only reaches that sum surely and a hair more never."""
    met = 0
    for seed in range(200):
        request = case(seed)
        problem = problem_of(request)
        if len(problem.histories) > 1 or any(
            len(option.attempts) > 1 for option in problem.passes[0].options
        ):
            continue
        if len(problem.passes) > 1 or len(problem.passes[0].options) > 1:
            continue
        if problem.passes[0].options[0].after_fall != problem.passes[0].options[0].attempts:
            continue
        points = reachable_points(problem, Random(seed))
        assert Planner(with_target(request, str(points))).advise().value == 1.0
        more = points + Decimal("0.000000001")
        assert Planner(with_target(request, str(more))).advise().value == 0.0
        met += 1
    assert met > 3


def _on_a_grid() -> tuple[list[str], int]:
    """Faults of answers that say they are not exact, and how many there were: value <= truth <= value + bound."""
    faults, inexact = [], 0
    for seed in GRIDS:
        request = case(seed)
        problem = problem_of(request)
        if len(problem.passes) != 2:
            continue
        points = reachable_points(problem, Random(seed))
        try:
            answer = Planner(with_target(request, str(points))).advise()
        except InputError:
            continue  # more than even the coarsest grid may look at under this small budget
        truth = truth_of(problem, Fraction(points) * 100)
        inexact += not answer.exact
        room = answer.bound or 0.0
        said = {one.element: one.value for one in answer.options}
        options = [said.get(one.code) for one in problem.passes[0].options]
        pairs = list(zip(options, truth.options, strict=True))
        pairs += [(answer.value, truth.optimum), (answer.keep_all_value, truth.keep_all)]
        for mine, true in pairs:
            if mine is None or true is None:
                faults += [f"{seed}: {mine} against {true}"] if mine is not true else []
            elif not mine - 1e-9 <= float(true) <= mine + room + 1e-9:
                faults.append(f"{seed}: {mine} + {room} against {float(true)}")
    return faults, inexact


def test_an_answer_on_a_grid_lies_within_its_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    """When exact needs are too many, value <= truth <= value + bound: on the whole graph …"""
    monkeypatch.setattr(target, "EXACT_STEPS", 12)
    monkeypatch.setattr(packed_target, "EXACT_SIZE", 4)
    faults, inexact = _on_a_grid()
    assert not faults
    assert inexact > 3


@pytest.mark.parametrize("width", [5, 50])
def test_the_bound_holds_on_coarse_grids(monkeypatch: pytest.MonkeyPatch, width: int) -> None:
    """… on grids so coarse that gains are far off …"""
    monkeypatch.setattr(packed_target, "EXACT_SIZE", 4)
    monkeypatch.setattr(needs_table, "GRIDS", (Fraction(width),))
    faults, inexact = _on_a_grid()
    assert not faults
    assert inexact > 3


def no_room(*_: object) -> None:
    """A program with too many states for its graph."""
    raise graph.TooLarge


def test_the_bound_holds_where_the_graph_has_no_room(monkeypatch: pytest.MonkeyPatch) -> None:
    """… and with needs on a grid of their own."""
    monkeypatch.setattr(packed_target, "EXACT_SIZE", 4)
    monkeypatch.setattr(plan, "NeedsTarget", no_room)
    faults, inexact = _on_a_grid()
    assert not faults
    assert inexact > 3


def test_the_cases_hold_what_they_promise() -> None:
    """Every feature of the contract is drawn often enough to matter."""
    requests = [case(seed) for seed in range(CASES)]
    problems = [problem_of(request) for request in requests]
    outcomes = [[o for table in r["attempts"].values() for o in table] for r in requests]
    counted = {
        "short": sum(p.edition.is_short for p in problems),
        "children's": sum("novice" in p.edition.name for p in problems),
        "2026/27": sum(p.edition.season == "2026-27" and not p.edition.is_short for p in problems),
        "limited changes": sum(p.max_changes is not None for p in problems),
        "beliefs": sum(len(p.histories) > 1 for p in problems),
        "after a fall": sum(
            any(o.after_fall is not o.attempts for one in p.passes for o in one.options) for p in problems
        ),
        "left out": sum(any(None in one["options"] for one in r["passes"]) for r in requests),
        "no attempt": sum(any(o["becomes"] is None for o in table) for table in outcomes),
        "worth nothing": sum(
            any(o["becomes"] and o["becomes"][0] in "TSLFA" for o in table) for table in outcomes
        ),
        "switches": sum("switches" in r for r in requests),
        "cannot keep the plan": sum(planned(p) is None for p in problems),
        "four passes": sum(len(p.passes) == 4 for p in problems),
    }
    assert {name: times for name, times in counted.items() if times < 60} == {}
