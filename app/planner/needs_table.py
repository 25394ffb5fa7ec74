"""Tables of the chance to meet every need, for all states of a program: for every choice, and along a plan.

`kernels.needs` fills them on the finest grid that the work allows; a table is rounded so that no chance in it is too
low, or so that none is too high.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np

from app.planner.graph import WORLDS, ProgramGraph
from app.planner.kernels import layout as k, needs as kernel
from app.planner.kernels.rules import put
from app.planner.problem import Problem
from app.planner.solver import Node

GRIDS = (*(Fraction(1, n) for n in (100, 50, 20, 10, 5, 2)), *map(Fraction, (1, 2, 5, 10, 25, 50, 100)))
"""Grid widths in hundredths, tried from fine to coarse."""
MOST_WORK, MOST_PLAN_WORK = 6e8, 1e8
"""Additions that a table may cost (half a second, a tenth), for every choice and for one plan."""
MOST_CELLS, MOST_PLAN_CELLS = 60_000_000, 15_000_000
"""Chances kept at once, in single precision for every choice, in double for one plan."""
MEMO, MOST_MEMO = 1 << 16, 1 << 23


class Table:
    """The chance to meet every need, for every state of one graph; `up`: never too low, else never too high."""

    def __init__(
        self, graph: ProgramGraph, scale: int, plan: Sequence[int] | None = None, up: bool = True
    ) -> None:
        self.graph = graph
        chosen = plan or [kernel.ANY] * int(graph.tables.rules[k.R_PASSES])
        self._plan = np.array(chosen, dtype=np.int64)
        self.needs = self._ranged(scale, up)
        kernel.chances(graph.place, self._plan, graph.tables, graph.graph, self.needs)
        self._fine = 1
        self._empty_memo(MEMO)

    def _ranged(self, scale: int, up: bool) -> kernel.Needs:
        """The finest table that the work allows, its chances not yet filled in."""
        free = self._plan[self.graph.place] == kernel.ANY
        most, most_cells = (MOST_WORK, MOST_CELLS) if free else (MOST_PLAN_WORK, MOST_PLAN_CELLS)
        work, needs = self._on_grid(scale, 1, up)
        cells = int((needs.high - needs.low).sum())
        widths = [width for width in GRIDS if (width * scale).denominator == 1]
        fits = (width for width in widths if work / width <= most and cells / width <= most_cells)
        _, needs = self._on_grid(scale, next(fits, widths[-1]), up)
        counts = needs.high - needs.low
        needs.offset[1:] = np.cumsum(counts)[:-1]
        kind = np.float32 if free else np.float64
        return needs._replace(cells=np.empty(int(counts.sum()) + 1, dtype=kind))

    def _on_grid(self, scale: int, width: Fraction | int, up: bool) -> tuple[float, kernel.Needs]:
        """Ranges of needs on a grid of so many hundredths, and the additions that its chances would cost."""
        unit = np.array([scale, int(width * scale), up], dtype=np.int64)
        low, high, offset = (np.zeros(self.graph.states(), dtype=np.int64) for _ in range(3))
        needs = kernel.Needs(unit, low, high, offset, np.empty(1, dtype=np.float64))
        return kernel.ranges(self.graph.place, self._plan, self.graph.tables, self.graph.graph, needs), needs

    def _empty_memo(self, size: int) -> None:
        self._keys = np.zeros((size, 2), dtype=np.int64)
        self._values, self._count = np.zeros(size), np.zeros(2, dtype=np.int64)

    def highest(self, place: int, state: int, option: int, need: int) -> float:
        """No less than the chance that an option can reach."""
        graph = self.graph
        return float(kernel.option_chance(place, state, option, need, graph.tables, graph.graph, self.needs))

    def reached(self, place: int, state: int, need: int, option: int) -> float:
        """Chance surely reached when `option` is tried now, and then always the best by the table."""
        graph = self.graph
        while True:
            found = kernel.follow(
                place, state, need, option, self._fine, graph.tables, graph.graph, self.needs,
                self._keys, self._values, self._count,
            )  # fmt: skip
            if not self._count[1]:
                return float(found)
            size = 8 * self._keys.shape[0]
            if size > MOST_MEMO:
                size, self._fine = MEMO, max(self._fine * 10, int(self.needs.unit[kernel.U_SCALE]))
            self._empty_memo(size)

    def departures(self, need: int) -> Any:
        """Chance of each single departure from the plan, by pass and option, from the graph's first state."""
        keys, room = np.zeros((4 * WORLDS, 3), dtype=np.int64), np.zeros((WORLDS, 2), dtype=np.int64)
        graph, weights = self.graph, np.zeros(WORLDS)
        found = kernel.departures(
            graph.place, need, self._plan, graph.tables, graph.graph, self.needs, keys, room, weights
        )
        assert len(found), "a plan leads to fewer worlds than WORLDS"
        return found


def one_departure(tables: k.Tables, plan: Sequence[int]) -> k.Tables:
    """The same program with `plan` as its planned options and one change at most."""
    chosen = tables.spans[:, 0] + np.array(plan, dtype=np.int64)
    rules, options = tables.rules.copy(), tables.options.copy()
    rules[k.R_CHANGES] = 1
    options[:, k.X_CHANGE], options[:, k.X_LIMIT] = 1, 0
    options[chosen, k.X_CHANGE], options[chosen, k.X_LIMIT] = 0, 15
    return tables._replace(rules=rules, options=options)


class PlanTables:
    """Chances of a plan and of each single departure from it: surely reached, and how far above the truth may lie."""

    def __init__(self, tables: k.Tables, scale: int, place: int, node: Node, plan: Sequence[int]) -> None:
        a, b, c, need = node
        start = (a, int(put(b, k.CHANGES, 4, 0)), c)
        graph = ProgramGraph(one_departure(tables, plan), place, start)
        self.reached = Table(graph, scale, plan, up=False).departures(need)
        above = Table(graph, scale, plan, up=True).departures(need)
        self.bound = float(np.nanmax(above[place:] - self.reached[place:]))


class Plans:
    """Chances along plans of one problem, each plan worked out once."""

    def __init__(self, problem: Problem, tables: k.Tables, scale: int) -> None:
        self._problem = problem
        self._tables = tables
        self._scale = scale
        self._found: dict[tuple[int, Node, tuple[int, ...]], PlanTables] = {}

    def _of(self, place: int, node: Node, plan: Sequence[int]) -> PlanTables:
        key = (place, node, tuple(plan))
        if key not in self._found:
            self._found[key] = PlanTables(self._tables, self._scale, place, node, plan)
        return self._found[key]

    def distance(self, place: int, node: Node) -> float:
        """How far the truth may lie above the chances of keeping the plan and of each single swap."""
        keeps = [one.keep for one in self._problem.passes]
        if any(keep is None for keep in keeps[place:]):
            return 0.0
        return self._of(place, node, [keep or 0 for keep in keeps]).bound

    def value(self, place: int, node: Node, plan: Sequence[int]) -> float:
        """Chance surely reached by trying exactly these options from `place` on."""
        return float(self._of(place, node, plan).reached[place][plan[place]])

    def swap_values(self, place: int, node: Node, plan: Sequence[int]) -> list[list[float]]:
        """Chance surely reached by each single departure from `plan`, by pass from `place` on and by option."""
        rows = zip(self._of(place, node, plan).reached[place:], self._problem.passes[place:], strict=True)
        return [[float(x) for x in row[: len(one.options)]] for row, one in rows]
