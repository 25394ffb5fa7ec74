"""From a solved problem to the answer of the `advise` contract: options, keep, swaps, what if all lands.

Points here are points, not hundredths, as in the contract.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.rulings import Ruling
from app.domain.words import say
from app.errors import InputError
from app.legality.judge import judge, judge_all
from app.legality.short_program import ShortElement, judge_short
from app.planner.problem import History, Option, Problem
from app.planner.solver import Node, Solver

TIE = 1e-7
"""Hundredths within which two values are equal: far below any real difference of exact data."""
DIGITS = 9


@dataclass(frozen=True, slots=True)
class OptionValue:
    """One choice for the next pass, the optimum afterwards, and what the rulebook makes of it as tried."""

    element: str | None
    value: float
    rulings: tuple[Ruling, ...]


@dataclass(frozen=True, slots=True)
class SwapValue:
    """A single change to a single pass, everything else as planned. `number` counts from 1, done included."""

    number: int
    element: str | None
    value: float
    gain: float


@dataclass(frozen=True, slots=True)
class Advice:
    """The answer of `advise`; `as_json()` gives the contract's keys. Values in points, or a chance."""

    value: float
    best: str | None
    keep: str | None
    keep_now_value: float | None
    keep_all_value: float | None
    options: tuple[OptionValue, ...]
    swaps: tuple[SwapValue, ...]
    if_landed: tuple[str | None, ...]
    states: int
    exact: bool
    seconds: float
    bound: float | None = None
    """With `exact` false: the true value differs by no more than this."""

    def as_json(self) -> dict[str, Any]:
        """The answer as JSON data."""
        said: dict[str, Any] = {
            "value": self.value,
            "best": self.best,
            "keep": self.keep,
            "keep_now_value": self.keep_now_value,
            "keep_all_value": self.keep_all_value,
            "options": [
                {"element": o.element, "value": o.value, "rulings": [asdict(r) for r in o.rulings]}
                for o in self.options
            ],
            "swaps": [
                {"pass": s.number, "element": s.element, "value": s.value, "gain": s.gain} for s in self.swaps
            ],
            "if_landed": list(self.if_landed),
            "states": self.states,
            "exact": self.exact,
            "seconds": self.seconds,
        }
        return said if self.exact else said | {"bound": self.bound}


