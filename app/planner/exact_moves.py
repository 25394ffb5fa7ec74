"""Gains as exact fractions, for the aim "at least": hundredths compared exactly, never rounded.

A key is the world of `TallyMechanics` or `ShortMechanics`; gains come from the judge and the scoring modules.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from app.domain.elements import JumpElement
from app.legality.bonus import most_bonus
from app.planner.exhaustive import FLOOR_GRADE
from app.planner.mechanics import TallyKey, TallyMechanics, attempts_of, itself
from app.planner.problem import Attempt, History, Option, Problem
from app.planner.short_mechanics import ShortKey, ShortMechanics
from app.scoring.base_value import base_value
from app.scoring.execution import grade_worth
from app.scoring.late_bonus import credited

ExactKey = TallyKey | ShortKey


class ExactMoves:
    """Moves of one world with exact gains, and how far its points can still go."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._book = problem.edition
        self._free = None if problem.edition.is_short else TallyMechanics(problem)
        self._short = ShortMechanics(problem) if problem.edition.is_short else None
        self._moved = lru_cache(maxsize=400_000)(self._move)
        self._ahead = self._ranges()

    def start(self, history: History) -> tuple[Fraction, ExactKey]:
        """Exact points already certain, and the key."""
        if self._free is not None:
            _, key = self._free.start(history, 0, 0)
            return Fraction(0), key
        assert self._short is not None, "one of the two"
        certain, key = self._short.start(history, 0, 0)
        return Fraction(round(certain)), key

    def moves(self, place: int, option: Option, key: ExactKey) -> list[tuple[Attempt, Fraction, ExactKey]]:
        """Every outcome of an option: the attempt, its exact gain, the key behind it."""
        return [(attempt, *self._moved(place, attempt, key)) for attempt in attempts_of(option, key.fell)]

    def landed(self, place: int, option: Option, key: ExactKey) -> tuple[Fraction, ExactKey]:
        """Gain and key of an option that becomes itself."""
        return self._moved(place, itself(option), key)

    def _move(self, place: int, attempt: Attempt, key: ExactKey) -> tuple[Fraction, ExactKey]:
        fall = Fraction(self._book.fall_deduction(key.falls + 1) if attempt.fall else 0)
        if isinstance(key, ShortKey):
            assert self._short is not None, "short keys come from short programs"
            return -fall, self._short.move(place, attempt, key).key
        assert self._free is not None, "free keys come from free skatings"
        late = self._problem.passes[place].late
        ruled, bonus, behind = self._free.after(key, attempt.element, late, attempt.fall)
        if ruled is None:
            return -fall, behind
        return Fraction(bonus + base_value(self._book, ruled)) + self._goe(
            ruled, attempt.grade
        ) - fall, behind

    def _goe(self, ruled: JumpElement, grade: Fraction) -> Fraction:
        numerator, denominator = grade_worth(self._book, ruled)
        return grade * Fraction(numerator, denominator)

    def end(self, key: ExactKey) -> Fraction:
        """Exact points that only the end settles."""
        if isinstance(key, TallyKey):
            return Fraction(sum(key.late))
        assert self._short is not None, "short keys come from short programs"
        chosen = credited(self._book, [step.late for step in key.steps])
        total = Fraction(self._short.bonus(key))
        for step, worth, late in zip(key.steps, self._short.worths(key), chosen, strict=True):
            total += worth.late if late else worth.plain
            if step.grade is not None:
                grade = FLOOR_GRADE if worth.floored else Fraction(str(step.grade))
                total += grade * worth.exact_grade
        return total

    def reach(self, place: int, key: ExactKey) -> tuple[Fraction, Fraction]:
        """No less and no more can still come than these points, what only the end settles included."""
        least, most = self._ahead[place]
        if isinstance(key, TallyKey):
            return least, most + sum(key.late)
        done = sum(
            (self._most(step.element, Fraction(str(step.grade or 0))) for step in key.steps), Fraction(0)
        )
        low = sum((self._least(step.element) for step in key.steps), Fraction(0))
        return least + low, most + done

    def _ranges(self) -> list[tuple[Fraction, Fraction]]:
        """For each pass, the least and the most that it and those behind it can bring."""
        ranges = [(Fraction(0), Fraction(0))]
        worst_fall = Fraction(max(self._book.rules.falls.each))
        for one in reversed(self._problem.passes):
            attempts = [a for option in one.options for a in (*option.attempts, *option.after_fall)]
            most = max(self._most(a.element, a.grade) for a in attempts)
            least = min(self._least(a.element) - (worst_fall if a.fall else 0) for a in attempts)
            ranges.append((ranges[-1][0] + min(least, Fraction(0)), ranges[-1][1] + max(most, Fraction(0))))
        return ranges[::-1]

    def _most(self, element: JumpElement | None, grade: Fraction) -> Fraction:
        if element is None:
            return Fraction(0)
        sure = base_value(self._book, element, True) + most_bonus(self._book, element)
        return Fraction(sure) + max(self._goe(element, grade), Fraction(0))

    def _least(self, element: JumpElement | None) -> Fraction:
        """Nothing counted, and the floor grade on the whole: below anything the rules can make of it."""
        return Fraction(0) if element is None else self._goe(element, FLOOR_GRADE)
