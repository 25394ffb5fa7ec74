"""Calls, misses and signs of the grades, counted by program, element, pass and half.

Misses are seen from the boards (or, where nothing was logged, read off the sheet); calls and grades are the panel's,
so they are counted only on passes that an official sheet shows. A pass has every call that is on any of its jumps,
each once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final, TypeVar

from app.domain.notation import parse_jump_element
from app.planner.slips import Kind
from app.review.season.passes import SeenPass

Key = TypeVar("Key")

CALLS: Final = ("q", "<", "<<", "e", "!", "*", "+REP")
MISSES: Final = ("fell", "popped", "tail lost", "tail shortened", "not attempted")
_MISS_OF: Final = {Kind.SINGLED: "popped", Kind.POPPED: "popped"}


@dataclass(frozen=True, slots=True)
class Marks:
    """Counts of passes. `kept`: every jump came as tried, on the feet; `judged`: those on a sheet, as is the rest.

    `plus`, `zero`, `minus`: passes by the sign of their GOE.
    """

    passes: int
    kept: int
    misses: Mapping[str, int]
    judged: int
    calls: Mapping[str, int]
    plus: int
    zero: int
    minus: int

    @property
    def called(self) -> int:
        """Calls of every kind together."""
        return sum(self.calls.values())


def calls_on(printed: str) -> frozenset[str]:
    """The calls printed on one pass."""
    element = parse_jump_element(printed)
    marks: set[str] = {jump.rotation for jump in element.jumps} | {jump.edge for jump in element.jumps}
    if any(jump.starred for jump in element.jumps):
        marks.add("*")
    if element.repeat:
        marks.add("+REP")
    return frozenset(marks - {""})


def miss_on(one: SeenPass) -> str:
    """How a pass failed, one of MISSES; "" when it did not, or when nobody knows what was tried (a fall is one)."""
    slip = one.slip
    if slip is None:
        return "fell" if one.fall else ""
    return _MISS_OF.get(slip[0], slip[0].value)


def marks_of(passes: Iterable[SeenPass]) -> Marks:
    """These passes in numbers."""
    seen = list(passes)
    misses = Counter(filter(None, map(miss_on, seen)))
    judged = [one for one in seen if one.printed is not None]
    calls = Counter(call for one in judged for call in calls_on(one.printed or ""))
    signs = Counter((one.goe > 0) - (one.goe < 0) for one in judged if one.goe is not None)
    return Marks(
        passes=len(seen),
        kept=len(seen) - misses.total(),
        misses={miss: misses[miss] for miss in MISSES if misses[miss]},
        judged=len(judged),
        calls={call: calls[call] for call in CALLS if calls[call]},
        plus=signs[1],
        zero=signs[0],
        minus=signs[-1],
    )


def marks_by(passes: Iterable[SeenPass], key: Callable[[SeenPass], Key | None]) -> dict[Key, Marks]:
    """The same by something, those with key None left out; in the order in which it first occurs."""
    groups: dict[Key, list[SeenPass]] = {}
    for one in passes:
        name = key(one)
        if name is not None:
            groups.setdefault(name, []).append(one)
    return {name: marks_of(group) for name, group in groups.items()}
