"""The slow and honest solver: every adaptive plan, every outcome, in exact fractions.

Written straight from the definition of `value` in the contract: the whole program is judged and scored
again at every end. It merges no states and prunes nothing, so that it can be wrong only where the rules
or the definition are. Cost: (options x outcomes) to the power of passes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.domain.elements import JumpElement
from app.legality.judge import judge_all
from app.legality.short_program import ShortElement, judge_short
from app.legality.verdict import Verdict
from app.planner.problem import Attempt, Done, Option, Problem
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value
from app.scoring.deductions import falls_deduction
from app.scoring.execution import grade_worth
from app.scoring.late_bonus import credited

FLOOR_GRADE = Fraction(-5)
BARRED = Fraction(-(10**18))
"""Value of a program in which some pass has nothing allowed left to try."""


@dataclass(frozen=True, slots=True)
class Step:
    """One pass of a whole program: done (grade None) or tried."""

    done: Done
    grade: Fraction | None = None


@dataclass(frozen=True, slots=True)
class World:
    """One possible program so far, with its chance."""

    chance: Fraction
    steps: tuple[Step, ...]


def optimum(problem: Problem, points: Fraction | None = None) -> Fraction:
    """The contract's `value` in hundredths; with `points` (hundredths), the greatest chance to reach them."""
    worlds = _start(problem)
    return _best(problem, worlds, 0, problem.changes_done, points)


def option_values(problem: Problem, points: Fraction | None = None) -> list[Fraction | None]:
    """The optimum after each option of the next pass; None where max_changes forbids it."""
    worlds = _start(problem)
    first = problem.passes[0]
    return [
        _after(problem, worlds, 0, option, problem.changes_done, points)
        if problem.allowed(0, option, problem.changes_done)
        else None
        for option in first.options
    ]


def fixed_plan_value(problem: Problem, choices: Sequence[int]) -> Fraction:
    """Value of trying exactly these options, whatever happens."""
    worlds = _start(problem)
    for place, choice in enumerate(choices):
        option = problem.passes[place].options[choice]
        worlds = [world for group in _observed(problem, worlds, place, option).values() for world in group]
    return sum((world.chance * _final(problem, world) for world in worlds), Fraction(0))


def _start(problem: Problem) -> list[World]:
    return [World(h.chance, tuple(Step(done) for done in h.done)) for h in problem.histories]


def _best(
    problem: Problem, worlds: list[World], place: int, changes: int, points: Fraction | None
) -> Fraction:
    if place == len(problem.passes):
        return sum((world.chance * _worth(problem, world, points) for world in worlds), Fraction(0))
    values = (
        _after(problem, worlds, place, option, changes, points)
        for option in problem.passes[place].options
        if problem.allowed(place, option, changes)
    )
    return max(values, default=BARRED)


def _after(
    problem: Problem, worlds: list[World], place: int, option: Option, changes: int, points: Fraction | None
) -> Fraction:
    groups = _observed(problem, worlds, place, option)
    return sum(
        (_best(problem, group, place + 1, changes + option.change, points) for group in groups.values()),
        Fraction(0),
    )


def _observed(
    problem: Problem, worlds: list[World], place: int, option: Option
) -> dict[tuple[str, bool, bool, Fraction], list[World]]:
    """Worlds after trying an option, grouped by what the observer sees: what it became, grade, fall, error.

    The observer does not learn which reading of an earlier pass was right.
    """
    groups: dict[tuple[str, bool, bool, Fraction], list[World]] = {}
    for world in worlds:
        fell = bool(world.steps) and world.steps[-1].done.fall
        for attempt in option.after_fall if fell else option.attempts:
            seen = (str(attempt.element), attempt.fall, attempt.error, attempt.grade)
            step = _step(problem, place, attempt)
            groups.setdefault(seen, []).append(World(world.chance * attempt.chance, (*world.steps, step)))
    return groups


def _step(problem: Problem, place: int, attempt: Attempt) -> Step:
    late = problem.passes[place].late
    return Step(Done(attempt.element, late, attempt.fall, attempt.error), attempt.grade)


def _worth(problem: Problem, world: World, points: Fraction | None) -> Fraction:
    value = _final(problem, world)
    return value if points is None else Fraction(value >= points)


def _final(problem: Problem, world: World) -> Fraction:
    """The final sum of one whole program, by the contract's definition."""
    book = problem.edition
    steps = [step for step in world.steps if step.done.element is not None]
    elements = judged_elements(book, [step.done for step in steps])
    bonus = bonus_points(book, [step.done for step in steps])
    chosen = credited(book, [step.done.late for step in steps])
    total = Fraction(bonus)
    for step, element, late in zip(steps, elements, chosen, strict=True):
        total += base_value(book, element, late)
        if step.grade is not None:
            total += _goe(book, step, element)
    done = [step.done for step in steps if step.grade is None]
    total -= sum(base_value(book, element) for element in judged_elements(book, done))
    total -= bonus_points(book, done)
    falls = sum(step.done.fall for step in world.steps)
    before = sum(step.done.fall for step in world.steps if step.grade is None)
    return total + falls_deduction(book, falls) - falls_deduction(book, before)


def _goe(book: Edition, step: Step, element: JumpElement) -> Fraction:
    numerator, denominator = grade_worth(book, element)
    grade = step.grade if step.grade is not None else Fraction(0)
    if book.is_short and (element.is_marked_combo or any(jump.starred for jump in element.jumps)):
        grade = FLOOR_GRADE
    return grade * Fraction(numerator, denominator)


def judged_elements(book: Edition, done: Sequence[Done]) -> list[JumpElement]:
    """The elements as ruled, of a whole program."""
    return [one.element for one in _verdicts(book, done) if isinstance(one.element, JumpElement)]


def bonus_points(book: Edition, done: Sequence[Done]) -> int:
    """Hundredths of bonus of a whole program, at levels that have one."""
    return sum(one.bonus for one in _verdicts(book, done))


def _verdicts(book: Edition, done: Sequence[Done]) -> tuple[Verdict, ...]:
    elements = [one.element for one in done if one.element is not None]
    falls = [one.fall for one in done if one.element is not None]
    if book.is_short:
        errors = [one.failed for one in done if one.element is not None]
        short = [ShortElement(e, x) for e, x in zip(elements, errors, strict=True)]
        return judge_short(book, short, falls)
    return judge_all(book, elements, falls)[0]
