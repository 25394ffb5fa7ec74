"""Rehearsing on the ice: which failures may be called, and which two are worth a drill.

The calls are the trainer's own (`app.practice.trainer`): the live screen's question, its choice, its limits; the weight
is the trainer's as well, chance times points at stake. Two things are added, because here somebody really jumps.

    Nothing untrained is skated. A failure is called only on a pass whose element is trained, and only when what is
    then skated is nothing, the first jumps of that element, its first jump alone with fewer turns, or trained itself.
    No fall is acted out. A fall in the middle of a unit leaves the same jumps as a lost tail: it is called as that,
    and makes it likelier. A fall on the last jump leaves the next pass as it was; it is not called at all.

What an answer wins is counted over what the same swap would win without the failure: a swap that is worth it anyway
is for the layout page, not for a drill.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import groupby

from app import engine
from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.live.advice import Swap, question
from app.live.events import PassSkated, Reading
from app.live.fold import fold
from app.live.program import KnownElement, Limits, Plan
from app.live.rehearsal import Callable
from app.planner.problem import Problem, read_problem
from app.planner.slips import Kind, Slip, slips, what_is_missing
from app.practice.trainer import Call, Progress, call_of, swaps_of
from app.requests import AdviseRequest, read_request

DRILLS = 2
"""Failures with a drill: few enough to remember, few enough jumps (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Rehearsable:
    """A failure that may be called, with the live screen's answer. `anyway`: what its swap wins without the failure."""

    call: Call
    anyway: float

    @property
    def wins(self) -> float:
        """Points that the answer wins because of the failure; 0 where the plan is kept."""
        return max(self.call.best - self.anyway, 0.0)

    @property
    def at_stake(self) -> float:
        """Points a skate that knowing the answer is worth on average: chance times points."""
        return self.call.chance * self.wins


@dataclass(frozen=True, slots=True)
class Drilled:
    """What one drill is for: failures of one pass with one answer, the likeliest first. `swap` is that answer."""

    failures: tuple[Rehearsable, ...]
    swap: Swap

    @property
    def first(self) -> Call:
        """The failure that the drill is named after."""
        return self.failures[0].call

    @property
    def chance(self) -> float:
        """Chance that one of them happens once the pass is tried, 0 to 1: they exclude each other."""
        return sum(one.call.chance for one in self.failures)

    @property
    def at_stake(self) -> float:
        """Points a skate, on average."""
        return sum(one.at_stake for one in self.failures)


def rehearsable(
    plan: Plan,
    offered: Mapping[str, KnownElement],
    known: Mapping[str, KnownElement],
    limits: Limits,
    progress: Progress = lambda through, of: None,
) -> tuple[Rehearsable, ...]:
    """Every failure of a layout that may be called on the ice, in skating order, the likelier of a pass first.

    Raises InputError naming the field when the program cannot be reckoned.
    """
    asked = question(plan, offered, known, limits)
    planner, problem = engine.Planner(asked), read_problem(read_request(AdviseRequest, asked))
    found: list[Rehearsable] = []
    to_fail = len(plan.passes) - 1
    for place in range(to_fail):
        if plan.passes[place].code in offered:
            anyway = _without_failure(plan, place, planner)
            for slip in acted(problem, place, offered):
                call = call_of(plan, place, slip, planner, offered, limits)
                if len(call.answers) > 1:
                    found.append(Rehearsable(call, anyway.get(_what(call.choice.swap), 0.0)))
        progress(place + 1, to_fail)
    return tuple(found)


def callables(found: Iterable[Rehearsable]) -> tuple[Callable, ...]:
    """The same as a rehearsal keeps them: what the lots fall on."""
    return tuple(
        Callable(
            one.call.key.number, one.call.key.kind.value, one.call.key.jump, one.call.becomes, one.call.weight
        )
        for one in found
        if one.call.weight > 0
    )


def worth_a_drill(found: Iterable[Rehearsable], limits: Limits) -> tuple[Drilled, ...]:
    """The failures with most at stake whose answer is a swap that only they make worth it, at most `DRILLS`.

    Failures of one pass with the same answer are one: there is one thing to remember.
    """
    with_answer = [one for one in found if one.call.choice.swap is not None and one.wins >= limits.threshold]
    by_answer = sorted(with_answer, key=_answer)
    groups = [_drilled(list(alike)) for _, alike in groupby(by_answer, key=_answer)]
    return tuple(sorted(groups, key=lambda one: -one.at_stake)[:DRILLS])


def _drilled(alike: list[Rehearsable]) -> Drilled:
    """One drill for failures of one pass with one answer."""
    swap = alike[0].call.choice.swap
    assert swap is not None, "failures without an answer have no drill"
    return Drilled(tuple(sorted(alike, key=lambda one: -one.at_stake)), swap)


def acted(problem: Problem, place: int, offered: Mapping[str, KnownElement]) -> tuple[Slip, ...]:
    """What may be called on a pass: the recorded failures without falls, one of each kind and jump, likeliest first."""
    row = problem.passes[place]
    if row.keep is None or (code := row.options[row.keep].code) is None:
        return ()
    planned = parse_jump_element(code)
    left: dict[str | None, Slip] = {}
    for slip in slips(problem.edition, row.options[row.keep]):
        if slip.chance > 0 and (one := _without_fall(planned, slip)) is not None:
            same = left.get(one.code)
            left[one.code] = one if same is None else _together(same, one)
    one_each: dict[tuple[Kind, str], Slip] = {}
    for one in sorted(left.values(), key=lambda slip: -slip.chance):
        if _may_be_skated(planned, one.becomes, offered):
            one_each.setdefault((one.kind, one.jump), one)
    return tuple(one_each.values())


def _without_fall(planned: JumpElement, slip: Slip) -> Slip | None:
    """The failure as what it leaves on the ice; None where a fall leaves the whole element."""
    became = None if slip.becomes is None else _uncalled(slip.becomes)
    kind = what_is_missing(planned, became)
    return None if kind is None else replace(slip, kind=kind[0], jump=kind[1], becomes=became)


def _uncalled(element: JumpElement) -> JumpElement:
    """The element without calls on turns and edge, which nobody can act."""
    return JumpElement(tuple(replace(jump, edge="", rotation="") for jump in element.jumps))


def _together(one: Slip, other: Slip) -> Slip:
    """Two failures that leave the same: as likely as both."""
    return replace(one, chance=one.chance + other.chance)


def _may_be_skated(
    planned: JumpElement, becomes: JumpElement | None, offered: Mapping[str, KnownElement]
) -> bool:
    """Whether a skater who has trained `planned` may be asked to skate `becomes` instead."""
    if becomes is None or str(becomes) in offered:
        return True
    names = [jump.name for jump in becomes.jumps]
    if names == [jump.name for jump in planned.jumps[: len(names)]]:
        return True
    lead, first = planned.jumps[0], becomes.jumps[0]
    fewer = (first.revolutions or 0) <= (lead.revolutions or 0)
    return len(names) == 1 and first.takeoff == lead.takeoff and fewer


def _without_failure(
    plan: Plan, place: int, planner: engine.Planner
) -> dict[tuple[int, str | None] | None, float]:
    """What each swap to a later pass wins when the passes up to index `place` come as planned."""
    events = [
        PassSkated(number, row.code, "as planned", (Reading(row.code),))
        for number, row in enumerate(plan.passes[: place + 1], start=1)
    ]
    found = swaps_of(planner, fold(plan, events))
    return {_what(one): max(one.gain, 0.0) for one in found}


def _what(swap: Swap | None) -> tuple[int, str | None] | None:
    return None if swap is None else (swap.number, swap.element)


def _answer(one: Rehearsable) -> tuple[int, int, str]:
    """Pass and answer, to bring those alike together."""
    swap = one.call.choice.swap
    return one.call.key.number, swap.number if swap else 0, (swap.element if swap else None) or ""
