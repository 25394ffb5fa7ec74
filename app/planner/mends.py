"""Faults of a planned program, small edits that mend them, and traps that wait behind a miss.

A fault is a ruling that leaves a planned jump less than its full value. A mend is one edit of one pass after which
that fault is gone and no other has come: another trained element, a tail dropped, a tail made another double, a
pass left out. Every edit is tried and the whole program ruled again. A trap is no fault yet: a plain failure of one
pass that would take the value of another. Values are base values with late credit; grades are left aside.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from app.domain.elements import Jump, JumpElement, joined
from app.domain.notation import parse_jump_element
from app.domain.points import Points
from app.domain.rulings import Ruling
from app.errors import InputError
from app.planner.consequences import Effect, Step, What, Whole, effects, whole
from app.planner.problem import Done
from app.planner.slips import Kind, Slip, plain_slips
from app.rulebook.editions import Edition

TAILS = (Jump("T", 2), Jump("Lo", 2), Jump("T", 1))
"""What a tail may be made instead: the doubles that follow any landing, and the easiest tail there is."""
MOST_MENDS = 3
LESS = ("nothing", "part")
COSTLY = (What.NOTHING, What.PART, What.AXEL)


@dataclass(frozen=True, slots=True)
class Planned:
    """One planned jump pass."""

    code: str
    late: bool


@dataclass(frozen=True, slots=True)
class Mend:
    """One edit: pass `number` becomes `code` (None: left out). `points`: hundredths won over the program as it is.

    `trained`: the new element is among the trained ones, or is what remains of the planned one.
    """

    number: int
    was: str
    code: str | None
    trained: bool
    points: Points


@dataclass(frozen=True, slots=True)
class Fault:
    """One pass with jumps that do not count in full.

    Its mends: trained ones first, then those from the take-off planned there, then by points.
    """

    number: int
    code: str
    rulings: tuple[Ruling, ...]
    mends: tuple[Mend, ...]


@dataclass(frozen=True, slots=True)
class Trap:
    """A plain failure of pass `number` and what it would take elsewhere, or owe."""

    number: int
    slip: Slip
    effects: tuple[Effect, ...]


Program = tuple[Planned | None, ...]


Trained = Sequence[Collection[str]]
"""For each pass, the codes of the trained elements that fit there."""


def faults(book: Edition, program: Sequence[Planned], trained: Trained) -> tuple[Fault, ...]:
    """Every fault of a planned program with its mends. Raises InputError for a code that cannot be read."""
    as_is = tuple(program)
    now = _ruled(book, as_is)
    found = []
    for number, scored in enumerate(now.passes, start=1):
        rulings = tuple(one for one in scored.rulings if one.ruling in LESS)
        if rulings:
            mends = _mends(book, as_is, now, number, trained)
            found.append(Fault(number, program[number - 1].code, rulings, mends))
    return tuple(found)


def traps(book: Edition, program: Sequence[Planned]) -> tuple[Trap, ...]:
    """Every plain failure that would take the value of another pass, or leave the Axel owed."""
    steps = [_step(one) for one in program]
    before = whole(book, steps)
    found = []
    for place, one in enumerate(program):
        for slip in plain_slips(book, parse_jump_element(one.code)):
            failed = Done(slip.becomes, one.late, slip.fall, slip.becomes is not None)
            after = whole(book, [*steps[:place], Step(failed, Fraction(0)), *steps[place + 1 :]])
            costly = [effect for effect in effects(before, after, place, 1) if effect.what in COSTLY]
            if costly:
                found.append(Trap(place + 1, slip, tuple(costly)))
    return tuple(_once(found))


def _once(found: Sequence[Trap]) -> Iterator[Trap]:
    """Of failures of one pass that take the same, the first: a fall leaves what a lost tail leaves."""
    seen: set[tuple[int, bool, tuple[tuple[What, int], ...]]] = set()
    for trap in found:
        missing = trap.slip.kind is Kind.LEFT_OUT
        key = (trap.number, missing, tuple((one.what, one.number) for one in trap.effects))
        if key not in seen:
            seen.add(key)
            yield trap


def _mends(book: Edition, program: Program, now: Whole, number: int, trained: Trained) -> tuple[Mend, ...]:
    """Edits after which nothing on pass `number` is ruled as now, nothing else is ruled worse, and nothing is lost."""
    old = _faulty(now)
    here = {one for one in old if one[0] == number}
    found = []
    for place, was in enumerate(program):
        for code, is_trained in _edits(program, place, number - 1, trained[place]):
            if was is None or code == was.code:
                continue
            edited = None if code is None else replace(was, code=code)
            after = _try(book, (*program[:place], edited, *program[place + 1 :]))
            if after is None or _faulty(after) & here or not _faulty(after) <= old:
                continue
            points = sum(one.base for one in after.passes) - sum(one.base for one in now.passes)
            if points >= 0:
                found.append(Mend(place + 1, was.code, code, is_trained, points))
    found.sort(key=lambda one: (not one.trained, _other_takeoff(one), -one.points, one.number != number))
    return tuple(found[:MOST_MENDS])


def _other_takeoff(mend: Mend) -> bool:
    """Does the edit ask for another take-off, and so for another entry?"""
    if mend.code is None:
        return False
    return parse_jump_element(mend.code).jumps[0].takeoff != parse_jump_element(mend.was).jumps[0].takeoff


def _edits(
    program: Program, place: int, faulty: int, trained: Collection[str]
) -> Iterator[tuple[str | None, bool]]:
    """Small edits of one pass with whether they are trained, each once."""
    here = program[place]
    assert here is not None, "only a program as it is is edited"
    element = parse_jump_element(here.code)
    seen: set[str] = set()
    for code in sorted(trained):
        same = parse_jump_element(code).jumps[0].takeoff == element.jumps[0].takeoff
        if same or place == faulty:
            seen.add(code)
            yield code, True
    for edited, is_part in _structural(element):
        code = str(edited)
        if code not in seen:
            seen.add(code)
            yield code, is_part
    if place == faulty:
        yield None, True


def _structural(element: JumpElement) -> Iterator[tuple[JumpElement, bool]]:
    """The element without a tail, which is a part of it, or with a tail that turns no more than the planned one."""
    jumps = element.jumps
    for place in range(1, len(jumps)):
        if jumps[place].is_euler:
            continue
        yield element.first(place), True
        if not jumps[place - 1].is_euler:
            yield joined([*jumps[:place], *jumps[place + 1 :]]), True
            for tail in TAILS:
                if (tail.revolutions or 0) <= (jumps[place].revolutions or 0):
                    yield joined([*jumps[:place], tail, *jumps[place + 1 :]]), False


def _faulty(found: Whole) -> set[tuple[int, int]]:
    """Pass and jump of every ruling that costs something."""
    return {
        (number, ruling.jump)
        for number, scored in enumerate(found.passes, start=1)
        for ruling in scored.rulings
        if ruling.ruling in LESS
    }


def _try(book: Edition, program: Program) -> Whole | None:
    """A program as ruled; None where the season's table has no such value."""
    try:
        return _ruled(book, program)
    except InputError:
        return None


def _ruled(book: Edition, program: Program) -> Whole:
    return whole(book, [_step(one) for one in program])


def _step(planned: Planned | None) -> Step:
    element = None if planned is None else parse_jump_element(planned.code)
    return Step(Done(element, bool(planned and planned.late), False, False), Fraction(0))
