"""Crowded free skatings for the compiled loops, and their tables with nothing to forget."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from random import Random
from typing import Any

import numpy as np

from app.legality.judge import judge_all
from app.planner import exhaustive
from app.planner.backward import BackwardSolver
from app.planner.kernels import layout as k
from app.planner.packing import pack_state, packable
from app.planner.problem import Attempt, Done, History, Option, Problem
from app.rulebook.editions import edition
from tests.agreement.cases import Draw, Request
from tests.agreement.compare import problem_of

FREE = (
    "isu/2022-23/senior/women/free",
    "isu/2025-26/senior/men/free",
    "isu/2025-26/junior/women/free",
    "isu/2026-27/senior/men/free",
    "isu/2026-27/junior/women/free",
    "isu/2022-23/intermediate-novice/all/free",
)


class WholeDraw(Draw):
    """Draws a whole free skating, one pass more than the boxes, nothing done: too large to search."""

    def __init__(self, random: Random, options: int, outcomes: int, passes: int | None = None) -> None:
        super().__init__(random)
        self.edition = random.choice(FREE)
        self._short = False
        self._euler = "Eu" if "2026-27" in self.edition else "1Eu"
        self._jumps = self._pool_of_jumps()
        self._shape = (passes or edition(self.edition).boxes + 1, options, outcomes)

    def _how_many_done(self) -> int:
        return 0


def whole_program(seed: int, options: int = 4, outcomes: int = 3, passes: int | None = None) -> Problem:
    """The problem of one seed, made until the compiled loops know all its rules."""
    random = Random(seed)
    while True:
        request: Request = WholeDraw(random, options, outcomes, passes).request()
        problem = problem_of(request)
        if packable(problem):
            return problem


@dataclass
class Walk:
    """One random program through the compiled loops."""

    gained: float
    steps: tuple[exhaustive.Step, ...]
    nodes: list[tuple[int, int, int]]
    """The node before each pass, and the last."""


def walk(problem: Problem, solver: BackwardSolver, random: Random) -> Walk:
    """Random options and outcomes from the first pass to the last."""
    gained, node = solver.start(problem.histories, problem.changes_done, 0)
    found = Walk(gained, (), [node])
    fell = False
    for place, one in enumerate(problem.passes):
        number = random.randrange(len(one.options))
        option = one.options[number]
        outcomes = solver.outcomes(place, number, node)
        expected = option.after_fall if fell and _sees_falls(one.options) else option.attempts
        assert tuple(attempt for attempt, _ in outcomes) == expected
        attempt, outcome = random.choice(outcomes)
        points, node = solver.after(place, node, outcome, False)
        fell = attempt.fall
        found.gained += points
        found.nodes.append(node)
        found.steps = (*found.steps, _step(attempt, one.late))
    return found


def _sees_falls(options: tuple[Option, ...]) -> bool:
    return any(option.after_fall is not option.attempts for option in options)


def _step(attempt: Attempt, late: bool) -> exhaustive.Step:
    return exhaustive.Step(Done(attempt.element, late, attempt.fall, attempt.error), attempt.grade)


def final(problem: Problem, steps: tuple[exhaustive.Step, ...]) -> float:
    """The final sum of a whole program in hundredths, judged and scored by the contract."""
    return float(exhaustive._final(problem, exhaustive.World(Fraction(1), steps)))


def remembering(tables: k.Tables) -> k.Tables:
    """The same tables, saying that later passes may still try anything: then nothing is forgotten."""
    rules, ahead = tables.rules, tables.ahead.copy()
    for column, value in (
        (k.P_UNITS, 9),
        (k.P_LONGS, 9),
        (k.P_SEQS, 9),
        (k.P_EULERS, 199),
        (k.P_LEFT, 15),
        (k.P_FALL_SEES, 1),
        (k.P_ONE, rules[k.R_LOW]),
        (k.P_TWO, rules[k.R_LOW]),
    ):
        ahead[:, column] = value
    ahead[:, k.P_FAMILIES : k.P_FAMILIES + k.FAMILIES] = 9
    ahead[:, k.P_ALIKE :] = np.arange(8)
    return tables._replace(ahead=ahead)


def raw_state(solver: BackwardSolver, problem: Problem, history: History) -> tuple[int, int]:
    """Words a and b of a history with nothing forgotten."""
    elements = [one.element for one in history.done if one.element is not None]
    _, tally = judge_all(problem.edition, elements)
    falls = sum(one.fall for one in history.done)
    fell = bool(history.done) and history.done[-1].fall
    words: Any = pack_state(solver.packed, tally, falls, fell, problem.changes_done)
    return words
