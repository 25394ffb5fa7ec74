"""The aim "at least" in the compiled loops: exact while the states fit, else on a grid.

Same recursion as `app.planner.target`. A gain in hundredths times a power of ten is a whole number, so needs are
compared exactly; on a grid, gains rounded down give a chance that is surely reached, rounded up one that surely
is not exceeded, and `bound()` is the distance between the two.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from app.planner.backward import BARRED, BackwardSolver, alone
from app.planner.kernels import layout as k, reach as r
from app.planner.needs_table import Plans
from app.planner.problem import Attempt, History, Problem
from app.planner.solver import Node
from app.scoring.base_value import base_value
from app.scoring.execution import grade_worth

EXACT_SIZE = 1 << 15
GRID_SIZE = 1 << 22
GRIDS = (10, 25, 50, 100)
"""Grid widths in hundredths, tried from fine to coarse."""
FINEST = 6
"""Most decimals of a grade that are compared exactly."""


class Overflow(Exception):
    """The states outgrew the memo; never leaves this package."""


def exact_scale(problem: Problem) -> int | None:
    """Power of ten that makes every gain in hundredths a whole number; None when there is none small enough."""
    grades = {a.grade for p in problem.passes for o in p.options for a in (*o.attempts, *o.after_fall)}
    percent = problem.edition.rules.grades.percent
    for scale in (10**digits for digits in range(FINEST + 3)):
        if all((grade * percent * scale / 100).denominator == 1 for grade in grades):
            return int(scale)
    return None


def new_memo(size: int) -> k.Memo:
    """An empty memo for `size` states with their needs (a power of two)."""
    none = np.zeros((1, 1))
    return k.Memo(
        keys=np.zeros((size, 5), dtype=np.int64),
        value=np.zeros(size),
        row=np.zeros(size, dtype=np.int32),
        count=np.zeros(3, dtype=np.int64),
        bounds=none,
        order=np.zeros((1, 1), dtype=np.int16),
    )


def goal_of(
    problem: Problem, scale: int, grid: int = 0, up: bool = False
) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Scale, grid, rounding, and for every pass the least and the most that can still come."""
    least, most = [0], [0]
    for one in reversed(problem.passes):
        attempts = [a for option in one.options for a in (*option.attempts, *option.after_fall)]
        low = min(_least(problem, attempt, scale) for attempt in attempts)
        high = max(_most(problem, attempt, scale) for attempt in attempts)
        least.append(least[-1] + min(low, 0) - grid * scale)
        most.append(most[-1] + max(high, 0) + grid * scale)
    # Late bonus of done passes may still come: at most ten bits a place.
    room = int(problem.edition.rules.late.last) * 1024 * scale
    head = [scale, grid * scale, int(up), len(problem.passes)]
    return np.array([*head, *least[::-1], *(x + room for x in most[::-1])], dtype=np.int64)


def _most(problem: Problem, attempt: Attempt, scale: int) -> int:
    if attempt.element is None:
        return 0
    numerator, denominator = grade_worth(problem.edition, attempt.element)
    goe = max(attempt.grade * Fraction(numerator, denominator), Fraction(0))
    return int((base_value(problem.edition, attempt.element, True) + goe) * scale) + 1


def _least(problem: Problem, attempt: Attempt, scale: int) -> int:
    fall = max(problem.edition.rules.falls.each) if attempt.fall else 0
    if attempt.element is None:
        return -fall * scale
    numerator, denominator = grade_worth(problem.edition, attempt.element)
    return int((Fraction(-5) * Fraction(numerator, denominator) - fall) * scale) - 1


