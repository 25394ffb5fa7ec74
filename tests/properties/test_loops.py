"""What must hold for the compiled loops on every program, however wild.

Outside facts: the judge (app/legality) and the scoring modules, a second implementation of the same rules
held to official sheets by tests/reference.
"""

from __future__ import annotations

from random import Random

import pytest

from app.planner.backward import BackwardSolver, new_memo
from app.planner.kernels import layout as k, rules, search
from app.planner.problem import Problem
from tests.properties.free_programs import final, raw_state, remembering, walk, whole_program

CLOSE = 1e-6
WALKS = 12


@pytest.mark.parametrize("block", range(10))
def test_points_of_every_step_add_up_to_the_judged_program(block: int) -> None:
    """4,800 random programs, one pass too many in each: gains of the loops = the program judged whole."""
    for seed in range(40 * block, 40 * block + 40):
        problem = whole_program(seed)
        solver = BackwardSolver(problem)
        for number in range(WALKS):
            found = walk(problem, solver, Random(1000 * seed + number))
            assert found.gained == pytest.approx(final(problem, found.steps), abs=CLOSE), (seed, number)


@pytest.mark.parametrize("seed", range(60))
def test_no_looser_level_is_below_the_exact_value(seed: int) -> None:
    """The bounds by which options are left out are never too low, at any level, state and option."""
    problem = whole_program(seed, options=3, outcomes=2, passes=5)
    solver = BackwardSolver(problem)
    tables = solver.packed.tables
    memo = new_memo(1 << 16, 1 << 15, 3)
    for number in range(3):
        nodes = walk(problem, solver, Random(number)).nodes
        for place, (a, b, c) in enumerate(nodes[:-1]):
            exact = search.solve(k.EXACT, place, a, b, c, -1, tables, memo)
            closest = exact
            for level in range(1, tables.levels.shape[0]):
                la, lb = rules.relax(level, a, b, tables.rules, tables.levels)
                bound = search.solve(level, place, la, lb, 0, -1, tables, memo) + search.pending(c)
                assert bound >= closest - CLOSE, (place, level)
                closest = bound
            _options_stay_below(tables, memo, place, (a, b, c))


def _options_stay_below(tables: k.Tables, memo: k.Memo, place: int, node: tuple[int, int, int]) -> None:
    a, b, c = node
    la, lb = rules.relax(1, a, b, tables.rules, tables.levels)
    row = memo.row[search.find(memo.keys, 1, place, la, lb, 0)]
    for option in range(tables.spans[place, 0], tables.spans[place, 1]):
        if search.is_open(option, b, tables):
            exact = search.solve(k.EXACT, place, a, b, c, option, tables, memo)
            bound = memo.bounds[row, option - tables.spans[place, 0]] + search.pending(c)
            assert bound >= exact - CLOSE


@pytest.mark.parametrize("seed", range(100, 160))
def test_forgetting_changes_no_value(seed: int) -> None:
    """The same optimum when every later pass is said to allow anything, so that nothing is forgotten."""
    problem = whole_program(seed, options=3, outcomes=2, passes=5)
    solver = BackwardSolver(problem)
    exact, _ = _value_and_states(problem, solver, solver.packed.tables)
    kept, _ = _value_and_states(problem, solver, remembering(solver.packed.tables))
    assert kept == pytest.approx(exact, abs=CLOSE)


def test_forgetting_merges_states() -> None:
    """The point of it: together at least a third fewer states without bounds on the same programs."""
    forgotten = remembered = 0
    for seed in range(100, 115):
        problem = whole_program(seed, options=3, outcomes=2, passes=5)
        solver = BackwardSolver(problem)
        alone = solver.packed.tables._replace(levels=solver.packed.tables.levels[:1])
        forgotten += _value_and_states(problem, solver, alone)[1]
        remembered += _value_and_states(problem, solver, remembering(alone))[1]
    assert forgotten * 3 < remembered * 2


def _value_and_states(problem: Problem, solver: BackwardSolver, tables: k.Tables) -> tuple[float, int]:
    a, b = raw_state(solver, problem, problem.histories[0])
    memo = new_memo(1 << 18, 1 << 17, 3)
    value = search.solve(k.EXACT, 0, a, b, 0, -1, tables, memo)
    assert not memo.count[1]
    return float(value), int(memo.count[0])
