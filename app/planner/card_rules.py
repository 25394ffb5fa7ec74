"""What a card is made of: kinds of failure, swaps, rules, and when a rule fires.

A rule says "if the attempt at pass i fails in this way, try that element at pass j", j behind i. The skater
follows the plan, looks at every attempt, and reads the card so:

1. An attempt has at most one kind of failure, seen from what was tried there, planned or not (`kind_of`).
2. A card has at most one rule for each pass and kind. It is read right after the attempt, so rules come in the
   order of their passes, and who comes first is served first.
3. A rule fires whole or not at all. It does not fire when its swaps and those of all rules fired before (and
   the changes made before the card was asked for) would be more than the limit, nor when one of its passes
   carries a swap already.
4. A swap may be barred right after a fall (nothing harder then). A rule for a fall with such a swap on the very
   next pass is no candidate; a barred swap that waits for a pass is called off when the pass before it ends in
   a fall. That is settled before rule 2 is applied to that fall. It stays counted against the limit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from app.domain.elements import JumpElement
from app.planner.problem import Attempt

MOST_CHANGES = 2
"""A skater remembers no more in one program, whatever the request allows (needs: one or two is the ceiling)."""


class Kind(StrEnum):
    """How an attempt failed."""

    FALL = "fall"
    POPPED = "popped"
    TAIL_LOST = "tail lost"
    TAIL_SHORTENED = "tail shortened"
    NOT_ATTEMPTED = "not attempted"


@dataclass(frozen=True, slots=True, order=True)
class Swap:
    """Try option number `option` at pass `place` (both from 0)."""

    place: int
    option: int


Trigger = tuple[int, Kind]
"""Pass (from 0) and kind of failure."""
Swaps = tuple[Swap, ...]
"""One swap or two, by pass."""
Rules = Mapping[Trigger, Swaps]
Barred = Callable[[int, int], bool]
"""(pass, option) -> may this option not be tried right after a fall?"""
Candidate = tuple[Trigger, Swaps]


def never_barred(place: int, option: int) -> bool:
    """Any option may be tried right after a fall."""
    return False


def kind_of(tried: JumpElement | None, attempt: Attempt) -> Kind | None:
    """How an attempt at `tried` failed; None: as tried, or with calls and errors that take no jump away.

    A fall is a fall, whatever else was lost. Popped: the first jump has fewer turns. Tail lost: fewer jumps
    that still hang together, the Euler not counted. Tail shortened: as many jumps, one of the tails with fewer turns.
    """
    if tried is None:
        return None
    if attempt.fall:
        return Kind.FALL
    if attempt.element is None:
        return Kind.NOT_ATTEMPTED
    meant, came = _turns(tried), _turns(attempt.element)
    if came[:1] < meant[:1]:
        return Kind.POPPED
    if len(came) < len(meant):
        return Kind.TAIL_LOST
    if any(less < more for less, more in zip(came[1:], meant[1:], strict=False)):
        return Kind.TAIL_SHORTENED
    return None


def fits(swaps: Swaps, pending: Swaps, left: int) -> bool:
    """Does a rule with these swaps fire, with `left` changes left and `pending` waiting for their passes?"""
    return len(swaps) <= left and not {one.place for one in swaps} & {one.place for one in pending}


def _turns(element: JumpElement) -> list[int]:
    """Turns of the jumps that hang together, in order; the Euler left out."""
    whole = element.jumps[: element.broken_after]
    return [jump.revolutions or 0 for jump in whole if not jump.is_euler]
