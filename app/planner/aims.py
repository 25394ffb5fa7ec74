"""What each single swap does for the chance to reach a number of points: the quick question of the boards.

Everything else is tried as planned, so nothing is chosen on the way and the whole table takes a fraction of a second;
the best chance over all adaptive plans is the aim "at least" of `app.planner.plan`.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from app.planner.advice import SwapValue
from app.planner.backward import BackwardSolver
from app.planner.needs_table import Plans
from app.planner.packed_target import exact_scale
from app.planner.problem import Problem
from app.planner.spread import spread_of_plan


@dataclass(frozen=True, slots=True)
class SwapChances:
    """Chance of reaching the points by keeping the plan, and by each single swap, best first.

    Values and gains of `swaps` are chances; the true ones lie above them by no more than `bound`.
    """

    keep: float
    swaps: tuple[SwapValue, ...]
    bound: float


def swap_chances(
    problem: Problem, solver: BackwardSolver | None, place: int, points: Fraction
) -> SwapChances | None:
    """Chances to reach `points` (those of `value`) from pass index `place` on. None: a pass cannot keep its plan."""
    keeps = [one.keep for one in problem.passes]
    if any(keep is None for keep in keeps[place:]):
        return None
    plan = [keep or 0 for keep in keeps]
    if solver is None or exact_scale(problem) is None:
        table, bound = _by_spreads(problem, solver, place, plan, points), 0.0
    else:
        table, bound = _by_tables(problem, solver, place, plan, points)
    keep = table[0][plan[place]]
    most = problem.max_changes
    if most is not None and problem.changes_done >= most:
        return SwapChances(keep, (), bound)
    first = len(problem.histories[0].done) + 1
    swaps = [
        SwapValue(first + ahead, option.code, chance, chance - keep)
        for ahead, one in enumerate(problem.passes[place:])
        for option, chance in zip(one.options, table[ahead], strict=True)
        if option.change
    ]
    return SwapChances(keep, tuple(sorted(swaps, key=lambda swap: -swap.gain)), bound)


def _by_tables(
    problem: Problem, solver: BackwardSolver, place: int, plan: list[int], points: Fraction
) -> tuple[list[list[float]], float]:
    """Nothing is chosen on the way, so every reading of what was done has its own table, weighted by its chance."""
    scale = exact_scale(problem)
    assert scale is not None, "the caller looked"
    plans = Plans(problem, solver.packed.tables, scale)
    table = [[0.0] * len(one.options) for one in problem.passes[place:]]
    bound = 0.0
    for history in problem.histories:
        weight = float(history.chance)
        certain, node = solver.node(history, problem.changes_done, place)
        need = int(-((-points * 100 * scale) // 1)) - round(certain * scale)
        own = plans.swap_values(place, (*node, need), plan)
        table = [
            [total + weight * x for total, x in zip(totals, row, strict=True)]
            for totals, row in zip(table, own, strict=True)
        ]
        bound += weight * plans.distance(place, (*node, need))
    return table, bound


def _by_spreads(
    problem: Problem, solver: BackwardSolver | None, place: int, plan: list[int], points: Fraction
) -> list[list[float]]:
    """The same from every end of every swapped program: for rulebooks the loops do not know."""
    return [
        [
            spread_of_plan(problem, solver, place, [*plan[:ahead], n, *plan[ahead + 1 :]]).at_least(
                float(points)
            )
            for n in range(len(one.options))
        ]
        for ahead, one in enumerate(problem.passes[place:], start=place)
    ]
