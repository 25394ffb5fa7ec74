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
from app.legality.judge import judge
from app.legality.tally import Tally
from app.planner.backward import BackwardSolver
from app.planner.problem import Attempt, History, Option, Problem
from app.planner.relaxed import RelaxedBounds
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

    def bounds(self, place: int, key: Key, changes: int) -> Sequence[float]:
        """For every option of a pass, a value it surely does not exceed after so many changes."""
        ...


def attempts_of(option: Option, fell: bool) -> tuple[Attempt, ...]:
    """What an option may become, given whether the pass before ended in a fall."""
    return option.after_fall if fell else option.attempts


def itself(option: Option) -> Attempt:
    """The attempt that becomes what was tried."""
    element = None if option.code is None else parse_jump_element(option.code)
    return Attempt(Fraction(0), element, Fraction(0), False, False)


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """A tally; one object for equal ones within one mechanics, compared by identity, so that keys compare fast."""

    tally: Tally


@dataclass(frozen=True, slots=True)
class TallyKey:
    """A free skating so far: tally, falls, fall just before, bonus of the last late places.

    Falls beyond what the deductions tell apart, and a fall that no later chance looks at, are not kept.
    """

    stand: Stand
    falls: int
    fell: bool
    late: tuple[int, ...]


class Ruled(NamedTuple):
    """One element as ruled after a stand: its points, and the stand behind it. Hundredths."""

    element: JumpElement
    points: int
    """Base value and bonus."""
    late_bonus: int
    grade: float
    """What a grade is worth."""
    bonus: int
    stand: Stand


class TallyMechanics:
    """A free skating ruled by `app.legality.judge`, one element at a time."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._book = problem.edition
        self._ruled = lru_cache(maxsize=200_000)(self._rule)
        self._stand = lru_cache(maxsize=None)(Stand)
        self._most_falls = len(self._book.rules.falls.each) - 1
        self._looks_at_fall = any(
            option.after_fall is not option.attempts for one in problem.passes for option in one.options
        )
        self._grades = {
            id(attempt): float(attempt.grade)
            for one in problem.passes
            for option in one.options
            for attempt in (*option.attempts, *option.after_fall)
        }
        self._falls_void = self._book.bonuses is not None and self._book.bonuses.void_fall
        # The loops bound the options where they know most of the rules; else all are tried.
        self._relaxed = RelaxedBounds.of(problem)
        self._no_bounds = [[float("inf")] * len(one.options) for one in problem.passes]

    def _rule(self, stand: Stand, element: JumpElement, fall: bool) -> Ruled:
        judged = judge(self._book, stand.tally, element, fall)
        ruled = judged.verdict.element
        assert isinstance(ruled, JumpElement), "a jump element stays one"
        numerator, denominator = grade_worth(self._book, ruled)
        plain = base_value(self._book, ruled)
        late_bonus = base_value(self._book, ruled, True) - plain if self._book.rules.late.last else 0
        bonus = judged.verdict.bonus
        worth = numerator / denominator
        return Ruled(ruled, plain + bonus, late_bonus, worth, bonus, self._stand(judged.tally))

    def start(self, history: History, changes: int, place: int) -> tuple[float, Key]:
        key = TallyKey(self._stand(Tally()), 0, False, ())
        for done in history.done:
            _, _, key = self.after(key, done.element, done.late, done.fall)
        return 0.0, key

    def moves(self, place: int, option: Option, number: int, key: Key) -> Sequence[Move]:
        return [self.move(place, attempt, key) for attempt in attempts_of(option, key.fell)]

    def move(self, place: int, attempt: Attempt, key: TallyKey) -> Move:
        gain = -float(self._book.fall_deduction(key.falls + 1)) if attempt.fall else 0.0
        if attempt.element is None:
            return Move(attempt, gain, self._behind(key, None, False, attempt.fall))
        ruled = self._ruled(key.stand, attempt.element, attempt.fall and self._falls_void)
        gain += ruled.points + self._grade(attempt) * ruled.grade
        late = self._problem.passes[place].late
        return Move(attempt, gain, self._behind(key, ruled, late, attempt.fall))

    def _grade(self, attempt: Attempt) -> float:
        """The grade as a float, kept: by identity, the attempts live as long as the problem."""
        known = self._grades.get(id(attempt))
        return float(attempt.grade) if known is None else known

    def _behind(self, key: TallyKey, ruled: Ruled | None, late: bool, fall: bool) -> TallyKey:
        falls = min(key.falls + fall, self._most_falls)
        fell = fall and self._looks_at_fall
        if ruled is None:
            return TallyKey(key.stand, falls, fell, key.late)
        last = self._book.rules.late.last
        places = (*key.late, ruled.late_bonus)[-last:] if late and last else key.late
        return TallyKey(ruled.stand, falls, fell, places)

    def after(
        self, key: TallyKey, element: JumpElement | None, late: bool, fall: bool
    ) -> tuple[JumpElement | None, int, TallyKey]:
        """The element as ruled after `key`, its bonus in hundredths, and the key behind it."""
        if element is None:
            return None, 0, self._behind(key, None, late, fall)
        ruled = self._ruled(key.stand, element, fall and self._falls_void)
        return ruled.element, ruled.bonus, self._behind(key, ruled, late, fall)

    def landed(self, place: int, option: Option, number: int, key: Key) -> Key:
        return self.move(place, itself(option), key).key

    def end(self, key: Key) -> float:
        return float(sum(key.late))

    def bounds(self, place: int, key: Key, changes: int) -> Sequence[float]:
        if self._relaxed is None:
            return self._no_bounds[place]
        return self._relaxed.bounds(place, key.stand.tally, key.falls, key.fell, key.late, changes)


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

    def bounds(self, place: int, key: Key, changes: int) -> Sequence[float]:
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
