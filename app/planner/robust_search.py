"""The best layouts under the coach's wishes: best first, in falling order of an upper bound.

A node is a layout whose first passes are chosen. Its bound: the chosen passes kept while everything lands; from
the first miss on, and behind the last chosen pass, any option at all without counting changes. That never gives
less than any layout which begins so, because whatever such a layout does is allowed there too. One solver serves
all nodes, so a bound costs a few look-ups.

A whole layout that comes to the top gets its exact value; the search ends when the bound of the next one does not
exceed the worst of the best found, and then nothing better is left out: proved. It stops early after
`MOST_EXACT` exact values or `MOST_OPENED` nodes, and then says so and names the bound that is still open.

Of two equal layouts the one nearer to today's comes first: each pass changed costs NEARER hundredths here, and
nowhere else.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from heapq import heappop, heappush
from itertools import count
from typing import NamedTuple

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.words import say
from app.legality.judge import judge
from app.legality.short_program import ShortElement, judge_short
from app.legality.tally import Tally
from app.legality.verdict import Verdict
from app.planner.problem import Problem
from app.planner.robust_value import Rest, State, recovered_value, step_along, with_plan
from app.planner.short_mechanics import ShortMechanics

NEARER = 0.1
TIE = 1e-6
MOST_EXACT = 400
MOST_OPENED = 20_000
Progress = Callable[[float, str], None]
Choices = tuple[int, ...]
"""Option numbers, one a pass."""


@dataclass(frozen=True, slots=True)
class Found:
    """One layout with its value after recovery, hundredths, and the passes that differ from today's."""

    choices: Choices
    value: float
    changed: int

    @property
    def rank(self) -> float:
        """What layouts are put in order by."""
        return self.value - NEARER * self.changed


@dataclass(frozen=True, slots=True)
class Search:
    """What was found, best first; `open_bound`: nothing left out is worth more, None: nothing is left out."""

    best: tuple[Found, ...]
    proved: bool
    open_bound: float | None
    evaluated: int


class _Node(NamedTuple):
    order: float
    depth: int
    tick: int
    choices: Choices
    path: tuple[tuple[float, State], ...]
    points: float
    changed: int
    tally: Tally | None


class LayoutSearch:
    """One search: `allowed` are the option numbers a layout may plan at each pass, today's among them or not."""

    def __init__(
        self,
        problem: Problem,
        today: Choices,
        allowed: Sequence[Sequence[int]],
        most_changed: int,
        wanted: int = 5,
    ) -> None:
        self._problem = problem
        self._today = today
        self._allowed = allowed
        self._most_changed = most_changed
        self._wanted = wanted
        self._short = ShortMechanics(problem) if problem.edition.is_short else None
        self._free = Rest(with_plan(problem, None, None), self._short)
        self._step = cache(lambda place, number, state: step_along(self._free, place, number, state))
        self._judge = cache(lambda tally, element: judge(problem.edition, tally, element))
        self._ticks = count()
        self._best: list[Found] = []
        self._evaluated = 0

    def rest_of(self, choices: Choices) -> Rest:
        """The solver of one layout under the limit on changes."""
        return Rest(with_plan(self._problem, choices, self._problem.max_changes), self._short)

    def run(self, seeds: Sequence[Found], progress: Progress) -> Search:
        """Search from layouts already valued. Calls `progress` with the share done, at most 1."""
        self._best = sorted(seeds, key=lambda one: -one.rank)
        known = {one.choices for one in seeds}
        heap: list[_Node] = [self._root()]
        opened = 0
        while heap and self._evaluated < MOST_EXACT and opened < MOST_OPENED:
            node = heappop(heap)
            if -node.order <= self._floor():
                return Search(tuple(self._best), True, None, self._evaluated)
            opened += 1
            if len(node.choices) < len(self._today):
                for one in self._children(node):
                    heappush(heap, one)
            elif node.choices not in known and self._is_legal(node.choices):
                self._value(node)
            share = max(self._evaluated / MOST_EXACT, opened / MOST_OPENED)
            progress(share, say("%(count)s layouts reckoned to the end", count=self._evaluated))
        left = -heap[0].order if heap else self._floor()
        proved = left <= self._floor()
        bound = None if proved else left + NEARER * min(self._most_changed, len(self._today))
        return Search(tuple(self._best), proved, bound, self._evaluated)

    def _root(self) -> _Node:
        certain, start = self._free.start()
        bound = certain + self._free.value(0, start)
        tally = None if self._short else Tally()
        return _Node(-bound, 0, next(self._ticks), (), ((1.0, start),), certain, 0, tally)

    def _floor(self) -> float:
        """What a layout must exceed to be wanted."""
        return self._best[-1].rank + TIE if len(self._best) >= self._wanted else float("-inf")

    def _value(self, node: _Node) -> None:
        value = recovered_value(self.rest_of(node.choices), node.choices)
        self._evaluated += 1
        self._best.append(Found(node.choices, value, node.changed))
        self._best.sort(key=lambda one: -one.rank)
        del self._best[self._wanted :]

    def _children(self, node: _Node) -> list[_Node]:
        place = len(node.choices)
        found = []
        for number in self._allowed[place]:
            changed = node.changed + (number != self._today[place])
            tally = self._after(node.tally, place, number)
            if changed <= self._most_changed and (tally is not None or self._short):
                child = self._child(node, number, changed, tally)
                if -child.order > self._floor():
                    found.append(child)
        return found

    def _child(self, node: _Node, number: int, changed: int, tally: Tally | None) -> _Node:
        place = len(node.choices)
        points, behind = node.points, dict[State, float]()
        for weight, state in node.path:
            expected, along = self._step(place, number, state)
            points += weight * expected
            for step in along:
                behind[step.behind] = behind.get(step.behind, 0.0) + weight * step.chance
        path = tuple((weight, state) for state, weight in behind.items())
        bound = points + sum(weight * self._free.value(place + 1, state) for weight, state in path)
        choices = (*node.choices, number)
        order = -(bound - NEARER * changed)
        return _Node(order, -len(choices), next(self._ticks), choices, path, points, changed, tally)

    def _after(self, tally: Tally | None, place: int, number: int) -> Tally | None:
        """The tally behind a planned element that counts; None: some jump of it would count for nothing."""
        if tally is None:
            return None
        judged = self._judge(tally, self._element(place, number))
        return judged.tally if counts(judged.verdict) else None

    def _is_legal(self, choices: Choices) -> bool:
        if not self._short:
            return True  # looked at pass by pass
        elements = [ShortElement(self._element(place, n)) for place, n in enumerate(choices)]
        return all(counts(one) for one in judge_short(self._problem.edition, elements))

    def _element(self, place: int, number: int) -> JumpElement:
        code = self._problem.passes[place].options[number].code
        assert code is not None, "a pass left out is no plan"
        return parse_jump_element(code)


def counts(found: Verdict) -> bool:
    """Does every jump count, in full or in part?"""
    return all(one.ruling == "part" for one in found.rulings)
