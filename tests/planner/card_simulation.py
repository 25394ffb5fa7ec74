"""Random programs of keeping the plan, following a card and replanning perfectly, played by hand.

A program is drawn attempt by attempt and added up with the judge and the scoring modules: none of the planner's
tables, loops or keys is used. What is tried is decided by reading the card's sentences (how a failure is named is
the reference's), or by asking `Planner` after every pass, once for each state that looks the same to the judge.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from app.domain.elements import JumpElement
from app.legality.judge import judge
from app.legality.short_program import ShortElement, judge_short
from app.legality.tally import Tally
from app.planner.card import Card
from app.planner.plan import Planner
from app.planner.problem import Attempt, Option, Problem, read_problem
from app.requests import AdviseRequest, read_request
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value
from app.scoring.deductions import falls_deduction
from app.scoring.execution import grade_worth
from app.scoring.late_bonus import credited
from tests.planner.card_reference import word_for

FLOOR = -5.0


@dataclass(frozen=True)
class Skated:
    """One pass: what was tried, what came of it."""

    option: Option
    attempt: Attempt


Skate = tuple[Skated, ...]
Choose = Callable[[Skate], int]
"""From what was skated so far to the option of the next pass."""


@dataclass
class Rink:
    """One question, played again and again."""

    request: Mapping[str, Any]
    problem: Problem = field(init=False)

    def __post_init__(self) -> None:
        self.problem = read_problem(read_request(AdviseRequest, self.request))
        assert not self.problem.histories[0].done, "a program is played from its start"

    def keep(self) -> Choose:
        """Every pass as planned."""
        return lambda skate: self._planned(len(skate))

    def card(self, card: Card, limit: int, barred: Callable[[int, int], bool] | None = None) -> Choose:
        """The card, read aloud after every pass."""
        rules = {(rule.number, str(rule.kind)): rule.swaps for rule in card.rules}

        def choose(skate: Skate) -> int:
            carried: dict[int, str | None] = {}
            used = 0
            for number, one in enumerate(skate, start=1):
                if one.attempt.fall and barred is not None and number + 1 in carried:
                    option = self._numbered(number, carried[number + 1])
                    if barred(number, option):
                        del carried[number + 1]
                word = word_for(one.option.code, one.attempt)
                swaps = rules.get((number, word or ""), ())
                clash = any(swap.number in carried for swap in swaps)
                if swaps and used + len(swaps) <= limit and not clash:
                    carried.update({swap.number: swap.element for swap in swaps})
                    used += len(swaps)
            place = len(skate)
            return self._numbered(place, carried[place + 1]) if place + 1 in carried else self._planned(place)

        return choose

    def replan(self) -> Choose:
        """The planner asked after every pass, perfect within the limit on changes."""
        planner = Planner(self.request)
        known: dict[Any, int] = {}

        def choose(skate: Skate) -> int:
            key = self._seen_by_the_judge(skate)
            if key not in known:
                said = planner.advise([self._tap(place, one) for place, one in enumerate(skate)], len(skate))
                known[key] = self._numbered(len(skate), said.best)
            return known[key]

        return choose

    def play(self, choose: Choose, chances: np.ndarray[Any, Any]) -> float:
        """Points of one program; `chances` holds a number from 0 to 1 for each pass."""
        return self.points(self.skate(choose, chances))

    def skate(self, choose: Choose, chances: np.ndarray[Any, Any]) -> Skate:
        skate: Skate = ()
        for place, chance in enumerate(chances):
            option = self.problem.passes[place].options[choose(skate)]
            fell = bool(skate) and skate[-1].attempt.fall
            skate = (*skate, Skated(option, _drawn(option.after_fall if fell else option.attempts, chance)))
        return skate

    def points(self, skate: Skate) -> float:
        """Base values as ruled, GOE, late credit and falls, in points."""
        book = self.problem.edition
        tried = [
            (one.attempt, here.late)
            for one, here in zip(skate, self.problem.passes, strict=True)
            if one.attempt.element is not None
        ]
        ruled = self._ruled([attempt for attempt, _ in tried])
        late = credited(book, [is_late for _, is_late in tried])
        total = float(falls_deduction(book, sum(one.attempt.fall for one in skate)))
        for (attempt, _), element, counts in zip(tried, ruled, late, strict=True):
            numerator, denominator = _grade(book, element)
            broken = element.is_marked_combo or any(jump.starred for jump in element.jumps)
            grade = FLOOR if book.is_short and broken else float(attempt.grade)
            total += _base(book, element, counts) + grade * numerator / denominator
        return total / 100

    def _ruled(self, attempts: list[Attempt]) -> list[JumpElement]:
        book = self.problem.edition
        if book.is_short:
            bare = tuple((one.element, one.failed) for one in attempts)
            return list(_short(book, bare))
        tally, found = Tally(), []
        for one in attempts:
            element, tally = _judged(book, tally, one.element)
            found.append(element)
        return found

    def _seen_by_the_judge(self, skate: Skate) -> Any:
        changes = sum(one.option.change for one in skate)
        falls, fell = sum(one.attempt.fall for one in skate), bool(skate) and skate[-1].attempt.fall
        if self.problem.edition.is_short:
            return len(skate), tuple((one.attempt, one.option.change) for one in skate)
        tally, bonus = Tally(), []
        for one, here in zip(skate, self.problem.passes, strict=False):
            if one.attempt.element is not None:
                element, tally = _judged(self.problem.edition, tally, one.attempt.element)
                if here.late:
                    both = (_base(self.problem.edition, element, late) for late in (True, False))
                    bonus.append(next(both) - next(both))
        return len(skate), tally, changes, falls, fell, tuple(bonus)

    def _tap(self, place: int, one: Skated) -> dict[str, Any]:
        here = self.problem.passes[place]
        element = one.attempt.element
        return {
            "code": None if element is None else str(element),
            "late": here.late,
            "fall": one.attempt.fall,
            "error": one.attempt.error,
            "planned": here.planned,
            "tried": one.option.code,
        }

    def _planned(self, place: int) -> int:
        return self._numbered(place, self.problem.passes[place].planned)

    def _numbered(self, place: int, code: str | None) -> int:
        return [option.code for option in self.problem.passes[place].options].index(code)


def _drawn(attempts: tuple[Attempt, ...], chance: float) -> Attempt:
    for one in attempts:
        chance -= float(one.chance)
        if chance < 0:
            return one
    return attempts[-1]


@cache
def _judged(book: Edition, tally: Tally, element: JumpElement) -> tuple[JumpElement, Tally]:
    found = judge(book, tally, element)
    assert isinstance(found.verdict.element, JumpElement)
    return found.verdict.element, found.tally


@cache
def _short(book: Edition, bare: tuple[tuple[JumpElement, bool], ...]) -> tuple[JumpElement, ...]:
    verdicts = judge_short(book, [ShortElement(element, failed) for element, failed in bare])
    return tuple(one.element for one in verdicts if isinstance(one.element, JumpElement))


@cache
def _base(book: Edition, element: JumpElement, late: bool) -> int:
    return base_value(book, element, late)


@cache
def _grade(book: Edition, element: JumpElement) -> tuple[int, int]:
    return grade_worth(book, element)


@dataclass(frozen=True)
class Mean:
    """Mean points of many programs beside the exact value."""

    mean: float
    error: float
    """Standard error of the mean."""
    exact: float

    @property
    def off(self) -> float:
        """How many standard errors the mean lies away."""
        return abs(self.mean - self.exact) / self.error if self.error else float(self.mean != self.exact)


def simulated(request: Mapping[str, Any], card: Card, programs: int, seed: int) -> dict[str, Mean]:
    """All three ways of skating over the same luck."""
    rink = Rink(request)
    luck = np.random.default_rng(seed).random((programs, len(rink.problem.passes)))
    ways = {
        "keeping the plan": (rink.keep(), card.keep_all),
        "the card": (rink.card(card, card.most_changes), card.value),
        "perfect replanning": (rink.replan(), card.full),
    }
    found = {}
    for name, (choose, exact) in ways.items():
        points = np.array([rink.play(choose, row) for row in luck])
        found[name] = Mean(float(points.mean()), float(points.std(ddof=1) / np.sqrt(programs)), exact)
    return found
