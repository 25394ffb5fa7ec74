"""The greatest chance to reach a number of points, instead of the most points.

The recursion is that of `worlds`, with the points still needed as part of every world:

    V_n = chance of the worlds whose need is met,   V_i(W) = max_e  sum over what is seen  V_{i+1}(W given seen)

(worlds carry their whole chance, so nothing is divided). Points are exact fractions; a need below the worst or above
the best that can still come ends a world early. Where exact needs are too many, gains are rounded to a grid,
down for what is surely reached and up for what is surely not missed: `bound()` is the distance between the two.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor

from app.domain.words import say
from app.errors import InputError
from app.planner.exact_moves import ExactKey, ExactMoves
from app.planner.problem import History, Option, Problem
from app.planner.solver import Node

EXACT_STEPS = 150_000
"""Attempts the exact recursion may look at before the grid takes over."""
GRIDS = (Fraction(5), Fraction(10), Fraction(25), Fraction(50), Fraction(100))
"""Grid widths in hundredths, tried from fine to coarse."""

World = tuple[Fraction, ExactKey, Fraction]
"""Chance, key, points still needed (hundredths)."""


class TooManySteps(Exception):
    """The recursion outgrew its budget; never leaves this module."""


class TargetSolver:
    """Chances as values; the same face as the other solvers. `grid` None: exact."""

    def __init__(
        self, problem: Problem, need: Fraction, grid: Fraction | None = None, up: bool = False
    ) -> None:
        self._problem = problem
        self._need = need
        self._grid = grid
        self._up = up
        self._moves = ExactMoves(problem)
        self._memo: dict[tuple[int, tuple[World, ...], int], Fraction] = {}
        self._steps_left = EXACT_STEPS * (1 if grid is None else 4)
        self._accepted = False
        self._bound: float | None = None

    def bound(self) -> float | None:
        """How far the true chance may lie above the value given; None when exact."""
        return self._bound

    def accept(self, bound: float | None = None) -> None:
        """The optimum was found within the budget: what else is asked of it costs little more."""
        self._accepted = True
        self._bound = bound

    def start(self, histories: Sequence[History], changes: int, place: int) -> tuple[float, Node]:
        worlds = []
        for history in histories:
            certain, key = self._moves.start(history)
            worlds.append((history.chance, key, self._need - certain))
        return 0.0, (_merged(worlds), changes)

    def value(self, place: int, node: Node) -> float:
        worlds, changes = _parts(node)
        return float(self._value(place, worlds, changes))

    def _value(self, place: int, worlds: tuple[World, ...], changes: int) -> Fraction:
        settled, open_worlds = self._settled(place, worlds)
        if not open_worlds:
            return settled
        key = (place, open_worlds, changes)
        known = self._memo.get(key)
        if known is None:
            known = self._best(place, open_worlds, changes)
            self._memo[key] = known
        return settled + known

    def _settled(self, place: int, worlds: tuple[World, ...]) -> tuple[Fraction, tuple[World, ...]]:
        """Chance of worlds that surely get there, and the worlds still undecided."""
        met = Fraction(0)
        undecided = []
        for chance, key, need in worlds:
            least, most = self._moves.reach(place, key)
            if place == len(self._problem.passes):
                met += chance * (self._moves.end(key) >= need)
            elif need <= least:
                met += chance
            elif need <= most:
                undecided.append((chance, key, need))
        return met, tuple(undecided)

    def _best(self, place: int, worlds: tuple[World, ...], changes: int) -> Fraction:
        best = Fraction(-(10**18))
        everything = sum((chance for chance, _, _ in worlds), Fraction(0))
        for option in self._problem.passes[place].options:
            if self._problem.leaves_a_way(place, option, changes):
                best = max(best, self._option(place, option, worlds, changes))
                if best == everything:
                    break
        return best

    def _option(self, place: int, option: Option, worlds: tuple[World, ...], changes: int) -> Fraction:
        groups: dict[tuple[str, bool, bool, Fraction], list[World]] = {}
        for chance, key, need in worlds:
            for attempt, gain, behind in self._moves.moves(place, option, key):
                self._steps_left -= 1
                seen = (str(attempt.element), attempt.fall, attempt.error, attempt.grade)
                groups.setdefault(seen, []).append(
                    (chance * attempt.chance, behind, need - self._rounded(gain))
                )
        if self._steps_left < 0 and not self._accepted:
            raise TooManySteps
        after = changes + option.change
        return sum((self._value(place + 1, _merged(group), after) for group in groups.values()), Fraction(0))

    def _rounded(self, gain: Fraction) -> Fraction:
        if self._grid is None:
            return gain
        return self._grid * (ceil if self._up else floor)(gain / self._grid)

    def option_values(self, place: int, node: Node, floor: float = float("-inf")) -> list[float | None]:
        worlds, changes = _parts(node)
        return [
            float(self._option(place, option, worlds, changes))
            if self._problem.leaves_a_way(place, option, changes)
            else None
            for option in self._problem.passes[place].options
        ]

    def landed(self, place: int, node: Node, option: int) -> Node:
        worlds, changes = _parts(node)
        chosen = self._problem.passes[place].options[option]
        behind = []
        for chance, key, need in worlds:
            gain, after = self._moves.landed(place, chosen, key)
            behind.append((chance, after, need - self._rounded(gain)))
        return _merged(behind), changes + chosen.change

    def plan_value(self, place: int, node: Node, plan: Sequence[int]) -> float:
        worlds, changes = _parts(node)
        return float(self._follow(place, worlds, changes, tuple(plan[place:])))

    def _follow(self, place: int, worlds: tuple[World, ...], changes: int, plan: tuple[int, ...]) -> Fraction:
        met, undecided = self._settled(place, worlds)
        if not undecided or not plan:
            return met
        option = self._problem.passes[place].options[plan[0]]
        together: list[World] = []
        for chance, key, need in undecided:
            for attempt, gain, behind in self._moves.moves(place, option, key):
                together.append((chance * attempt.chance, behind, need - self._rounded(gain)))
        return met + self._follow(place + 1, _merged(together), changes, plan[1:])

    def swap_values(self, place: int, node: Node, plan: Sequence[int]) -> list[list[float]]:
        return [
            [
                self.plan_value(place, node, [*plan[:ahead], n, *plan[ahead + 1 :]])
                for n in range(len(one.options))
            ]
            for ahead, one in enumerate(self._problem.passes[place:], start=place)
        ]

    def states(self) -> int:
        return len(self._memo)


def _parts(node: Node) -> tuple[tuple[World, ...], int]:
    """A node as `start` and `landed` make it: its worlds and the changes so far."""
    worlds: tuple[World, ...] = node[0]
    changes: int = node[1]
    return worlds, changes


def _merged(worlds: Sequence[World]) -> tuple[World, ...]:
    together: dict[tuple[ExactKey, Fraction], Fraction] = {}
    for chance, key, need in worlds:
        together[key, need] = together.get((key, need), Fraction(0)) + chance
    return tuple((chance, key, need) for (key, need), chance in together.items())


def target_solver(problem: Problem, need: Fraction, first: int) -> tuple[TargetSolver, bool]:
    """A solver for "at least `need` hundredths", and whether it is exact.

    Raises InputError when even the coarsest grid outgrows its budget.
    """
    for grid in (None, *GRIDS):
        try:
            solver = TargetSolver(problem, need, grid)
            _, node = solver.start(problem.histories, problem.changes_done, first)
            low = max((v for v in solver.option_values(first, node) if v is not None), default=0.0)
            bound = None
            if grid is not None:
                above = TargetSolver(problem, need, grid, up=True)
                _, start = above.start(problem.histories, problem.changes_done, first)
                bound = max(0.0, above.value(first, start) - low)
            solver.accept(bound)
            return solver, grid is None
        except TooManySteps:
            continue
    raise InputError("aim", say("too many ways to reach a target here; give fewer options a pass"))
