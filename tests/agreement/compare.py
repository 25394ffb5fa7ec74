"""One generated case, every solver: what differs from the exhaustive one, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

from app.planner import exhaustive
from app.planner.advice import Advice
from app.planner.backward import BackwardSolver
from app.planner.beliefs import BeliefSolver, believable
from app.planner.mechanics import PackedMechanics, TallyMechanics
from app.planner.packing import packable
from app.planner.plan import Planner
from app.planner.problem import Problem, read_problem
from app.planner.short_mechanics import ShortMechanics
from app.planner.solver import Solver
from app.planner.target import target_solver
from app.planner.worlds import WorldSolver
from app.requests import AdviseRequest, read_request
from tests.agreement.cases import Request, with_target

CLOSE = 1e-6
"""Hundredths of a point: what floats of exact data may be off by."""
NOTHING_ALLOWED = exhaustive.BARRED / 2


@dataclass(frozen=True)
class Truth:
    """What the exhaustive solver says, in hundredths (or chances); None: not allowed."""

    problem: Problem
    options: tuple[Fraction | None, ...]
    keep_all: Fraction | None

    @property
    def optimum(self) -> Fraction | None:
        """The contract's `value`; None when nothing is allowed."""
        return max((value for value in self.options if value is not None), default=None)


def problem_of(request: Request) -> Problem:
    """The checked problem of a request."""
    return read_problem(read_request(AdviseRequest, request))


def truth_of(problem: Problem, points: Fraction | None = None) -> Truth:
    """Solve slowly. Options after which some later pass has nothing allowed count as not allowed."""
    values = exhaustive.option_values(problem, points)
    keep = planned(problem)
    return Truth(
        problem,
        tuple(None if one is None or one < NOTHING_ALLOWED else one for one in values),
        None if keep is None else plan_worth(problem, keep, points),
    )


def planned(problem: Problem) -> list[int] | None:
    """The planned option of every pass; None when a pass cannot keep its plan."""
    keep = [one.keep for one in problem.passes]
    return None if None in keep else [one or 0 for one in keep]


def plan_worth(problem: Problem, plan: Sequence[int], points: Fraction | None = None) -> Fraction:
    """Value of a fixed plan: of the same problem with one option a pass."""
    if points is None:
        return exhaustive.fixed_plan_value(problem, plan)
    alone = tuple(
        replace(one, options=(one.options[choice],)) for one, choice in zip(problem.passes, plan, strict=True)
    )
    return exhaustive.optimum(replace(problem, passes=alone, max_changes=None), points)


def solvers_of(problem: Problem) -> dict[str, Solver]:
    """Every way of solving a problem for expected points, by name."""
    slow = ShortMechanics(problem) if problem.edition.is_short else TallyMechanics(problem)
    found: dict[str, Solver] = {"worlds over the judge": WorldSolver(problem, slow)}
    if packable(problem):
        backward = BackwardSolver(problem)
        found["worlds over the loops"] = WorldSolver(problem, PackedMechanics(backward))
        if len(problem.histories) == 1:
            found["loops"] = backward
        if believable(problem):
            found["loops over readings"] = BeliefSolver(problem, backward)
    return found


def solver_faults(truth: Truth) -> list[str]:
    """Every solver against the truth: optimum, options, and the planned program."""
    faults: list[str] = []
    for name, solver in solvers_of(truth.problem).items():
        certain, node = solver.start(truth.problem.histories, truth.problem.changes_done, 0)
        values = [None if v is None or v < -1e9 else certain + v for v in solver.option_values(0, node)]
        faults += _differences(f"{name}, option", values, truth.options)
        if truth.optimum is not None:
            faults += _differences(f"{name}, optimum", [certain + solver.value(0, node)], [truth.optimum])
        plan = planned(truth.problem)
        if plan is not None:
            worth = certain + solver.plan_value(0, node, plan)
            faults += _differences(f"{name}, planned program", [worth], [truth.keep_all])
    return faults


def advice_faults(
    request: Request, truth: Truth, unit: float = 100.0, points: Fraction | None = None
) -> list[str]:
    """The whole answer of `advise` against the truth."""
    assert truth.optimum is not None, "a case always leaves something allowed"
    advice = Planner(request).advise()
    if not advice.exact:
        return ["the answer is not exact"]
    passes = truth.problem.passes
    said = {option.element: option.value * unit for option in advice.options}
    faults = _differences("option", [said.get(o.code) for o in passes[0].options], truth.options)
    faults += _differences("value", [advice.value * unit], [truth.optimum])
    faults += _differences("best", [said.get(advice.best)], [truth.optimum])
    keep = passes[0].keep
    faults += _differences(
        "keep now", [_times(advice.keep_now_value, unit)], [None if keep is None else truth.options[keep]]
    )
    faults += _differences("keep all", [_times(advice.keep_all_value, unit)], [truth.keep_all])
    return faults + _swap_faults(advice, truth, unit, points) + _landed_faults(advice, truth)


