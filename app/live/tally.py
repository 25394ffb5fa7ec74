"""A sheet of paper filled at the boards, read as what the pad would have logged.

On paper a pass has boxes to tick, alone or together. Each combination of ticks stands for one button of the pad
(`app.live.pad`), so a filled sheet makes the very events that taps would have made:

    clean                 as planned                      popped + tail lost   popped, no tail
    popped                popped; of a unit, tail kept    fell + tail lost     fell on the first jump
    fell                  fell on the last jump           popped + fell        popped and fell
    tail lost             the last jump lost              not done             not attempted

What cannot be read is refused with the number of its pass. Common practice, no source: which boxes a sheet needs.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from app.domain.notation import parse_jump_element
from app.domain.words import say
from app.errors import InputError
from app.live.events import LoggedPass, PassLeftOut, PassSkated
from app.live.pad import tap_of


class Box(StrEnum):
    """A box of a pass; the value is what a form sends."""

    CLEAN = "clean"
    POPPED = "popped"
    FELL = "fell"
    TAIL_LOST = "tail lost"
    NOT_DONE = "not done"


def boxes_of(code: str) -> tuple[Box, ...]:
    """The boxes of an element: only one with a tail can lose it."""
    return tuple(box for box in Box if box is not Box.TAIL_LOST or _listed(code) > 1)


def logged(number: int, tried: str, ticked: Iterable[Box]) -> LoggedPass:
    """The event of one pass. Raises InputError for ticks that contradict each other, or none."""
    boxes = frozenset(ticked)
    if not boxes:
        raise _unread(
            number, say("nothing is ticked; expected at least one box, 'not done' where it was left out")
        )
    if boxes & {Box.CLEAN, Box.NOT_DONE} and len(boxes) > 1:
        raise _unread(number, say("%(said)s ticked; 'clean' and 'not done' stand alone", said=_said(boxes)))
    if boxes == {Box.NOT_DONE}:
        return PassLeftOut(number)
    if Box.TAIL_LOST in boxes and _listed(tried) == 1:
        raise _unread(number, say("'tail lost' ticked; %(tried)s has no tail", tried=tried))
    key = _key(tried, boxes)
    tap = tap_of(tried, key)
    if tap is None:
        raise _unread(number, say("%(said)s ticked; %(tried)s cannot end so", said=_said(boxes), tried=tried))
    return PassSkated(number, tried, tap.how, tap.readings)


def _key(tried: str, boxes: frozenset[Box]) -> str:
    """The button of the pad that these ticks stand for."""
    last = _places(tried)[-1]
    if boxes == {Box.CLEAN}:
        return "planned"
    if {Box.POPPED, Box.FELL} <= boxes:
        return "popped-fell"
    if Box.POPPED in boxes:
        return "popped-1" if last == 1 or Box.TAIL_LOST in boxes else "popped-tail"
    if Box.FELL in boxes:
        return "fell-1" if Box.TAIL_LOST in boxes else f"fell-{last}"
    return f"lost-{last}"


def _places(code: str) -> list[int]:
    """Places (from 1) of the jumps that are not Eulers, as the pad counts them."""
    jumps = parse_jump_element(code).jumps
    return [place for place, jump in enumerate(jumps, start=1) if not jump.is_euler]


def _listed(code: str) -> int:
    return len(_places(code))


def _said(boxes: frozenset[Box]) -> str:
    return " and ".join(f"'{box}'" for box in Box if box in boxes)


def _unread(number: int, why: str) -> InputError:
    return InputError(say("pass %(number)s", number=number), why)