class Adviser:
    """Builds advice for one problem from one solver, starting at pass `first`.

    `unit` turns the solver's values into the answer's: 100 for hundredths to points, 1 for chances.
    """

    def __init__(self, problem: Problem, solver: Solver, first: int = 0, unit: float = 100.0) -> None:
        self._problem = problem
        self._solver = solver
        self._first = first
        self._unit = unit
        self._certain, self._node = solver.start(problem.histories, problem.changes_done, first)
        self._paths: dict[tuple[int, Node], tuple[int, ...]] = {}

    def advice(self, seconds: float = 0.0, exact: bool = True, bound: float | None = None) -> Advice:
        """The whole answer. Raises InputError when nothing allowed remains."""
        here = self._problem.passes[self._first]
        values = self._solver.option_values(self._first, self._node)
        ranked = self._ranked(values)
        if not ranked:
            raise InputError("max_changes", say("no option of the next pass is allowed any more"))
        best = ranked[0]
        path = (best, *self._path(self._first + 1, self._solver.landed(self._first, self._node, best)))
        keep = here.keep
        keep_now = None if keep is None else values[keep]
        keep_all, swaps = self.swaps()
        return Advice(
            value=self._points(values[best]),
            best=here.options[best].code,
            keep=here.planned,
            keep_now_value=None if keep_now is None else self._points(keep_now),
            keep_all_value=keep_all,
            options=tuple(self._option(here.options[n], values[n]) for n in ranked),
            swaps=swaps,
            if_landed=tuple(self._code(self._first + ahead, n) for ahead, n in enumerate(path)),
            states=self._solver.states(),
            exact=exact,
            seconds=seconds,
            bound=bound,
        )

    def _points(self, value: float | None) -> float:
        return round((self._certain + (value or 0.0)) / self._unit, DIGITS)

    def _code(self, place: int, option: int) -> str | None:
        return self._problem.passes[place].options[option].code

    def _ranked(self, values: Sequence[float | None]) -> list[int]:
        """Allowed options, best first; equal values keep the planned element, then the fewest changes."""
        options = self._problem.passes[self._first].options
        order = sorted(
            (n for n in range(len(values)) if values[n] is not None), key=lambda n: -(values[n] or 0.0)
        )
        ranked: list[int] = []
        while order:
            top = values[order[0]] or 0.0
            tied = [n for n in order if top - (values[n] or 0.0) <= TIE]
            if len(tied) > 1:
                tied.sort(key=lambda n: (options[n].change, self._changes(n)))
            ranked.extend(tied)
            order = order[len(tied) :]
        return ranked

    def _changes(self, option: int) -> int:
        behind = self._solver.landed(self._first, self._node, option)
        return self._count(self._first + 1, self._path(self._first + 1, behind))

    def _count(self, place: int, path: Sequence[int]) -> int:
        return sum(self._problem.passes[place + n].options[choice].change for n, choice in enumerate(path))

    def _path(self, place: int, node: Node) -> tuple[int, ...]:
        """What to try from here on if every attempt becomes itself; among equals, the fewest changes."""
        if place == len(self._problem.passes):
            return ()
        known = self._paths.get((place, node))
        if known is not None:
            return known
        floor = self._solver.value(place, node) - TIE
        values = self._solver.option_values(place, node, floor)
        tied = [n for n, value in enumerate(values) if value is not None and value >= floor]
        keep = self._problem.passes[place].keep
        if keep in tied:
            tied = [n for n in tied if n == keep]
        paths = [(n, *self._path(place + 1, self._solver.landed(place, node, n))) for n in tied]
        found = min(paths, key=lambda path: self._count(place, path))
        self._paths[place, node] = found
        return found

    def _option(self, option: Option, value: float | None) -> OptionValue:
        history = max(self._problem.histories, key=lambda one: one.chance)
        return OptionValue(option.code, self._points(value), rulings_of(self._problem, history, option))

    def swaps(self) -> tuple[float | None, tuple[SwapValue, ...]]:
        """`keep_all_value`, and each single change that the limit on changes allows, best first."""
        passes = self._problem.passes[self._first :]
        if any(one.keep is None for one in passes):
            return None, ()
        plan = [one.keep or 0 for one in self._problem.passes]
        table = self._solver.swap_values(self._first, self._node, plan)
        keep_all = self._points(table[0][plan[self._first]])
        most = self._problem.max_changes
        if most is not None and self._problem.changes_done >= most:
            return keep_all, ()
        swaps = [
            SwapValue(self._first_number() + ahead, option.code, value, round(value - keep_all, DIGITS))
            for ahead, one in enumerate(passes)
            for option, value in zip(one.options, map(self._points, table[ahead]), strict=True)
            if option.change
        ]
        return keep_all, tuple(sorted(swaps, key=lambda swap: -swap.gain))

    def _first_number(self) -> int:
        """Number of the next pass in the whole program, from 1."""
        return len(self._problem.histories[0].done) + 1


def rulings_of(problem: Problem, history: History, option: Option) -> tuple[Ruling, ...]:
    """What the rulebook makes of an option that becomes itself right after `history`."""
    if option.code is None:
        return ()
    element = parse_jump_element(option.code)
    before = [one for one in history.done if one.element is not None]
    elements = [one.element for one in before if one.element is not None]
    if problem.edition.is_short:
        whole = [ShortElement(e, d.failed) for e, d in zip(elements, before, strict=True)]
        return judge_short(problem.edition, [*whole, ShortElement(element)])[-1].rulings
    _, tally = judge_all(problem.edition, elements)
    judged: JumpElement = element
    return judge(problem.edition, tally, judged).verdict.rulings
