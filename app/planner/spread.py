"""How the points of a program spread: every end with its chance, for the plan, for one swap, for the best answers.

Points are those of `value` in the `advise` contract. They are exact where the ends fit into the room there is, else
gains are rounded to the nearest multiple of a stated grid; `within` says how far an end may then be off.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from app.planner.backward import BackwardSolver, alone
from app.planner.exact_moves import ExactKey, ExactMoves
from app.planner.graph import ProgramGraph
from app.planner.kernels import layout as k
from app.planner.kernels.rules import put
from app.planner.packed_target import exact_scale
from app.planner.problem import Problem

FINEST = 10_000
"""Units of a hundredth where grades have more decimals than can be kept."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Different ends in rising order of points, and their chances (summing to 1)."""

    points: tuple[float, ...]
    chances: tuple[float, ...]
    within: float = 0.0
    """Points by which an end may be off."""

    @property
    def mean(self) -> float:
        """Expected points."""
        return sum(one * chance for one, chance in zip(self.points, self.chances, strict=True))

    def at_least(self, points: float) -> float:
        """Chance of so many points or more."""
        pairs = zip(self.points, self.chances, strict=True)
        return sum(chance for one, chance in pairs if one >= points - 1e-9)

    def quantile(self, share: float) -> float:
        """The least points that are not exceeded with a chance of `share` (0 to 1) or more."""
        total = 0.0
        for one, chance in zip(self.points, self.chances, strict=True):
            total += chance
            if total >= share - 1e-12:
                return one
        return self.points[-1]


def spread_of_plan(
    problem: Problem, solver: BackwardSolver | None, place: int, plan: Sequence[int]
) -> Spread:
    """The spread when exactly these options (one for every pass, by index) are tried from pass `place` on."""
    if solver is None or len(problem.histories) > 1:
        return _spread_by_moves(problem, place, plan)
    scale = exact_scale(problem) or FINEST
    certain, (a, b, c) = solver.start(problem.histories, problem.changes_done, place)
    start = (a, int(put(b, k.CHANGES, 4, 0)), c)
    graph = ProgramGraph(alone(solver.packed.tables, plan), place, start)
    return _spread(graph, np.zeros(graph.states(), dtype=np.int64), certain, scale)


def spread_of_best(problem: Problem, solver: BackwardSolver, place: int) -> Spread:
    """The spread under the answers that bring most on average. Raises TooLarge."""
    certain, node = solver.start(problem.histories, problem.changes_done, place)
    graph = ProgramGraph(solver.packed.tables, place, node)
    return _spread(graph, graph.optimum()[1], certain, exact_scale(problem) or FINEST)


def _spread(
    graph: ProgramGraph, best: np.ndarray[tuple[int], np.dtype[np.int64]], certain: float, scale: int
) -> Spread:
    points, chances, grid = graph.spread(best, scale)
    ends, places = np.unique(points, return_inverse=True)
    together = np.bincount(places, weights=chances)
    steps = int(graph.tables.rules[k.R_PASSES]) - graph.place
    within = 0.0 if grid == 1 else grid / 2 * steps / scale / 100
    return Spread(tuple(((certain + ends / scale) / 100).tolist()), tuple(together.tolist()), within)


def _spread_by_moves(problem: Problem, place: int, plan: Sequence[int]) -> Spread:
    """The same from the judge and exact fractions: for rulebooks the loops do not know, and for beliefs."""
    moves = ExactMoves(problem)
    worlds: dict[tuple[ExactKey, Fraction], Fraction] = defaultdict(Fraction)
    for history in problem.histories:
        certain, key = moves.start(history)
        worlds[key, certain] += history.chance
    for ahead in range(place, len(problem.passes)):
        option = problem.passes[ahead].options[plan[ahead]]
        behind: dict[tuple[ExactKey, Fraction], Fraction] = defaultdict(Fraction)
        for (key, points), chance in worlds.items():
            for attempt, gain, after in moves.moves(ahead, option, key):
                behind[after, points + gain] += chance * attempt.chance
        worlds = behind
    ends: dict[Fraction, Fraction] = defaultdict(Fraction)
    for (key, points), chance in worlds.items():
        ends[points + moves.end(key)] += chance
    rising = sorted(ends)
    return Spread(tuple(float(one / 100) for one in rising), tuple(float(ends[one]) for one in rising))
