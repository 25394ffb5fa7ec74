"""The count files once more, by the merged states of the compiled loops.

If a count differs from the file, the packed state has forgotten something that a rule looks at, or the
loops rule differently from the judge. Counts by hand and by second opinion are the outside facts.
"""

from __future__ import annotations

import pytest

from app.domain.notation import parse_jump_element
from app.planner.backward import BackwardSolver
from app.planner.packing import packable
from app.planner.problem import Problem
from app.scoring.base_value import base_value
from tests.agreement.compare import problem_of
from tests.counts import walk


def problem_for(counting: walk.Counting, depth: int) -> Problem:
    """As many passes as the depth, each free to take any allowed element, which always becomes itself."""
    allowed = counting.allowed
    clean = {code: [{"becomes": code, "chance": 1}] for code in allowed}
    return problem_of(
        {
            "edition": counting.edition,
            "done": [{"code": code} for code in counting.done],
            "passes": [{"options": allowed}] * depth,
            "attempts": clean,
        }
    )


def known(block: walk.Counting) -> bool:
    """Levels with rules that the loops do not know are left to the judge's own counts."""
    return block.facts["how"] != "whole programs" or packable(problem_for(block, 1))


QUESTIONS = [
    (block, depth, count)
    for block in walk.all_countings()
    if not block.is_short and known(block)
    for depth, count in block.depths.items()
]
IDS = [f"{block.name}, depth {depth}" for block, depth, _ in QUESTIONS]


def merged(counting: walk.Counting, depth: int) -> int:
    """Ways to a state, added up where the loops no longer tell two states apart."""
    problem = problem_for(counting, depth)
    solver = BackwardSolver(problem)
    book = problem.edition
    worth = [float(base_value(book, parse_jump_element(code))) for code in counting.allowed]
    _, start = solver.start(problem.histories, 0, 0)
    states = {start: 1}
    for place in range(depth):
        after: dict[object, int] = {}
        for node, ways in states.items():
            for number, full in enumerate(worth):
                ((_, outcome),) = solver.outcomes(place, number, node)
                gain, behind = solver.after(place, node, outcome, False)
                if gain == full:
                    after[behind] = after.get(behind, 0) + ways
        states = after
    return sum(states.values())


@pytest.mark.parametrize(("counting", "depth", "count"), QUESTIONS, ids=IDS)
def test_count_by_packed_state(counting: walk.Counting, depth: int, count: int) -> None:
    assert packable(problem_for(counting, depth))
    values = [base_value(problem_for(counting, 1).edition, parse_jump_element(c)) for c in counting.allowed]
    assert min(values) > 0, "an element without value would count as full here"
    assert merged(counting, depth) == count
