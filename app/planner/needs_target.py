"""The aim "at least" on the whole graph of a program: a chance surely reached, and how far the truth may lie above.

Chances for all needs come from `kernels.needs`, on the finest grid that the work allows, rounded so that none is too
low. What is answered is the chance truly reached by trying, at every state, the option with the greatest of them; the
bound is the distance between the two.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from app.planner.backward import BackwardSolver
from app.planner.graph import ProgramGraph
from app.planner.kernels import layout as k
from app.planner.needs_table import Plans, Table
from app.planner.packed_target import exact_scale
from app.planner.problem import History, Problem
from app.planner.solver import Node

SLACK = 1e-5
"""Stored chances are rounded to single precision."""


class NeedsTarget:
    """Chances as values; the face of every solver. Raises TooLarge when there are too many states."""

    def __init__(self, problem: Problem, solver: BackwardSolver, need: Fraction, first: int) -> None:
        self._problem = problem
        self._solver = solver
        scale = exact_scale(problem)
        assert scale is not None, "asked only where a scale exists"
        self._scale = scale
        self._need = -((-need * scale) // 1)
        self._plans = Plans(problem, solver.packed.tables, scale)
        _, node = self.start(problem.histories, problem.changes_done, first)
        self._tables = [Table(ProgramGraph(solver.packed.tables, first, node[:3]), scale)]
        self._bound = max(self._distance(first, node), self._plans.distance(first, node)) + SLACK

    def _distance(self, place: int, node: Node) -> float:
        """How far the greatest chance of an option may lie above the one surely reached."""
        table, state = self._at(place, node)
        need, options = node[3], range(len(self._problem.passes[place].options))
        apart = [
            table.highest(place, state, n, need) - table.reached(place, state, need, n)
            for n in options
            if self._open(place, n, node)
        ]
        return max(0.0, *apart)

    def bound(self) -> float:
        """How far the true chance may lie above the value given."""
        return self._bound

    def _open(self, place: int, option: int, node: Node) -> bool:
        changes = (node[1] >> k.CHANGES) & 15
        return self._problem.leaves_a_way(place, self._problem.passes[place].options[option], changes)

    def _at(self, place: int, node: Node) -> tuple[Table, int]:
        for table in self._tables:
            if place >= table.graph.place:
                state = table.graph.number(place, node[:3])
                if state is not None:
                    return table, state
        self._tables.append(Table(ProgramGraph(self._solver.packed.tables, place, node[:3]), self._scale))
        return self._tables[-1], 0

    def start(self, histories: Sequence[History], changes: int, place: int) -> tuple[float, Node]:
        certain, node = self._solver.start(histories, changes, place)
        return 0.0, (*node, int(self._need - round(certain * self._scale)))

    def value(self, place: int, node: Node) -> float:
        if place == len(self._problem.passes):
            return float(node[3] <= 0)
        return max((value for value in self.option_values(place, node) if value is not None), default=0.0)

    def option_values(self, place: int, node: Node, floor: float = -1e18) -> list[float | None]:
        table, state = self._at(place, node)
        values: list[float | None] = []
        for n in range(len(self._problem.passes[place].options)):
            open_one = self._open(place, n, node)
            values.append(table.reached(place, state, node[3], n) if open_one else None)
        return [None if value is None or value < floor else value for value in values]

    def landed(self, place: int, node: Node, option: int) -> Node:
        tables = self._solver.packed.tables
        outcome = int(tables.options[tables.spans[place, 0] + option, k.X_LANDED])
        change = self._problem.passes[place].options[option].change
        gain, behind = self._solver.after(place, node[:3], outcome, change)
        return (*behind, int(node[3]) - round(gain * self._scale))

    def plan_value(self, place: int, node: Node, plan: Sequence[int]) -> float:
        return self._plans.value(place, node, plan)

    def swap_values(self, place: int, node: Node, plan: Sequence[int]) -> list[list[float]]:
        return self._plans.swap_values(place, node, plan)

    def states(self) -> int:
        return sum(table.graph.states() for table in self._tables)
