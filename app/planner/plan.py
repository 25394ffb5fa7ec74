"""The planner's door: one program, asked again after every pass, answering from what it already solved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from app.domain.words import say
from app.errors import InputError
from app.planner.advice import Advice, Adviser
from app.planner.aims import SwapChances, swap_chances
from app.planner.backward import BackwardSolver
from app.planner.beliefs import BeliefSolver, believable
from app.planner.graph import TooLarge
from app.planner.mechanics import PackedMechanics, TallyMechanics
from app.planner.needs_target import NeedsTarget
from app.planner.packed_target import PackedTarget, exact_scale, exact_target, grid_target
from app.planner.packing import packable
from app.planner.problem import Problem, check_changes, read_done, read_problem
from app.planner.short_mechanics import ShortMechanics
from app.planner.solver import Solver
from app.planner.spread import Spread, spread_of_best, spread_of_plan
from app.planner.target import target_solver
from app.planner.worlds import WorldSolver
from app.requests import AdviseRequest, DonePass, read_request

MOST_ANSWERS = 400
"""Answers kept for one program: a skate has a dozen taps, each prepared for some outcomes."""

AnswerKey = tuple[tuple[tuple[DonePass, bool], ...] | None, int]


class Planner:
    """A program with all its passes; `advise` answers for the passes from `next_pass` on.

    Not safe for two threads at once: what is solved is kept and grows.
    """

    def __init__(self, request: AdviseRequest | Mapping[str, Any]) -> None:
        self._request = read_request(AdviseRequest, request)
        self._problem = read_problem(self._request)
        self._backward = BackwardSolver(self._problem) if packable(self._problem) else None
        self._worlds = WorldSolver(self._problem, self._mechanics())
        self._answers: dict[AnswerKey, Advice] = {}

    def _mechanics(self) -> PackedMechanics | ShortMechanics | TallyMechanics:
        if self._backward is not None:
            return PackedMechanics(self._backward)
        if self._problem.edition.is_short:
            return ShortMechanics(self._problem)
        return TallyMechanics(self._problem)

    def _solver(self, problem: Problem) -> Solver:
        if self._backward is None:
            return self._worlds
        if len(problem.histories) == 1:
            return self._backward
        return BeliefSolver(problem, self._backward) if believable(problem) else self._worlds

    def advise(
        self, done: Sequence[DonePass | Mapping[str, Any]] | None = None, next_pass: int = 0
    ) -> Advice:
        """Advice after `done` (absent: the request's own), for the passes from index `next_pass` on.

        Raises InputError naming the field.
        """
        asked = None if done is None else _readings_of(done)
        key = (None if asked is None else tuple((one, _says_tried(one)) for one in asked), next_pass)
        known = self._answers.get(key)
        if known is None:
            if len(self._answers) >= MOST_ANSWERS:
                self._answers.clear()
            known = self._answers[key] = self._answered(asked, next_pass)
        return known

    def _answered(self, done: tuple[DonePass, ...] | None, next_pass: int) -> Advice:
        problem = self._problem if done is None else self._after(done)
        if not 0 <= next_pass < len(problem.passes):
            raise InputError(
                "next_pass",
                say(
                    "%(next_pass)s; expected 0 to %(count)s",
                    next_pass=next_pass,
                    count=len(problem.passes) - 1,
                ),
            )
        if self._request.aim.points is not None:
            return self._aimed(problem, Fraction(self._request.aim.points) * 100, next_pass)
        return Adviser(problem, self._solver(problem), next_pass).advice()

    def swap_chances(
        self, done: Sequence[DonePass | Mapping[str, Any]], next_pass: int, points: Decimal
    ) -> SwapChances | None:
        """Chance to reach `points` (those of `value`) by keeping the plan, and by each single swap."""
        return swap_chances(self._after(_readings_of(done)), self._backward, next_pass, Fraction(points))

    def spread(
        self,
        done: Sequence[DonePass | Mapping[str, Any]],
        next_pass: int,
        swap: tuple[int, str | None] | None = None,
    ) -> Spread:
        """How the points spread when the plan is kept from index `next_pass` on, or with one swap.

        `swap`: pass index and element (an option of that pass). Raises InputError where a pass cannot keep its plan.
        """
        problem = self._after(_readings_of(done))
        plan = []
        for place, one in enumerate(problem.passes):
            code = swap[1] if swap is not None and swap[0] == place else one.planned
            chosen = next((n for n, option in enumerate(one.options) if option.code == code), None)
            if chosen is None and place >= next_pass:
                raise InputError(
                    f"passes[{place}].options", say("%(code)s is not among them", code=repr(code))
                )
            plan.append(chosen or 0)
        return spread_of_plan(problem, self._backward, next_pass, plan)

    def spread_of_best(self, done: Sequence[DonePass | Mapping[str, Any]], next_pass: int) -> Spread | None:
        """How the points spread under the answers that bring most; None where that would take too long."""
        problem = self._after(_readings_of(done))
        if self._backward is None or len(problem.histories) > 1:
            return None
        try:
            return spread_of_best(problem, self._backward, next_pass)
        except TooLarge:
            return None

    def _aimed(self, problem: Problem, need: Fraction, next_pass: int) -> Advice:
        """Advice for the greatest chance to reach `need` hundredths."""
        packed = self._packed_aim(problem, need, next_pass)
        if packed is not None:
            bound = packed.bound()
            return Adviser(problem, packed, next_pass, unit=1.0).advice(0.0, bound is None, bound)
        slow, exact = target_solver(problem, need, next_pass)
        return Adviser(problem, slow, next_pass, unit=1.0).advice(0.0, exact, slow.bound())

    def _packed_aim(
        self, problem: Problem, need: Fraction, next_pass: int
    ) -> PackedTarget | NeedsTarget | None:
        """The compiled solver that fits: exact, on the whole graph, on a coarse grid; None: none of them."""
        if self._backward is None or len(problem.histories) > 1 or exact_scale(problem) is None:
            return None
        exact = exact_target(problem, self._backward, need, next_pass)
        if exact is not None:
            return exact
        try:
            return NeedsTarget(problem, self._backward, need, next_pass)
        except TooLarge:
            return grid_target(problem, self._backward, need, next_pass)

    def prepare(self, done: Sequence[DonePass | Mapping[str, Any]], next_pass: int) -> None:
        """Work out the answers to what may be seen when the next pass is tried as planned.

        Call it when nobody waits (a program was just opened, a tap just answered): the tap that follows
        is then answered at once.
        """
        here = self._problem.passes[next_pass]
        if here.keep is None or next_pass + 1 >= len(self._problem.passes):
            return
        for attempt in here.options[here.keep].attempts:
            code = None if attempt.element is None else str(attempt.element)
            tap: dict[str, Any] = {"code": code, "late": here.late, "planned": here.planned}
            if code is not None:
                tap |= {"fall": attempt.fall, "error": attempt.error, "tried": here.planned}
            self.advise([*done, tap], next_pass + 1)

    def _after(self, done: Sequence[DonePass]) -> Problem:
        histories, changes = read_done(self._problem.edition, done)
        problem = replace(self._problem, histories=histories, changes_done=changes)
        check_changes(problem)
        return problem


def _says_tried(done: DonePass) -> bool:
    """`tried` null is a change, `tried` left unsaid is none; as values the two passes are equal."""
    return "tried" in done.model_fields_set


def _readings_of(done: Sequence[DonePass | Mapping[str, Any]]) -> tuple[DonePass, ...]:
    return tuple(read_request(DonePass, one, f"done[{place}]") for place, one in enumerate(done))
