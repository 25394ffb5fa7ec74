"""How an attempt at an element can end, in words, and which of the endings an element can have at all."""

from __future__ import annotations

from typing import Final

from app.chances.record import FATES
from app.domain.elements import Jump, JumpElement
from app.domain.notation import parse_jump_element
from app.domain.words import say

FATE_WORDS: Final = {
    "clean": say("landed clean"),
    "error": say("landed with an error"),
    "q": say("landed on the quarter"),
    "<": say("under-rotated"),
    "<<": say("downgraded"),
    "edge": say("wrong edge"),
    "fall": say("fell"),
    "popped by one": say("popped by one"),
    "popped to a single": say("popped to a single"),
    "tail not tried": say("tail not tried"),
    "tail shortened": say("tail shortened"),
}
"""The fates of `app.chances.record` as a coach says them."""
EDGE_JUMPS = ("F", "Lz")
"""Take-offs that are called for a wrong edge (ISU Technical Panel Handbook Single Skating 2025/26)."""


def fates_for(code: str) -> tuple[str, ...]:
    """The fates that make sense for an element, in the order of `FATES`. Raises NotationError."""
    element = parse_jump_element(code)
    return tuple(fate for fate in FATES if _can_end(element, fate))


def came_of(code: str, fate: str) -> str:
    """What came of the element, where the ending changes it; else the element itself."""
    jumps = list(parse_jump_element(code).jumps)
    lead = jumps[0]
    if fate == "popped by one":
        return str(_fewer(lead, (lead.revolutions or 0) - 1))
    if fate == "popped to a single":
        return str(_fewer(lead, 1))
    if fate == "tail not tried":
        return str(JumpElement((lead,)))
    if fate == "tail shortened":
        jumps[-1] = _fewer(jumps[-1], max((jumps[-1].revolutions or 1) - 1, 1))
    return str(JumpElement(tuple(jumps)))


def _can_end(element: JumpElement, fate: str) -> bool:
    listed = [jump for jump in element.jumps if not jump.is_euler]
    lead, tails = element.jumps[0], listed[1:]
    if fate == "edge":
        return any(jump.takeoff in EDGE_JUMPS for jump in listed)
    # A pop has fewer turns than the jump: a single has none to lose.
    if fate == "popped by one":
        return _turns(lead) >= 2
    # From a double, one turn less is the single already.
    if fate == "popped to a single":
        return _turns(lead) >= 3
    if fate == "tail not tried":
        return bool(tails)
    if fate == "tail shortened":
        return any(_turns(jump) >= 2 for jump in tails)
    return True


def _turns(jump: Jump) -> int:
    return jump.revolutions or 0


def _fewer(jump: Jump, turns: int) -> Jump:
    return Jump(jump.takeoff, turns)
