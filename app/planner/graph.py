"""All states a packable program can still come to, numbered, with their edges: for questions about the whole program.

`BackwardSolver` looks at few states, because bounds leave the rest out. A distribution of points, or chances for every
need at once, must see them all; a usual layout has some ten thousand.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from app.planner.kernels import graph as k, layout, search
from app.planner.solver import Node

SMALL, MOST_STATES = 1 << 15, 1 << 17
"""Room for states, at first and at most."""
MOST_EDGES = 1 << 24
"""Untouched pages cost no memory."""
WORLDS = 1 << 18
"""States with their points, of all passes together; a power of two, as look-ups want it."""
TIE = 1e-7


class TooLarge(Exception):
    """More states than MOST_STATES, or more edges than MOST_EDGES; never leaves this package."""


class ProgramGraph:
    """Every state from one node on. Raises TooLarge."""

    def __init__(self, tables: layout.Tables, place: int, node: Node) -> None:
        self.place = place
        self.tables = tables
        states = SMALL if tables.rules[layout.R_CHANGES] >= 0 else MOST_STATES
        while not self._expanded(node, states):
            states *= 4
            if states > MOST_STATES:
                raise TooLarge

    def _expanded(self, node: Node, states: int) -> bool:
        passes = int(self.tables.rules[layout.R_PASSES])
        self._keys = np.zeros((4 * states, 5), dtype=np.int64)
        self.graph = k.Graph(
            states=np.empty((states, 3), dtype=np.int64),
            first=np.zeros(passes + 1, dtype=np.int64),
            edges=np.empty(states + 1, dtype=np.int64),
            child=np.empty(MOST_EDGES, dtype=np.int32),
            gain=np.empty(MOST_EDGES),
        )
        return bool(k.expand(self.place, *node, self.tables, self._keys, self.graph) != k.FULL)

    def states(self) -> int:
        """How many states there are."""
        return int(self.graph.first[-1])

    def number(self, place: int, node: Node) -> int | None:
        """Number of a state before a pass; None when the program cannot come to it."""
        if place == self.place:
            return 0 if tuple(self.graph.states[0]) == tuple(node) else None
        at = search.find(self._keys, layout.EXACT, place, *node)
        return int(self._keys[at, 4]) if self._keys[at, 0] else None

    def optimum(self) -> tuple[Any, Any]:
        """Expected points from every state on (hundredths), and its best option by index in its pass."""
        value, best = np.empty(self.states()), np.empty(self.states(), dtype=np.int64)
        k.expected(self.place, self.tables, self.graph, TIE, value, best)
        return value, best

    def spread(self, best: Any, scale: int) -> tuple[Any, Any, int]:
        """Points and chances of every end when states try their `best` option, and the grid they stand on.

        Points are whole numbers of 1 / `scale` hundredths; gains are rounded to the nearest multiple of the grid,
        which is 1 (exact) as long as there is room.
        """
        grid = 1
        while True:
            keys, worlds = np.zeros((4 * WORLDS, 3), dtype=np.int64), np.zeros((WORLDS, 2), dtype=np.int64)
            weights = np.zeros(WORLDS)
            start, end = k.spread(
                self.place, scale, grid, self.tables, self.graph, best, keys, worlds, weights
            )
            if end != k.FULL:
                return worlds[start:end, 1] * grid, weights[start:end], grid
            grid *= 10
