"""What one layout is worth when it is kept until something is missed and then recovered as well as can be.

Kept until something is missed: as long as every attempt becomes itself, without a fall, the next pass is tried
as planned. From the first miss on the plan is adaptive, with at most so many changes: that is the planner's
optimum. With s_i the state in which everything before pass i landed, w_i its chance, and e_i the plan,

    value = sum_i w_i sum_o p(o | e_i) [ g(o, s_i) + (V_{i+1}(s_i . o) where o is a miss, else 0) ].

A plan that one would change although nothing went wrong is no plan: without this clause a layout could borrow
the strength of another by two certain swaps, and all layouts would look alike.

Points are hundredths, floats of exact data.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.domain.elements import JumpElement
from app.legality.judge import judge
from app.legality.tally import Tally
from app.planner.backward import BackwardSolver
from app.planner.mechanics import Mechanics, PackedMechanics
from app.planner.problem import Attempt, Option, Problem
from app.planner.short_mechanics import ShortMechanics
from app.planner.worlds import WorldNode, WorldSolver
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value
from app.scoring.execution import grade_worth
from app.scoring.late_bonus import credited

State = tuple[Any, int]
"""What a solver knows before a pass, and the changes made where the solver does not count them itself."""
Floats = NDArray[np.float64]

GRID = 5
"""Width of the score grid of `spread`, in hundredths."""
LEAST, MOST = -4_000, 20_000
"""Ends of that grid: no program of twelve passes comes near them."""
TIE = 1e-7


class Step(NamedTuple):
    """One outcome of an attempt: chance, hundredths gained, the state behind it."""

    attempt: Attempt
    chance: float
    gain: float
    behind: State


def with_plan(problem: Problem, plan: Sequence[int] | None, most: int | None) -> Problem:
    """The same passes with another plan (option numbers; None: every option is as good as planned)."""
    passes = []
    for place, one in enumerate(problem.passes):
        keep = None if plan is None else plan[place]
        options = tuple(
            replace(option, change=keep is not None and n != keep) for n, option in enumerate(one.options)
        )
        planned = one.planned if keep is None else options[keep].code
        passes.append(replace(one, planned=planned, options=options))
    return replace(problem, passes=tuple(passes), max_changes=most)


class Rest:
    """What is to come from any state of one problem, by the compiled loops or, in a short program, by worlds."""

    def __init__(self, problem: Problem, short: ShortMechanics | None = None) -> None:
        self.problem = problem
        self._backward = None if problem.edition.is_short else BackwardSolver(problem)
        self._mechanics: Mechanics = (
            PackedMechanics(self._backward) if self._backward else short or ShortMechanics(problem)
        )
        self._worlds = WorldSolver(problem, self._mechanics)

    def start(self) -> tuple[float, State]:
        """Points already certain, and the state before the first pass."""
        points, key = self._mechanics.start(self.problem.histories[0], 0, 0)
        return points, (key, 0)

    def steps(self, place: int, number: int, state: State) -> list[Step]:
        """Every outcome of trying option `number` of a pass."""
        key, changes = state
        option = self.problem.passes[place].options[number]
        changes += 0 if self._backward else option.change
        return [
            Step(move.attempt, float(move.attempt.chance), move.gain, (move.key, changes))
            for move in self._mechanics.moves(place, option, number, key)
        ]

    def value(self, place: int, state: State) -> float:
        """The optimum from a state on; behind the last pass, what only the end settles."""
        return self._worlds.value(place, self._node(state))

    def choice(self, place: int, state: State) -> int:
        """The best option of a pass; among equals the planned one, then the first."""
        if self._backward is not None:
            values = self._backward.option_values(place, state[0])
        else:
            values = self._worlds.option_values(place, self._node(state))
        best = max(value for value in values if value is not None)
        tied = [n for n, value in enumerate(values) if value is not None and value >= best - TIE]
        keep = self.problem.passes[place].keep
        return keep if keep is not None and keep in tied else tied[0]

    def plan_value(self, plan: Sequence[int]) -> float:
        """Value of trying exactly these options, whatever happens."""
        certain, state = self.start()
        return certain + self._worlds.plan_value(0, self._node(state), plan)

    def _node(self, state: State) -> WorldNode:
        return WorldNode(((1.0, state[0]),), state[1])


def landed(option: Option, attempt: Attempt) -> bool:
    """Did an attempt become what was tried, without a fall?"""
    became = None if attempt.element is None else str(attempt.element)
    return became == option.code and not attempt.fall


def step_along(rest: Rest, place: int, number: int, state: State) -> tuple[float, tuple[Step, ...]]:
    """An option tried while nothing was missed: expected points, misses followed to the end, and what landed."""
    option = rest.problem.passes[place].options[number]
    expected, along = 0.0, []
    for step in rest.steps(place, number, state):
        expected += step.chance * step.gain
        if landed(option, step.attempt):
            along.append(step)
        else:
            expected += step.chance * rest.value(place + 1, step.behind)
    return expected, tuple(along)


def recovered_value(rest: Rest, plan: Sequence[int]) -> float:
    """Expected points of a layout kept until something is missed. `rest`: of the problem with that plan."""
    total, start = rest.start()
    path: dict[State, float] = {start: 1.0}
    for place, number in enumerate(plan):
        behind: dict[State, float] = {}
        for state, weight in path.items():
            expected, along = step_along(rest, place, number, state)
            total += weight * expected
            for step in along:
                behind[step.behind] = behind.get(step.behind, 0.0) + weight * step.chance
        path = behind
    return total + sum(weight * rest.value(len(plan), state) for state, weight in path.items())


def spread(rest: Rest, plan: Sequence[int]) -> tuple[Floats, Floats]:
    """Chances of the final points under that policy: points of the grid in hundredths, and their chances.

    Every state is carried forward with the distribution of its points. A gain between two points of the grid is
    shared between them so that the mean stays exact.
    """
    grid = np.arange(LEAST, MOST + GRID, GRID, dtype=np.float64)
    certain, start = rest.start()
    points = np.zeros(grid.size)
    points[-LEAST // GRID] = 1.0
    layer: dict[tuple[State, bool], Floats] = {(start, False): _shifted(points, certain)}
    for place, number in enumerate(plan):
        option = rest.problem.passes[place].options[number]
        behind: dict[tuple[State, bool], Floats] = {}
        for (state, missed), so_far in layer.items():
            tried = rest.choice(place, state) if missed else number
            for step in rest.steps(place, tried, state):
                key = step.behind, missed or not landed(option, step.attempt)
                more = step.chance * _shifted(so_far, step.gain)
                behind[key] = behind[key] + more if key in behind else more
        layer = behind
    chances = np.zeros(grid.size)
    for (state, _), so_far in layer.items():
        chances += _shifted(so_far, rest.value(len(plan), state))
    return grid, chances


def _shifted(chances: Floats, hundredths: float) -> Floats:
    steps = hundredths / GRID
    whole = int(np.floor(steps))
    part = steps - whole
    found: Floats = (1.0 - part) * np.roll(chances, whole)
    return found + part * np.roll(chances, whole + 1) if part else found


def quantile(grid: Floats, chances: Floats, share: float) -> float:
    """The lowest points of the grid that are not passed with a chance of at least `share`."""
    return float(grid[int(np.searchsorted(np.cumsum(chances), share - 1e-12))])


def uncut_value(problem: Problem, plan: Sequence[int]) -> float:
    """What the attempts of a layout would be worth, each counted in full as it came, no rule looking at others.

    The difference to keeping the plan is what the rules take after misses: repeats, units too many, a lost Axel,
    in a short program a box without the jump it asks for.
    """
    book = problem.edition
    late = credited(book, [one.late for one in problem.passes])
    return sum(
        float(attempt.chance) * _alone(book, attempt, late[place])
        for place, number in enumerate(plan)
        for attempt in problem.passes[place].options[number].attempts
    )


def _alone(book: Edition, attempt: Attempt, late: bool) -> float:
    points = -float(book.fall_deduction(1)) if attempt.fall else 0.0
    element = attempt.element
    if element is not None and not book.is_short:
        ruled = judge(book, Tally(), element).verdict.element
        element = ruled if isinstance(ruled, JumpElement) else element
    if element is None:
        return points
    numerator, denominator = grade_worth(book, element)
    return points + base_value(book, element, late) + float(attempt.grade) * numerator / denominator
