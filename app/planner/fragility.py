"""Fragility: for every pass and every kind of failure, what it costs, what it drags along, how likely it is.

Each failure is looked at alone: the passes before it landed as planned, the passes after it are tried as planned
and may come out as their chances say. What it costs is split in two:

    own          the pass itself with and without the failure, everything else as planned (base value with late
                 credit, mean grade, fall deduction);
    consequence  the rest: expected points of keeping all later passes after the failure, compared with keeping
                 them without it. Negative where the failure frees more than it costs.

Expected losses weigh both by the chance of the failure when the pass is reached. Points, not hundredths.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from app.domain.notation import parse_jump_element
from app.domain.words import say
from app.errors import InputError
from app.planner.advice import Advice, SwapValue
from app.planner.consequences import Step, Whole, effects, whole
from app.planner.fragile import LEAST, Failure, Fragility
from app.planner.plan import Planner
from app.planner.problem import Done, Option, Problem, read_problem
from app.planner.slips import Slip, landed_grade, slips
from app.requests import AdviseRequest, DonePass, read_request

Progress = Callable[[int, int], None]
"""Told how many of how many questions are answered."""


def unheard(done: int, of: int) -> None:
    """Progress that nobody listens to."""


def fragility(request: AdviseRequest | Mapping[str, Any], progress: Progress = unheard) -> Fragility:
    """Every failure of the passes to come of an `advise` request whose aim is expected points.

    Raises InputError naming the field: a pass without its planned element among the options, a belief in
    `done`, another aim.
    """
    return _Examination(read_request(AdviseRequest, request)).run(progress)


class _Examination:
    """One program under examination: its planner, its passes as planned, the program without failure."""

    def __init__(self, request: AdviseRequest) -> None:
        if request.aim.points is not None:
            raise InputError("aim", say("at_least given; fragility is reckoned in expected points"))
        self._problem = read_problem(request)
        if len(self._problem.histories) > 1:
            raise InputError("done", say("a belief given; fragility starts from what is certain"))
        self._planner = Planner(request)
        self._before = request.done
        self._options = [_kept(self._problem, place) for place in range(len(self._problem.passes))]
        self._steps = [_as_planned(self._problem, n, option) for n, option in enumerate(self._options)]
        self._history = [Step(done, Fraction(0)) for done in self._problem.histories[0].done]
        self._whole = whole(self._problem.edition, [*self._history, *self._steps])
        self._first = len(self._history)
        self._codes = tuple(str(step.done.element or "") for step in [*self._history, *self._steps])

    def run(self, progress: Progress) -> Fragility:
        """Ask the planner about every failure, pass by pass."""
        found = [slips(self._problem.edition, option) for option in self._options]
        total, asked = sum(len(one) for one in found), 0
        failures: list[Failure] = []
        for place, kinds in enumerate(found):
            for slip in kinds:
                failures.append(self._failure(place, slip))
                asked += 1
                progress(asked, total)
        return Fragility(tuple(failures))

    def _failure(self, place: int, slip: Slip) -> Failure:
        book = self._problem.edition
        failed = _failed(self._problem, place, slip)
        steps = [*self._history, *self._steps]
        steps[self._first + place] = failed
        after = whole(book, steps)
        landed, lost = self._whole.passes[self._first + place], after.passes[self._first + place]
        own = landed.points - lost.points + self._deduction(slip)
        kept, said = self._total(place, self._steps[place]), self._total(place, failed)
        swaps = tuple(one for one in said.swaps if one.gain > LEAST)
        usual = {(one.number, one.element): one.gain for one in kept.swaps}
        return Failure(
            number=self._first + place + 1,
            planned=self._options[place].code or "",
            kind=slip.kind,
            jump=slip.jump,
            becomes=slip.code,
            chance=float(slip.chance),
            own=float(own) / 100,
            consequence=kept.points - said.points + (self._deduction(slip) - float(own)) / 100,
            own_rulings=lost.rulings,
            effects=effects(self._whole, after, self._first + place, 1),
            swaps=swaps,
            anyway=tuple(max(usual.get((one.number, one.element), 0.0), 0.0) for one in swaps),
            replanned=said.replanned,
            replanned_anyway=kept.replanned,
            program=self._codes,
        )

    def _deduction(self, slip: Slip) -> int:
        """Hundredths this fall takes off."""
        falls = sum(one.done.fall for one in self._history)
        return self._problem.edition.fall_deduction(falls + 1) if slip.fall else 0

    def _total(self, place: int, step: Step) -> _Kept:
        """Points of the program with this step at `place`: before as planned, later ones kept as planned."""
        steps = [*self._history, *self._steps[:place], step]
        done = whole(self._problem.edition, steps)
        if place + 1 == len(self._steps):
            return _Kept(float(sum(one.points for one in done.passes)) / 100, (), 0.0)
        said = self._advice(place, step)
        certain = float(
            sum(one.plain + goe for one, goe in zip(done.passes, self._goes(step, place), strict=True))
        )
        keep = said.keep_all_value or 0.0
        return _Kept(certain / 100 + keep, said.swaps, max(said.value - keep, 0.0))

    def _goes(self, step: Step, place: int) -> list[Fraction]:
        """GOE of the done passes as the finished program has it, everything to come as planned."""
        steps = [*self._history, *self._steps]
        steps[self._first + place] = step
        found: Whole = whole(self._problem.edition, steps)
        return [one.goe for one in found.passes[: self._first + place + 1]]

    def _advice(self, place: int, step: Step) -> Advice:
        done = [*self._before]
        for n in range(place):
            done.append(self._said(n, self._steps[n].done))
        done.append(self._said(place, step.done))
        return self._planner.advise(done, place + 1)

    def _said(self, place: int, done: Done) -> DonePass:
        """A pass in the words of the contract: tried as planned; one not attempted is no change."""
        if done.element is None:
            return DonePass(code=None, late=done.late)
        planned = self._options[place].code
        return DonePass(
            code=str(done.element),
            late=done.late,
            fall=done.fall,
            error=done.error,
            planned=planned,
            tried=planned,
        )


@dataclass(frozen=True, slots=True)
class _Kept:
    """Points of a program whose later passes are all kept, the single changes to them, and what replanning wins."""

    points: float
    swaps: tuple[SwapValue, ...]
    replanned: float


def _kept(problem: Problem, place: int) -> Option:
    keep = problem.passes[place].keep
    if keep is None:
        raise InputError(
            f"passes[{place}].options",
            say(
                "%(planned)s is planned and not among the options; fragility needs it there",
                planned=problem.passes[place].planned,
            ),
        )
    return problem.passes[place].options[keep]


def _as_planned(problem: Problem, place: int, option: Option) -> Step:
    element = None if option.code is None else parse_jump_element(option.code)
    return Step(Done(element, problem.passes[place].late, False, False), landed_grade(option))


def _failed(problem: Problem, place: int, slip: Slip) -> Step:
    attempted = slip.becomes is not None
    return Step(Done(slip.becomes, problem.passes[place].late, slip.fall, attempted), slip.grade)
