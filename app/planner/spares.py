"""What a spare is worth: one use more, or one fewer, of something the rulebook counts, at each point of a program.

At the boundary behind pass b, with passes 1 to b landed as planned, the rest is solved to the optimum within the
limit on changes, from a tally that differs in one thing:

    one more   one use made so far is given back: one execution of a double fewer, one unit fewer, one long unit
               fewer, one jump fewer that holds a place of the repeat quota (its executions stay);
    one fewer  one more use is made for nothing: an execution in a unit, a unit, a long unit, a place of the quota.

Boxes, points and all else of the tally stay. Where no use was made yet, nothing can be given back: the allowance
is whole, and `one_more` is None. Where nothing is left, `one_fewer` is None. Points, gained or lost.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from app.domain.notation import parse_jump_element
from app.legality.judge import judge_all
from app.legality.left import DOUBLES, NO_LIMIT, LeftToUse, left_to_use, repeats_left
from app.legality.repeats import repeat_class
from app.legality.tally import Executed, Tally
from app.planner.backward import BackwardSolver
from app.planner.fragile import LONG_UNIT, REPEAT, UNIT, Spare
from app.planner.packing import packable
from app.planner.problem import Done, History, Problem, read_problem
from app.requests import AdviseRequest, read_request
from app.rulebook.editions import Edition

Change = Callable[[Tally], Tally]

PHANTOM = "3-"
"""A jump that does not exist and holds a place of the repeat quota."""


def spares(request: AdviseRequest | Mapping[str, Any]) -> tuple[Spare, ...]:
    """Every spare of an `advise` request at every boundary, by thing and then in order.

    Empty for a short program, which has no such allowances, and for a rulebook or aim that the exact loops do not
    know. Doubles are those a later pass may be tried with. Raises InputError for what is no request.
    """
    asked = read_request(AdviseRequest, request)
    problem = read_problem(asked)
    known = len(problem.histories) == 1 and asked.aim.points is None and not problem.edition.is_short
    if not known or not packable(problem) or any(one.keep is None for one in problem.passes):
        return ()
    return tuple(_Ledger(problem).run())


class _Ledger:
    """One program with its solver, asked at each boundary with a changed tally."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._solver = BackwardSolver(problem)

    def run(self) -> Iterator[Spare]:
        boundaries = range(len(self._problem.passes))
        for what in (*_doubles(self._problem), UNIT, *_limited(self._problem.edition)):
            for place in boundaries:
                yield self._spare(what, place)

    def _spare(self, what: str, place: int) -> Spare:
        history = self._history(place)
        _, tally = judge_all(self._problem.edition, [d.element for d in history.done if d.element])
        left = _left(what, left_to_use(self._problem.edition, tally))
        more, fewer = changes(what)
        now = self._value(history, place, None)
        given = None if more(tally) == tally else self._value(history, place, more) - now
        taken = None if not left else now - self._value(history, place, fewer)
        return Spare(what, len(history.done), left, _printed(given), _printed(taken))

    def _history(self, place: int) -> History:
        """The passes before, landed as planned, behind those done already."""
        done = list(self._problem.histories[0].done)
        for one in self._problem.passes[:place]:
            element = None if one.planned is None else parse_jump_element(one.planned)
            done.append(Done(element, one.late, False, False))
        return replace(self._problem.histories[0], done=tuple(done))

    def _value(self, history: History, place: int, change: Change | None) -> float:
        certain, node = self._solver.node(history, self._problem.changes_done, place, change)
        return (certain + self._solver.value(place, node)) / 100


def changes(what: str) -> tuple[Change, Change]:
    """A thing as two changes of a tally: one use given back, one use more."""
    if what == UNIT:
        return _units(-1), _units(1)
    if what == LONG_UNIT:
        return _long_units(-1), _long_units(1)
    if what == REPEAT:
        return _quota_given, _quota_taken
    return _execution_given(what), _execution_taken(what)


def _units(step: int) -> Change:
    return lambda tally: replace(tally, units=max(tally.units + step, 0))


def _long_units(step: int) -> Change:
    return lambda tally: replace(tally, long_units=max(tally.long_units + step, 0))


def _quota_given(tally: Tally) -> Tally:
    """The first jump that holds a place gives it back; it stays executed as often as it was."""
    holder = next((one for one in tally.executed if one.repeated and int(one.name[0]) >= 3), None)
    return tally if holder is None else tally.with_execution(replace(holder, repeated=False))


def _quota_taken(tally: Tally) -> Tally:
    """A jump that does not exist takes a place."""
    return tally.with_execution(Executed(PHANTOM, 2, True, True))


def _execution_given(name: str) -> Change:
    def given(tally: Tally) -> Tally:
        one = tally.of(name)
        if not one.times:
            return tally
        fewer = replace(one, times=one.times - 1, repeated=False)
        if fewer.times:
            return tally.with_execution(fewer)
        return replace(tally, executed=tuple(other for other in tally.executed if other.name != name))

    return given


def _execution_taken(name: str) -> Change:
    def taken(tally: Tally) -> Tally:
        one = tally.of(name)
        return tally.with_execution(Executed(name, one.times + 1, True, one.repeated or one.times == 1))

    return taken


def _doubles(problem: Problem) -> list[str]:
    """Doubles that some pass may be tried with, in the order of the take-offs."""
    tried = {
        jump.name
        for one in problem.passes
        for option in one.options
        if option.code is not None
        for jump in parse_jump_element(option.code).jumps
    }
    limited = repeat_class(problem.edition, "2T") is not None or problem.edition.rules.family is not None
    return [name for name in DOUBLES if limited and name in tried]


def _limited(edition: Edition) -> Iterator[str]:
    """What only some rulebooks give a number of."""
    if edition.rules.units and edition.rules.units.most_long:
        yield LONG_UNIT
    if repeats_left(edition, Tally())[0] != NO_LIMIT:
        yield REPEAT


def _left(what: str, left: LeftToUse) -> int:
    if what == UNIT:
        return left.units
    if what == LONG_UNIT:
        return int(left.three_jump_unit)
    return left.repeats if what == REPEAT else left.doubles[what]


def _printed(points: float | None) -> float | None:
    """Without the noise of adding floats; never below zero: an allowance need not be used."""
    return None if points is None else max(round(points, 6), 0.0)
