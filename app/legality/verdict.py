"""A verdict: one element as the rulebook has it, with every ruling that is not "full"."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass, replace

from app.domain.elements import Element, JumpElement
from app.domain.points import Points
from app.domain.rulings import RuleRef, Ruling


@dataclass(frozen=True, slots=True)
class Award:
    """A bonus earned by one jump (its number from 1; of a pair, the second): hundredths, rule, what for."""

    jump: int
    points: Points
    rule: RuleRef
    why: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """`element` carries the stars and `+REP` the rulings call for."""

    element: Element
    rulings: tuple[Ruling, ...] = ()
    awards: tuple[Award, ...] = ()

    @property
    def bonus(self) -> Points:
        """Hundredths of bonus, at levels that have one."""
        return sum(one.points for one in self.awards)

    @property
    def counts_in_full(self) -> bool:
        return not self.rulings


def verdict(element: JumpElement, rulings: Mapping[int, Ruling], unmarked: Container[int] = ()) -> Verdict:
    """Mark the jumps of `element` (as executed) by `rulings`, keyed by jump number from 1.

    A jump ruled "nothing" gets its star, unless it is `unmarked`: a free skating prints an attempt
    without revolutions plain (`Lz`, `3Lz+A+SEQ`). A jump ruled "part" makes the element `+REP`.
    """
    jumps = tuple(
        replace(jump, starred=True)
        if (found := rulings.get(number)) and found.ruling == "nothing" and number not in unmarked
        else jump
        for number, jump in enumerate(element.jumps, start=1)
    )
    repeat = any(ruling.ruling == "part" for ruling in rulings.values())
    return Verdict(JumpElement(jumps, repeat), tuple(rulings[number] for number in sorted(rulings)))
