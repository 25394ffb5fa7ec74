"""The exact optimum in the compiled loops when it is not sure what just happened.

Same question as `app.planner.worlds`, for free skatings the loops know, where every reading of the program sees the
same outcomes with the same chances: a fall changes none, or all readings agree whether the latest pass was one. Then

    V_i(s_1 … s_k) = max_e  sum_o p(o) [ sum_r w_r g_i(o, s_r) + V_{i+1}(s_1 . o … s_k . o) ].

Where all readings leave the same state, the certain solver goes on. An option is worth no more than when it
were known afterwards which reading is right; by that bound options are ordered and left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from app.planner.backward import BARRED, BackwardSolver
from app.planner.kernels import belief
from app.planner.problem import History, Problem
from app.planner.solver import Node

MOST_READINGS = 8
FIRST_SIZE = 1 << 12


def believable(problem: Problem) -> bool:
    """Does this solver know the problem? The loops must know it too (`packing.packable`)."""
    options = (option for one in problem.passes for option in one.options)
    falls = {bool(one.done) and one.done[-1].fall for one in problem.histories}
    alike = len(falls) == 1 or all(option.after_fall is option.attempts for option in options)
    return len(problem.histories) <= MOST_READINGS and alike


class BeliefSolver:
    """Solves one problem over its own histories. A node is one packed state a history, in order."""

    def __init__(self, problem: Problem, certain: BackwardSolver) -> None:
        self._problem = problem
        self._certain = certain
        self._weights = np.array([float(one.chance) for one in problem.histories])
        self._grow(FIRST_SIZE)

    def _grow(self, size: int) -> None:
        self._size = size
        self._keys = np.zeros((size, 1 + 3 * len(self._weights)), dtype=np.int64)
        self._values = np.zeros(size)
        self._count = np.zeros(2, dtype=np.int64)

    def start(self, histories: Sequence[History], changes: int, place: int) -> tuple[float, Node]:
        starts = [self._certain.node(one, changes, place) for one in histories]
        sure = sum(w * points for w, (points, _) in zip(self._weights, starts, strict=True))
        return float(sure), tuple(node for _, node in starts)

    def value(self, place: int, node: Node) -> float:
        if place == len(self._problem.passes):
            return 0.0
        if len(set(node)) == 1:
            return self._certain.value(place, node[0])
        words = np.array(node, dtype=np.int64)
        at = belief.spot(self._keys, place, words)
        return float(self._values[at]) if self._keys[at, 0] else self._believe(place, words, -1)

    def _believe(self, place: int, words: Any, only: int) -> float:
        while True:
            tables, memo = self._certain.tables_and_memo()
            found = belief.believe(
                place, words, self._weights, only, tables, memo, self._keys, self._values, self._count
            )
            if self._certain.overflowed():
                continue
            if not self._count[1]:
                return float(found)
            self._grow(self._size * 4)

    def option_values(self, place: int, node: Node, floor: float = -1e18) -> list[float | None]:
        words = np.array(node, dtype=np.int64)
        first = int(self._certain.packed.tables.spans[place, 0])
        bounds = self._bounds(place, node, floor)
        values = [
            None if bound is None or bound < floor - belief.SLACK else self._believe(place, words, first + n)
            for n, bound in enumerate(bounds)
        ]
        return [None if value is None or value < BARRED else value for value in values]

    def _bounds(self, place: int, node: Node, floor: float) -> list[float | None]:
        """Worth of each option if it were known afterwards which reading is right; None where barred."""
        rows = [self._certain.option_values(place, one) for one in node]
        return [
            None if None in column else sum(w * v for w, v in zip(self._weights, column, strict=True))
            for column in zip(*rows, strict=True)
        ]

    def landed(self, place: int, node: Node, option: int) -> Node:
        return tuple(self._certain.landed(place, one, option) for one in node)

    def plan_value(self, place: int, node: Node, plan: Sequence[int]) -> float:
        values = [self._certain.plan_value(place, one, plan) for one in node]
        return float(np.dot(self._weights, values))

    def swap_values(self, place: int, node: Node, plan: Sequence[int]) -> list[list[float]]:
        """Nothing is chosen on the way, so every reading has its own values."""
        tables = [self._certain.swap_values(place, one, plan) for one in node]
        return [
            [float(np.dot(self._weights, values)) for values in zip(*rows, strict=True)]
            for rows in zip(*tables, strict=True)
        ]

    def states(self) -> int:
        return int(self._count[0]) + self._certain.states()
