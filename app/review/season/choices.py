"""Decision quality apart from luck: what was chosen after a miss, weighed by what was known then.

A decision is real when an earlier pass of the program had gone wrong and the pass had more than one option (its own
element and what is trained instead). What the choice gave away against the best option stands apart from what came of
it: a right choice stays right when the jump fails, and a lucky one is not made right by its luck.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from app.live.events import LoggedPass, PassLeftOut
from app.live.fold import LiveState, likeliest
from app.live.program import KnownElement, Limits, Setting
from app.review.decisions import Decision, decisions
from app.review.season.passes import slip_of
from app.review.season.shares import Share, share_of


@dataclass(frozen=True, slots=True)
class Choice:
    """One real decision and the program it was made in."""

    program_id: int
    at: datetime
    setting: Setting
    decision: Decision


@dataclass(frozen=True, slots=True)
class Quality:
    """Choices by what they were and what came of them, and points given away on average in all of them together."""

    right_and_came: int
    right_and_missed: int
    short_and_came: int
    short_and_missed: int
    away: float

    @property
    def right(self) -> Share:
        """Right choices among all."""
        right = self.right_and_came + self.right_and_missed
        return Share(right, right + self.short_and_came + self.short_and_missed)


def went_wrong(entry: LoggedPass) -> bool:
    """Whether a pass went otherwise than tried, or was not attempted."""
    if isinstance(entry, PassLeftOut):
        return True
    one = likeliest(entry)
    return slip_of(entry.tried, one.code, one.fall) is not None


def after_a_miss(state: LiveState) -> frozenset[int]:
    """Indices of the passes behind the first one that went wrong."""
    first = next((place for place, one in enumerate(state.logged) if went_wrong(one)), len(state.logged))
    return frozenset(range(first + 1, len(state.logged)))


def real_decisions(
    state: LiveState, offered: Mapping[str, KnownElement], known: Mapping[str, KnownElement], limits: Limits
) -> tuple[tuple[Decision, ...], int]:
    """The real decisions of one log, and how many passes could not be weighed: what was tried was not trained then.

    Raises InputError where the planner refuses the program.
    """
    places = after_a_miss(state)
    found = decisions(state, offered, known, limits, places)
    return tuple(one for one in found if one.choices > 1), len(places) - len(found)


def quality(choices: Iterable[Choice]) -> Quality:
    """These in numbers."""
    said = [one.decision for one in choices]

    def count(right: bool, came: bool) -> int:
        return share_of((one.right, one.came) == (right, came) for one in said).count

    return Quality(
        count(True, True),
        count(True, False),
        count(False, True),
        count(False, False),
        sum(one.short_of for one in said),
    )