class PackedTarget:
    """Chances as values; the face of every solver. `grid` in hundredths, 0: exact."""

    def __init__(
        self, problem: Problem, solver: BackwardSolver, need: Fraction, grid: int = 0, up: bool = False
    ) -> None:
        self._problem = problem
        self._solver = solver
        scale = exact_scale(problem)
        assert scale is not None, "packed_target is asked only where a scale exists"
        self._scale = scale
        self._need = -((-need * scale) // 1)
        self._goal = goal_of(problem, scale, grid, up)
        self._memo = new_memo(GRID_SIZE if grid else EXACT_SIZE)
        self._grid = grid
        self.plans = Plans(problem, solver.packed.tables, scale)
        self._accepted = False
        self._bound: float | None = None

    def bound(self) -> float | None:
        """How far the true chance may lie above the value given; None when exact."""
        return self._bound

    def accept(self, bound: float | None = None) -> None:
        """The optimum was found with the room given."""
        self._accepted = True
        self._bound = bound

    def start(self, histories: Sequence[History], changes: int, place: int) -> tuple[float, Node]:
        certain, node = self._solver.start(histories, changes, place)
        return 0.0, (*node, int(self._need - round(certain * self._scale)))

    def value(self, place: int, node: Node) -> float:
        return self._reach(place, node, -1, self._solver.packed.tables, self._memo)

    def _reach(self, place: int, node: Node, only: int, tables: k.Tables, memo: k.Memo) -> float:
        if place == len(self._problem.passes):
            return float(node[3] <= 0)
        found = r.reach(place, *node, only, tables, self._goal, memo)
        if not memo.count[1]:
            return float(found)
        if not self._accepted:
            raise Overflow
        # The optimum had room: what else is asked needs little more.
        more = new_memo(4 * memo.keys.shape[0])
        if memo is self._memo:
            self._memo = more
        return self._reach(place, node, only, tables, more)

    def option_values(self, place: int, node: Node, floor: float = -1e18) -> list[float | None]:
        tables = self._solver.packed.tables
        first = int(tables.spans[place, 0])
        changes = (node[1] >> k.CHANGES) & 15
        values = [
            self._reach(place, node, first + n, tables, self._memo)
            if self._problem.leaves_a_way(place, option, changes)
            else None
            for n, option in enumerate(self._problem.passes[place].options)
        ]
        return [None if value is None or value < BARRED else value for value in values]

    def landed(self, place: int, node: Node, option: int) -> Node:
        tables = self._solver.packed.tables
        outcome = int(tables.options[tables.spans[place, 0] + option, k.X_LANDED])
        change = self._problem.passes[place].options[option].change
        gain, behind = self._solver.after(place, node[:3], outcome, change)
        return (*behind, int(node[3]) - int(r.counted(gain, self._goal)))

    def plan_value(self, place: int, node: Node, plan: Sequence[int]) -> float:
        if self._grid:
            return self.plans.value(place, node, plan)
        followed = alone(self._solver.packed.tables, plan)
        return self._reach(place, node, -1, followed, new_memo(EXACT_SIZE))

    def swap_values(self, place: int, node: Node, plan: Sequence[int]) -> list[list[float]]:
        if self._grid:
            return self.plans.swap_values(place, node, plan)
        return [
            [
                self.plan_value(place, node, [*plan[:ahead], n, *plan[ahead + 1 :]])
                for n in range(len(one.options))
            ]
            for ahead, one in enumerate(self._problem.passes[place:], start=place)
        ]

    def states(self) -> int:
        return int(self._memo.count[0])


def exact_target(problem: Problem, solver: BackwardSolver, need: Fraction, first: int) -> PackedTarget | None:
    """A solver for "at least `need` hundredths" that compares exactly; None when its states do not fit."""
    return _fitting(problem, solver, need, first, 0)


def grid_target(problem: Problem, solver: BackwardSolver, need: Fraction, first: int) -> PackedTarget | None:
    """The same on the finest grid that fits, for programs too large for `needs_target`."""
    found = (_fitting(problem, solver, need, first, grid) for grid in GRIDS)
    return next((one for one in found if one is not None), None)


def _fitting(
    problem: Problem, solver: BackwardSolver, need: Fraction, first: int, grid: int
) -> PackedTarget | None:
    try:
        found = PackedTarget(problem, solver, need, grid)
        _, node = found.start(problem.histories, problem.changes_done, first)
        low = found.option_values(first, node)
        bound = None
        if grid:
            above = PackedTarget(problem, solver, need, grid, up=True)
            _, start = above.start(problem.histories, problem.changes_done, first)
            pairs = zip(above.option_values(first, start), low, strict=True)
            apart = [high - value for high, value in pairs if high is not None and value is not None]
            bound = max(0.0, *apart, found.plans.distance(first, node))
        found.accept(bound)
        return found
    except Overflow:
        return None
