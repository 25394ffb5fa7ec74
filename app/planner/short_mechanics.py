"""How a short program moves on: nothing is certain before the end, where it is judged whole.

Judging is what costs. Rotation and edge calls of a jump in a unit may decide which of two jumps is the
lesser; those of a lone jump decide nothing, and whether an attempt failed decides only where `+COMBO` goes,
when there is no unit. So programs that differ in nothing else are judged once (`skeleton`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from app.domain.elements import JumpElement
from app.legality.bonus import bonus_of_all, most_bonus
from app.legality.short_program import ShortElement, judge_short, takes_the_lowest_grade
from app.legality.verdict import Verdict
from app.planner.mechanics import Key, Move, attempts_of, itself
from app.planner.problem import Attempt, History, Option, Problem
from app.scoring.base_value import base_value
from app.scoring.execution import grade_worth
from app.scoring.late_bonus import credited

FLOOR = -5.0


@dataclass(frozen=True, slots=True, eq=False)
class Bare:
    """An element as the judge of the whole needs it. One object for equal ones, compared by identity."""

    element: JumpElement
    failed: bool


@dataclass(frozen=True, slots=True, eq=False)
class Ruled:
    """A bare element with the stars and marks of its program. One object for equal ones."""

    element: JumpElement


@dataclass(frozen=True, slots=True, eq=False)
class ShortStep:
    """One element of a short program so far; grade None: done before the planner was asked.

    One object for equal ones, compared by identity, so that keys of whole programs compare fast.
    """

    element: JumpElement
    late: bool
    grade: float | None
    most: float
    """Hundredths when counted in full, with the late factor if it started late."""
    beside_a_unit: Bare
    without_unit: Bare
    is_unit: bool
    fell: bool
    """Only where a fall voids a bonus."""


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
    element: JumpElement
    """As ruled."""
    exact_grade: Fraction
    grade: float
    """The same in hundredths, as a float."""
    floored: bool


class ShortMechanics:
    """A short program: nothing is certain before the end, where it is judged whole."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._book = problem.edition
        self._falls_void = self._book.bonuses is not None and self._book.bonuses.void_fall
        self._judged_once = lru_cache(maxsize=200_000)(self._judged)
        self._worth_once = lru_cache(maxsize=50_000)(self._worth)
        self._credited = lru_cache(maxsize=1_000)(lambda late: credited(self._book, late))
        self._step = lru_cache(maxsize=50_000)(self._new_step)
        self._bare = lru_cache(maxsize=50_000)(Bare)
        self._ruled = lru_cache(maxsize=50_000)(Ruled)
        # By identity: the attempts live as long as the problem.
        self._steps = {
            (place, id(attempt)): self._step_of(place, attempt)
            for place, one in enumerate(problem.passes)
            for option in one.options
            for attempt in (*option.attempts, *option.after_fall)
        }
        self._full = [
            [self._expected(place, one) for one in p.options] for place, p in enumerate(problem.passes)
        ]
        best = [max(values) for values in self._full]
        self._rest = [sum(best[place + 1 :]) for place in range(len(best))]

    def start(self, history: History, changes: int, place: int) -> tuple[float, Key]:
        steps = tuple(
            self._step(one.element, one.failed, one.late, None, one.fall and self._falls_void)
            for one in history.done
            if one.element
        )
        falls = sum(one.fall for one in history.done)
        fell = bool(history.done) and history.done[-1].fall
        key = ShortKey(steps, falls, fell)
        return -float(sum(one.plain for one in self.worths(key)) + self.bonus(key)), key

    def bonus(self, key: ShortKey) -> int:
        """Hundredths of bonus of a short program as it stands."""
        if self._book.bonuses is None:
            return 0
        ruled = [Verdict(one.element) for one in self.worths(key)]
        rewarded = bonus_of_all(self._book, ruled, [step.fell for step in key.steps])
        return sum(one.bonus for one in rewarded)

    def moves(self, place: int, option: Option, number: int, key: Key) -> Sequence[Move]:
        return [
            self._moved(attempt, self._steps[place, id(attempt)], key)
            for attempt in attempts_of(option, key.fell)
        ]

    def move(self, place: int, attempt: Attempt, key: ShortKey) -> Move:
        """One attempt, of the problem or not, added to a short program."""
        return self._moved(attempt, self._step_of(place, attempt), key)

    def _moved(self, attempt: Attempt, step: ShortStep | None, key: ShortKey) -> Move:
        gain = -float(self._book.fall_deduction(key.falls + 1)) if attempt.fall else 0.0
        steps = key.steps if step is None else (*key.steps, step)
        return Move(attempt, gain, ShortKey(steps, key.falls + attempt.fall, attempt.fall))

    def _step_of(self, place: int, attempt: Attempt) -> ShortStep | None:
        if attempt.element is None:
            return None
        late = self._problem.passes[place].late
        fell = attempt.fall and self._falls_void
        return self._step(attempt.element, attempt.failed, late, float(attempt.grade), fell)

    def _new_step(
        self, element: JumpElement, failed: bool, late: bool, grade: float | None, fell: bool
    ) -> ShortStep:
        is_unit = element.is_unit
        bare = element if is_unit else without_calls(element)
        return ShortStep(
            element=element,
            late=late,
            grade=grade,
            most=self._full_points(element, late, grade or 0.0),
            beside_a_unit=self._bare(bare, False),
            without_unit=self._bare(bare, failed),
            is_unit=is_unit,
            fell=fell,
        )

    def landed(self, place: int, option: Option, number: int, key: Key) -> Key:
        return self.move(place, itself(option), key).key

    def _judged(self, skeleton: tuple[Bare, ...]) -> tuple[Ruled, ...]:
        verdicts = judge_short(self._book, [ShortElement(one.element, one.failed) for one in skeleton])
        return tuple(self._ruled(one.element) for one in verdicts if isinstance(one.element, JumpElement))

    def worths(self, key: ShortKey) -> list[ShortWorth]:
        """Every element of a short program as the end would rule it."""
        ruled = self._judged_once(skeleton(key.steps))
        return [self._worth_once(step, one) for step, one in zip(key.steps, ruled, strict=True)]

    def _worth(self, step: ShortStep, ruled: Ruled) -> ShortWorth:
        """Worth of an element with the stars and marks that its skeleton was given."""
        jumps = tuple(
            replace(jump, starred=as_ruled.starred, mark=as_ruled.mark)
            for jump, as_ruled in zip(step.element.jumps, ruled.element.jumps, strict=True)
        )
        whole = JumpElement(jumps, ruled.element.repeat)
        numerator, denominator = grade_worth(self._book, whole)
        return ShortWorth(
            element=whole,
            plain=base_value(self._book, whole),
            late=base_value(self._book, whole, True),
            exact_grade=Fraction(numerator, denominator),
            grade=numerator / denominator,
            floored=takes_the_lowest_grade(whole),
        )

    def end(self, key: Key) -> float:
        chosen = self._credited(tuple(one.late for one in key.steps))
        total = float(self.bonus(key))
        for step, worth, late in zip(key.steps, self.worths(key), chosen, strict=True):
            total += worth.late if late else worth.plain
            if step.grade is not None:
                total += (FLOOR if worth.floored else step.grade) * worth.grade
        return total

    def bounds(self, place: int, key: Key, changes: int) -> Sequence[float]:
        # Everything done and to come counted in full, the late factor wherever it could fall.
        so_far = sum(one.most for one in key.steps)
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
        sure = base_value(self._book, element, late) + most_bonus(self._book, element)
        return sure + grade * numerator / denominator


def skeleton(steps: Sequence[ShortStep]) -> tuple[Bare, ...]:
    """What the judge of a whole short program looks at."""
    if any(one.is_unit for one in steps):
        return tuple(one.beside_a_unit for one in steps)
    return tuple(one.without_unit for one in steps)


def without_calls(element: JumpElement) -> JumpElement:
    """A lone jump without rotation and edge calls."""
    return JumpElement(tuple(replace(jump, rotation="", edge="") for jump in element.jumps))
