"""How one possible world moves on: what an attempt gains and what is known afterwards.

Three mechanics share one protocol: `TallyMechanics` (free skating by the judge, slow), `PackedMechanics`
(free skating by the compiled loops) and, in `app.planner.short_mechanics`, the short program, settled at the
end. Keys are hashable; gains are hundredths.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any, NamedTuple, Protocol

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.legality.judge import Judged, judge
from app.legality.tally import Tally
from app.planner.backward import BackwardSolver
from app.planner.problem import Attempt, History, Option, Problem
from app.scoring.base_value import base_value
from app.scoring.execution import grade_worth

Key = Any


class Move(NamedTuple):
    """One outcome of an attempt in one world."""

    attempt: Attempt
    gain: float
    key: Key


class Mechanics(Protocol):
    """What a world solver needs of the rules."""

    def start(self, history: History, changes: int, place: int) -> tuple[float, Key]:
        """Points already certain and the key of a history before pass `place`."""
        ...

    def moves(self, place: int, option: Option, number: int, key: Key) -> Sequence[Move]:
        """Every outcome of trying `option`, the `number`th of pass `place`."""
        ...

    def landed(self, place: int, option: Option, number: int, key: Key) -> Key:
        """The key behind an option that becomes itself."""
        ...

    def end(self, key: Key) -> float:
        """Points that only the end settles."""
        ...

    def bounds(self, place: int, key: Key) -> Sequence[float]:
        """For every option of a pass, a value it surely does not exceed."""
        ...


def attempts_of(option: Option, fell: bool) -> tuple[Attempt, ...]:
    """What an option may become, given whether the pass before ended in a fall."""
    return option.after_fall if fell else option.attempts


def itself(option: Option) -> Attempt:
    """The attempt that becomes what was tried."""
    element = None if option.code is None else parse_jump_element(option.code)
    return Attempt(Fraction(0), element, Fraction(0), False, False)


@dataclass(frozen=True, slots=True)
class TallyKey:
    """A free skating so far: tally, falls, fall just before, bonus of the last late places."""

    tally: Tally
    falls: int
    fell: bool
    late: tuple[int, ...]


class TallyMechanics:
    """A free skating ruled by `app.legality.judge`, one element at a time."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._book = problem.edition
        self._judge = lru_cache(maxsize=200_000)(self._judged)
        self._falls_void = self._book.bonuses is not None and self._book.bonuses.void_fall
        # Nothing is known to bound an option: all are tried.
        self._no_bounds = [[float("inf")] * len(one.options) for one in problem.passes]

    def _judged(self, tally: Tally, element: JumpElement, fall: bool) -> Judged:
        return judge(self._book, tally, element, fall)

    def start(self, history: History, changes: int, place: int) -> tuple[float, Key]:
        key = TallyKey(Tally(), 0, False, ())
        for done in history.done:
            _, _, key = self.after(key, done.element, done.late, done.fall)
        return 0.0, key

    def moves(self, place: int, option: Option, number: int, key: Key) -> Sequence[Move]:
        return [self.move(place, attempt, key) for attempt in attempts_of(option, key.fell)]

    def move(self, place: int, attempt: Attempt, key: TallyKey) -> Move:
        ruled, bonus, after = self.after(key, attempt.element, self._problem.passes[place].late, attempt.fall)
        gain = -float(self._book.fall_deduction(key.falls + 1)) if attempt.fall else 0.0
        if ruled is not None:
            numerator, denominator = grade_worth(self._book, ruled)
            gain += bonus + base_value(self._book, ruled) + float(attempt.grade) * numerator / denominator
        return Move(attempt, gain, after)

    def after(
        self, key: TallyKey, element: JumpElement | None, late: bool, fall: bool
    ) -> tuple[JumpElement | None, int, TallyKey]:
        """The element as ruled after `key`, its bonus in hundredths, and the key behind it."""
        falls = key.falls + fall
        if element is None:
            return None, 0, TallyKey(key.tally, falls, fall, key.late)
        voids = fall and self._falls_void
        judged = self._judge(key.tally, element, voids)
        ruled = judged.verdict.element
        assert isinstance(ruled, JumpElement), "a jump element stays one"
        places = key.late
        last = self._book.rules.late.last
        if late and last:
            bonus = base_value(self._book, ruled, True) - base_value(self._book, ruled)
            places = (*places, bonus)[-last:]
        return ruled, judged.verdict.bonus, TallyKey(judged.tally, falls, fall, places)

    def landed(self, place: int, option: Option, number: int, key: Key) -> Key:
        return self.move(place, itself(option), key).key

    def end(self, key: Key) -> float:
        return float(sum(key.late))

    def bounds(self, place: int, key: Key) -> Sequence[float]:
        return self._no_bounds[place]


class PackedMechanics:
    """A free skating in the compiled loops."""

    def __init__(self, solver: BackwardSolver) -> None:
        self._solver = solver

    def start(self, history: History, changes: int, place: int) -> tuple[float, Key]:
        return self._solver.node(history, changes, place)

    def moves(self, place: int, option: Option, number: int, key: Key) -> Sequence[Move]:
        return [
            Move(attempt, *self._solver.after(place, key, outcome, option.change))
            for attempt, outcome in self._solver.outcomes(place, number, key)
        ]

    def landed(self, place: int, option: Option, number: int, key: Key) -> Key:
        return self._solver.landed(place, key, number)

    def end(self, key: Key) -> float:
        return 0.0

    def bounds(self, place: int, key: Key) -> Sequence[float]:
        # A skater who knew which world this is could do at least as well.
        values = self._solver.option_values(place, key)
        return [float("-inf") if value is None else value for value in values]

    def value(self, place: int, key: Key) -> float:
        """The optimum in a world that is certain."""
        return self._solver.value(place, key)

    def plan_value(self, place: int, key: Key, plan: Sequence[int]) -> float:
        """Value of a fixed plan in one world."""
        return self._solver.plan_value(place, key, plan)

    def swap_values(self, place: int, key: Key, plan: Sequence[int]) -> list[list[float]]:
        """Values of each single departure from a plan in one world."""
        return self._solver.swap_values(place, key, plan)