def _swap_faults(advice: Advice, truth: Truth, unit: float, points: Fraction | None) -> list[str]:
    """Each swap's value and gain, and that none is missing or too many."""
    problem, plan = truth.problem, planned(truth.problem)
    done = len(problem.histories[0].done)
    expected: dict[tuple[int, str | None], Fraction] = {}
    if plan is not None and (problem.max_changes is None or problem.changes_done < problem.max_changes):
        for place, one in enumerate(problem.passes):
            for number, option in enumerate(one.options):
                if option.change:
                    swapped = [*plan[:place], number, *plan[place + 1 :]]
                    expected[done + place + 1, option.code] = plan_worth(problem, swapped, points)
    said = {(swap.number, swap.element): swap for swap in advice.swaps}
    if set(said) != set(expected) or len(said) != len(advice.swaps):
        return [f"swaps for {sorted(said, key=str)}; expected {sorted(expected, key=str)}"]
    faults = []
    for key, worth in expected.items():
        faults += _differences(f"swap {key}", [said[key].value * unit], [worth])
        gain = worth - (truth.keep_all or 0)
        faults += _differences(f"gain of swap {key}", [said[key].gain * unit], [gain])
    gains = [swap.gain for swap in advice.swaps]
    return faults + ([] if gains == sorted(gains, reverse=True) else ["swaps are not in order of gain"])


def _landed_faults(advice: Advice, truth: Truth) -> list[str]:
    """`if_landed` starts with the best option and offers one of each pass."""
    if len(advice.if_landed) != len(truth.problem.passes) or advice.if_landed[0] != advice.best:
        return [f"if_landed is {advice.if_landed}, best {advice.best}"]
    wrong = [
        code
        for code, one in zip(advice.if_landed, truth.problem.passes, strict=True)
        if code not in [option.code for option in one.options]
    ]
    return [f"if_landed names {wrong}"] if wrong else []


def _times(value: float | None, unit: float) -> float | None:
    return None if value is None else value * unit


def _differences(what: str, found: Sequence[float | None], expected: Sequence[Fraction | None]) -> list[str]:
    return [
        f"{what} {place}: {ours}, exhaustive {None if truth is None else float(truth)}"
        for place, (ours, truth) in enumerate(zip(found, expected, strict=True))
        if (ours is None) != (truth is None)
        or (ours is not None and truth is not None and abs(ours - float(truth)) > CLOSE)
    ]


def reachable_points(problem: Problem, random: Random) -> Decimal:
    """Points (not hundredths) that one random program ends with, exactly: a target hit on the nail."""
    history = random.choice(problem.histories)
    steps = [exhaustive.Step(done) for done in history.done]
    for one in problem.passes:
        option = random.choice(one.options)
        fell = bool(steps) and steps[-1].done.fall
        attempt = random.choice(option.after_fall if fell else option.attempts)
        done = exhaustive.Done(attempt.element, one.late, attempt.fall, attempt.error)
        steps.append(exhaustive.Step(done, attempt.grade))
    total = exhaustive._final(problem, exhaustive.World(Fraction(1), tuple(steps)))
    return Decimal(total.numerator) / Decimal(total.denominator) / 100


def target_faults(request: Request, random: Random) -> list[str]:
    """The aim "at least" on the nail, a hair above it and some way off."""
    problem = problem_of(request)
    nail = reachable_points(problem, random)
    faults = []
    for points in (nail, nail + Decimal("0.0000001"), nail + Decimal(random.randint(-300, 300)) / 100):
        need = Fraction(points) * 100
        truth = truth_of(problem, need)
        asked: dict[str, Any] = with_target(request, str(points))
        found = advice_faults(asked, truth, 1.0, need) + _slow_target_faults(truth, need)
        faults += [f"at least {points}: {fault}" for fault in found]
    return faults


def _slow_target_faults(truth: Truth, need: Fraction) -> list[str]:
    """The solver over the judge, also where the compiled loops answer."""
    problem = truth.problem
    solver, exact = target_solver(problem, need, 0)
    _, node = solver.start(problem.histories, problem.changes_done, 0)
    faults = [] if exact else ["over the judge, the answer is not exact"]
    return faults + _differences("over the judge, option", solver.option_values(0, node), truth.options)


def faults_of(request: Request) -> list[str]:
    """Expected points: every solver and the whole answer."""
    truth = truth_of(problem_of(request))
    return solver_faults(truth) + advice_faults(request, truth)
