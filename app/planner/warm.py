"""Compile the planner's loops once, so that no one at the boards waits for a compiler."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from app.legality.tally import Tally
from app.planner.backward import BackwardSolver
from app.planner.card import find_card
from app.planner.needs_target import NeedsTarget
from app.planner.plan import Planner
from app.planner.problem import read_problem
from app.planner.single_changes import SingleChanges
from app.requests import AdviseRequest, read_request

_TINY: dict[str, Any] = {
    "edition": "isu/2025-26/senior/women/free",
    "done": [{"code": "3Lz", "late": False}],
    "passes": [{"planned": "2A", "late": True, "options": ["2A", "2A+2T"]}],
    "attempts": {
        "2A": [{"becomes": "2A", "chance": 1, "goe": 0}],
        "2A+2T": [{"becomes": "2A+2T", "chance": 1, "goe": 0}],
    },
}
_TWO_PASSES: dict[str, Any] = {
    **_TINY,
    "passes": [*_TINY["passes"], {"planned": "2A+2T", "options": ["2A+2T", "2A"]}],
}


def warm() -> None:
    """Solve a tiny program: compiles what is not yet compiled and kept on disk (under a minute)."""
    Planner(_TWO_PASSES).advise()
    aimed = Planner({**_TINY, "aim": {"kind": "at_least", "points": 5}})
    aimed.advise()
    aimed.spread([], 0)
    aimed.spread_of_best([], 0)
    problem = read_problem(read_request(AdviseRequest, _TINY))
    solver = NeedsTarget(problem, BackwardSolver(problem), Fraction(500), 0)
    solver.value(0, solver.start(problem.histories, 0, 0)[1])
    few = SingleChanges({name: value for name, value in _TINY.items() if name != "done"})
    few.changes(few.future(0, Tally(), (), 0, False, 0)[1])
    unsure = [{"any_of": [{"code": "3Lz+2T", "chance": 0.5}, {"code": "3Lz+3T<<", "chance": 0.5}]}]
    Planner({**_TWO_PASSES, "done": unsure}).advise()
    find_card(_TINY)
