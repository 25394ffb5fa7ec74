"""How one possible world moves on: what an attempt gains and what is known afterwards.

Three mechanics share one protocol: `TallyMechanics` (free skating by the judge, slow), `ShortMechanics`
(short program, settled at the end) and `PackedMechanics` (free skating by the compiled loops). Keys are
hashable; gains are hundredths.
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
from app.legality.short_program import ShortElement, judge_short
from app.legality.tally import Tally
from app.planner.backward import BackwardSolver
from app.planner.problem import Attempt, History, Option, Problem
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value
from app.scoring.execution import grade_worth
from app.scoring.late_bonus import credited

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
        # Nothing is known to bound an option: all are tried.
        self._no_bounds = [[float("inf")] * len(one.options) for one in problem.passes]

    def _judged(self, tally: Tally, element: JumpElement) -> Judged:
        return judge(self._book, tally, element)

    def start(self, history: History, changes: int, place: int) -> tuple[float, Key]:
        key = TallyKey(Tally(), 0, False, ())
        for done in history.done:
            _, key = self.after(key, done.element, done.late, done.fall)
        return 0.0, key

    def moves(self, place: int, option: Option, number: int, key: Key) -> Sequence[Move]:
        return [self.move(place, attempt, key) for attempt in attempts_of(option, key.fell)]

    def move(self, place: int, attempt: Attempt, key: TallyKey) -> Move:
        ruled, after = self.after(key, attempt.element, self._problem.passes[place].late, attempt.fall)
        gain = -float(self._book.fall_deduction(key.falls + 1)) if attempt.fall else 0.0
        if ruled is not None:
            numerator, denominator = grade_worth(self._book, ruled)
            gain += base_value(self._book, ruled) + float(attempt.grade) * numerator / denominator
        return Move(attempt, gain, after)

    def after(
        self, key: TallyKey, element: JumpElement | None, late: bool, fall: bool
    ) -> tuple[JumpElement | None, TallyKey]:
        """The element as ruled after `key`, and the key behind it."""
        falls = key.falls + fall
        if element is None:
            return None, TallyKey(key.tally, falls, fall, key.late)
        judged = self._judge(key.tally, element)
        ruled = judged.verdict.element
        assert isinstance(ruled, JumpElement), "a jump element stays one"
        places = key.late
        last = self._book.rules.late.last
        if late and last:
            bonus = base_value(self._book, ruled, True) - base_value(self._book, ruled)
            places = (*places, bonus)[-last:]
        return ruled, TallyKey(judged.tally, falls, fall, places)

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


@dataclass(frozen=True, slots=True)
class ShortStep:
    """One element of a short program so far; grade None: done before the planner was asked."""

    element: JumpElement
    failed: bool
    late: bool
    grade: float | None


@dataclass(frozen=True, slots=True)
class ShortKey:
    """A short program so far."""

    steps: tuple[ShortStep, ...]
    falls: int
    fell: bool


@dataclass(frozen=True, slots=True)
class ShortWorth:
    """One element of a finished short program: base value plain and late, a grade's worth, floor forced."""

    plain: int
    late: int
    exact_grade: Fraction
    floored: bool

    @property
    def grade(self) -> float:
        return float(self.exact_grade)


FLOOR = -5.0


class ShortMechanics:
    """A short program: nothing is certain before the end, where it is judged whole."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._book = problem.edition
        self._judged_once = lru_cache(maxsize=200_000)(self._judged)
        self._full = [
            [self._expected(place, one) for one in p.options] for place, p in enumerate(problem.passes)
        ]
        best = [max(values) for values in self._full]
        self._rest = [sum(best[place + 1 :]) for place in range(len(best))]

    def start(self, history: History, changes: int, place: int) -> tuple[float, Key]:
        steps = tuple(
            ShortStep(one.element, one.failed, one.late, None) for one in history.done if one.element
        )
        falls = sum(one.fall for one in history.done)
        fell = bool(history.done) and history.done[-1].fall
        key = ShortKey(steps, falls, fell)
        return -float(sum(one.plain for one in self.worths(key))), key

    def moves(self, place: int, option: Option, number: int, key: Key) -> Sequence[Move]:
        return [self.move(place, attempt, key) for attempt in attempts_of(option, key.fell)]

    def move(self, place: int, attempt: Attempt, key: ShortKey) -> Move:
        """One attempt added to a short program."""
        gain = -float(self._book.fall_deduction(key.falls + 1)) if attempt.fall else 0.0
        steps = key.steps
        if attempt.element is not None:
            late = self._problem.passes[place].late
            steps = (*steps, ShortStep(attempt.element, attempt.failed, late, float(attempt.grade)))
        return Move(attempt, gain, ShortKey(steps, key.falls + attempt.fall, attempt.fall))

    def landed(self, place: int, option: Option, number: int, key: Key) -> Key:
        return self.move(place, itself(option), key).key

    def _judged(self, elements: tuple[tuple[JumpElement, bool], ...]) -> tuple[ShortWorth, ...]:
        verdicts = judge_short(self._book, [ShortElement(element, failed) for element, failed in elements])
        return tuple(
            _short_worth(self._book, one.element) for one in verdicts if isinstance(one.element, JumpElement)
        )

    def worths(self, key: ShortKey) -> tuple[ShortWorth, ...]:
        """Every element of a short program as the end would rule it."""
        return self._judged_once(tuple((one.element, one.failed) for one in key.steps))

    def end(self, key: Key) -> float:
        chosen = credited(self._book, [one.late for one in key.steps])
        total = 0.0
        for step, worth, late in zip(key.steps, self.worths(key), chosen, strict=True):
            total += worth.late if late else worth.plain
            if step.grade is not None:
                total += (FLOOR if worth.floored else step.grade) * worth.grade
        return total

    def bounds(self, place: int, key: Key) -> Sequence[float]:
        # Everything done and to come counted in full, the late factor wherever it could fall.
        so_far = sum(self._full_points(one.element, one.late, one.grade or 0.0) for one in key.steps)
        return [so_far + value + self._rest[place] for value in self._full[place]]

    def _expected(self, place: int, option: Option) -> float:
        late = self._problem.passes[place].late
        return max(
            sum(
                float(one.chance) * self._full_points(one.element, late, float(one.grade))
                for one in attempts
                if one.element
            )
            for attempts in (option.attempts, option.after_fall)
        )

    def _full_points(self, element: JumpElement, late: bool, grade: float) -> float:
        numerator, denominator = grade_worth(self._book, element)
        return base_value(self._book, element, late) + grade * numerator / denominator


def _short_worth(book: Edition, element: JumpElement) -> ShortWorth:
    numerator, denominator = grade_worth(book, element)
    floored = element.is_marked_combo or any(jump.starred for jump in element.jumps)
    return ShortWorth(
        base_value(book, element), base_value(book, element, True), Fraction(numerator, denominator), floored
    )
