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
from app.legality.short_program import ShortElement, judge_short
from app.planner.mechanics import Key, Move, attempts_of, itself
from app.planner.problem import Attempt, History, Option, Problem
from app.scoring.base_value import base_value
from app.scoring.execution import grade_worth
from app.scoring.late_bonus import credited

FLOOR = -5.0
Skeleton = tuple[tuple[JumpElement, bool], ...]


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
        """Hundredths a grade is worth."""
        return float(self.exact_grade)


class ShortMechanics:
    """A short program: nothing is certain before the end, where it is judged whole."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._book = problem.edition
        self._judged_once = lru_cache(maxsize=200_000)(self._judged)
        self._worth_once = lru_cache(maxsize=50_000)(self._worth)
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

    def _judged(self, skeleton: Skeleton) -> tuple[JumpElement, ...]:
        verdicts = judge_short(self._book, [ShortElement(element, failed) for element, failed in skeleton])
        return tuple(one.element for one in verdicts if isinstance(one.element, JumpElement))

    def worths(self, key: ShortKey) -> list[ShortWorth]:
        """Every element of a short program as the end would rule it."""
        ruled = self._judged_once(skeleton(key.steps))
        return [self._worth_once(step.element, one) for step, one in zip(key.steps, ruled, strict=True)]

    def _worth(self, element: JumpElement, ruled: JumpElement) -> ShortWorth:
        """Worth of an element with the stars and marks that its skeleton was given."""
        jumps = tuple(
            replace(jump, starred=as_ruled.starred, mark=as_ruled.mark)
            for jump, as_ruled in zip(element.jumps, ruled.jumps, strict=True)
        )
        whole = JumpElement(jumps, ruled.repeat)
        numerator, denominator = grade_worth(self._book, whole)
        return ShortWorth(
            plain=base_value(self._book, whole),
            late=base_value(self._book, whole, True),
            exact_grade=Fraction(numerator, denominator),
            floored=whole.is_marked_combo or any(jump.starred for jump in jumps),
        )

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


def skeleton(steps: Sequence[ShortStep]) -> Skeleton:
    """What the judge of a whole short program looks at."""
    any_unit = any(one.element.is_unit for one in steps)
    return tuple(
        (one.element if one.element.is_unit else _bare(one.element), one.failed and not any_unit)
        for one in steps
    )


@lru_cache(maxsize=10_000)
def _bare(element: JumpElement) -> JumpElement:
    """A lone jump without rotation and edge calls."""
    return JumpElement(tuple(replace(jump, rotation="", edge="") for jump in element.jumps))
