"""The kinds of failure of one pass, and what each leaves on the ice.

A slip is read from what the attempts at an element may become; the plain ones of the rulebook are added even
where no chance of them was recorded, because a program should be known for them too. What a plain slip leaves:
a fall, a pop or a lost tail ends the unit (common practice, no source: the tail may still follow a popped lead).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from app.domain.elements import Jump, JumpElement
from app.domain.notation import parse_jump_element
from app.planner.problem import Attempt, Option
from app.rulebook.editions import Edition

FALL_GRADE = Fraction(-5)
"""Grade of a fall without a record: the floor of the scale (ISU grades of execution, a fall)."""


class Kind(StrEnum):
    """How a pass may fail; the value is the word for it."""

    FELL = "fell"
    POPPED = "popped by one"
    SINGLED = "popped to a single"
    TAIL_LOST = "tail lost"
    TAIL_SHORT = "tail shortened"
    LEFT_OUT = "not attempted"


@dataclass(frozen=True, slots=True)
class Slip:
    """One failure of one element. `becomes` None: not attempted, the box stays free.

    `jump`: name of the planned jump that failed. `chance` is 0 where none was recorded, given that the pass
    is tried as planned; `grade` in grades of execution, the mean of what was recorded.
    """

    kind: Kind
    jump: str
    becomes: JumpElement | None
    chance: Fraction
    grade: Fraction

    @property
    def fall(self) -> bool:
        return self.kind is Kind.FELL

    @property
    def code(self) -> str | None:
        """What it becomes, as text."""
        return None if self.becomes is None else str(self.becomes)


def slips(book: Edition, option: Option) -> tuple[Slip, ...]:
    """Every failure of a planned element: the recorded ones, most frequent first, then the plain ones."""
    if option.code is None:
        return ()
    planned = parse_jump_element(option.code)
    recorded = _recorded(planned, option)
    failed = [one for one in recorded if one.becomes is not None and not one.fall]
    weight = sum(one.chance for one in failed)
    mean = sum((one.chance * one.grade for one in failed), Fraction(0)) / weight if weight else Fraction(0)
    have = {_likeness(one) for one in recorded}
    plain = [replace(one, grade=mean) if not one.fall else one for one in _plain(planned)]
    added = [one for one in plain if _likeness(one) not in have and _has_value(book, one.becomes)]
    return (*recorded, *added)


def plain_slips(book: Edition, planned: JumpElement) -> tuple[Slip, ...]:
    """The failures of the rulebook alone, with chance 0."""
    return tuple(one for one in _plain(planned) if _has_value(book, one.becomes))


def landed_grade(option: Option) -> Fraction:
    """Mean grade of the attempts that become exactly what was tried; 0 where none is recorded."""
    good = [
        a for a in option.attempts if a.element is not None and str(a.element) == option.code and not a.fall
    ]
    weight = sum((a.chance for a in good), Fraction(0))
    return sum((a.chance * a.grade for a in good), Fraction(0)) / weight if weight else Fraction(0)


def kind_of(planned: JumpElement, attempt: Attempt) -> tuple[Kind, str] | None:
    """How an attempt failed and at which planned jump; None: every jump came, or something else was done."""
    if attempt.element is not None and attempt.fall:
        wanted, came = _listed(planned), _listed(attempt.element)
        return Kind.FELL, wanted[min(len(came), len(wanted)) - 1].name
    return what_is_missing(planned, attempt.element)


def what_is_missing(planned: JumpElement, became: JumpElement | None) -> tuple[Kind, str] | None:
    """The failure, falls aside, that leaves `became` (None: nothing), and its planned jump; None as in `kind_of`."""
    wanted = _listed(planned)
    if became is None:
        return Kind.LEFT_OUT, wanted[0].name
    came = _listed(became)
    if came[0].takeoff != wanted[0].takeoff:
        return None
    turns = came[0].revolutions or 0
    if turns < (wanted[0].revolutions or 0):
        return (Kind.SINGLED if turns <= 1 else Kind.POPPED), wanted[0].name
    if len(came) < len(wanted):
        return Kind.TAIL_LOST, wanted[len(came)].name
    for mine, theirs in zip(wanted, came, strict=False):
        if (theirs.revolutions or 0) < (mine.revolutions or 0):
            return Kind.TAIL_SHORT, mine.name
    return None


def _recorded(planned: JumpElement, option: Option) -> list[Slip]:
    """Failures among the recorded attempts, those that become the same put together."""
    found: dict[tuple[Kind, str], Slip] = {}
    for attempt in option.attempts:
        kind = kind_of(planned, attempt)
        if kind is None:
            continue
        key = (kind[0], str(attempt.element))
        known = found.get(key, Slip(*kind, attempt.element, Fraction(0), Fraction(0)))
        chance = known.chance + attempt.chance
        grade = (known.grade * known.chance + attempt.grade * attempt.chance) / chance
        found[key] = replace(known, chance=chance, grade=grade)
    return sorted(found.values(), key=lambda one: -one.chance)


def _plain(planned: JumpElement) -> Iterator[Slip]:
    """The failures of the rulebook, whatever was recorded."""
    listed = [place for place, jump in enumerate(planned.jumps) if not jump.is_euler]
    lead = replace(planned.jumps[listed[0]], mark="")
    alone, nothing = JumpElement((lead,)), Fraction(0)
    yield Slip(Kind.FELL, lead.name, alone, nothing, FALL_GRADE)
    turns = lead.revolutions or 0
    if turns >= 3:
        yield Slip(Kind.POPPED, lead.name, _turned(lead, turns - 1), nothing, nothing)
    if turns >= 2:
        yield Slip(Kind.SINGLED, lead.name, _turned(lead, 1), nothing, nothing)
    for place in listed[1:]:
        jump = planned.jumps[place]
        yield Slip(Kind.TAIL_LOST, jump.name, planned.first(place), nothing, nothing)
        if (jump.revolutions or 0) >= 2:
            less = replace(jump, revolutions=(jump.revolutions or 0) - 1)
            short = JumpElement((*planned.jumps[:place], less, *planned.jumps[place + 1 :]))
            yield Slip(Kind.TAIL_SHORT, jump.name, short, nothing, nothing)
    yield Slip(Kind.LEFT_OUT, lead.name, None, nothing, nothing)


def _likeness(slip: Slip) -> tuple[Kind, str]:
    """Slips that need no second mention: a lost tail by what is left, anything else by kind and jump."""
    names = "+".join(jump.name for jump in slip.becomes.jumps) if slip.becomes else ""
    if slip.kind is Kind.TAIL_LOST:
        return slip.kind, names
    return slip.kind, slip.jump if slip.kind is Kind.TAIL_SHORT else ""


def _turned(lead: Jump, turns: int) -> JumpElement:
    return JumpElement((replace(lead, revolutions=turns),))


def _listed(element: JumpElement) -> list[Jump]:
    return [jump for jump in element.jumps if not jump.is_euler]


def _has_value(book: Edition, element: JumpElement | None) -> bool:
    """Does the season's table know every jump?"""
    jumps = element.jumps if element else ()
    return all(book.values.has(jump.name) for jump in jumps)
