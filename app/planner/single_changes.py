"""What keeping the plan is worth, and every single change to it, from many states of one program.

A large number of states is asked about (a phone that is to go on without the laptop), so the answer starts from
the tally, not from the passes done, and equal futures are asked about once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.legality.tally import Tally
from app.planner.backward import BackwardSolver
from app.planner.packing import packable
from app.planner.problem import read_problem
from app.planner.solver import Node
from app.requests import AdviseRequest, read_request

Future = tuple[int, Node]
"""Index of the next pass and what the loops keep of the passes done."""


@dataclass(frozen=True, slots=True)
class Changes:
    """From one future on. `keep` in hundredths, with the late bonus of passes done that is not certain yet.

    `gains`: (index of the pass, element or None, hundredths over `keep`), every change, whatever the limit.
    """

    keep: float
    gains: tuple[tuple[int, str | None, float], ...]


class SingleChanges:
    """Answers for one program; keeps what it answered. Not safe for two threads at once."""

    def __init__(self, request: AdviseRequest | Mapping[str, Any]) -> None:
        self._problem = read_problem(read_request(AdviseRequest, request))
        self._solver = BackwardSolver(self._problem)
        self._plan = [one.keep or 0 for one in self._problem.passes]
        self._known: dict[Future, NDArray[np.float64]] = {}
        rows = [
            [(place, option.code, option.change) for option in one.options]
            for place, one in enumerate(self._problem.passes)
        ]
        self._columns = [[cell for row in rows[place:] for cell in row] for place in range(len(rows))]

    @staticmethod
    def fits(request: AdviseRequest | Mapping[str, Any]) -> bool:
        """Whether the loops know this rulebook and every planned element is among the options."""
        problem = read_problem(read_request(AdviseRequest, request))
        return packable(problem) and all(one.keep is not None for one in problem.passes)

    def future(
        self, place: int, tally: Tally, bonuses: Sequence[int], falls: int, fell: bool, changes: int
    ) -> tuple[float, Future]:
        """Late bonus that is certain, in hundredths, and what is kept of the passes done.

        `bonuses`: late bonus in hundredths of each late element, in order.
        """
        certain, node = self._solver.node_of(place, tally, falls, fell, bonuses, changes)
        return certain, (place, node)

    def changes(self, future: Future) -> Changes:
        """Keeping the plan and leaving it once."""
        place, _ = future
        table = self._table(future).tolist()
        keep = table[self._plan[place]]
        gains = tuple(
            (at, code, value - keep)
            for (at, code, change), value in zip(self._columns[place], table, strict=True)
            if change
        )
        return Changes(keep, gains)

    def _table(self, future: Future) -> NDArray[np.float64]:
        """Value of each single change, pass after pass to come. With s' behind outcome o of the planned option:

        table(s)[later] = sum over o of p(o) (gain(o) + table(s')[later]); the first pass is the loops'.
        """
        if future not in self._known:
            place, node = future
            first, branches = self._solver.leave_now(place, node, self._plan)
            table = np.zeros(len(self._columns[place]))
            table[: len(first)] = first
            later = table[len(first) :]
            for chance, gain, behind in branches if len(later) else ():
                later += chance * (self._table((place + 1, behind)) + gain)
            self._known[future] = table
        return self._known[future]
