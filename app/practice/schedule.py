"""What the trainer asks next: spaced repetition by the library `fsrs`, over the answers given so far.

Nothing is kept but the answers: what is remembered of a call is reckoned anew from them (the library without its
random spread, so the same answers give the same days). An answer given when another one was right says nothing about
today's and is left out. What is due comes first, then what is new, then what is due soonest; within these the lot
decides by weight. No clock and no chance here: the moment and the lot are handed in.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from fsrs import Card, Rating, Scheduler, State

from app.practice.verdicts import IN_TIME, Weight

MOST_DAYS = 30
"""What is known is asked again after so many days at the latest (common practice, no source)."""
_SCHEDULER = Scheduler(maximum_interval=MOST_DAYS, enable_fuzzing=False)


class Standing(StrEnum):
    """How well an answer is known; the value is the word for it."""

    NEW = "new"
    GETTING_THERE = "getting there"
    KNOWN = "known"


@dataclass(frozen=True, slots=True)
class Given:
    """One answer: when, how good (1 to 4 as `fsrs` counts), and which answer was right then."""

    at: datetime
    rating: int
    right: str


@dataclass(frozen=True, slots=True)
class Memory:
    """What is remembered of one call. `due`: when it should be asked again; None: never asked."""

    standing: Standing
    due: datetime | None


def rating_of(weight: Weight, seconds: float) -> int:
    """How an answer counts: right in time is good; right but slow, or close, is not yet sure; else again."""
    if weight is Weight.RIGHT:
        return int(Rating.Good if seconds <= IN_TIME else Rating.Hard)
    return int(Rating.Hard if weight is Weight.CLOSE else Rating.Again)


def memory(given: Iterable[Given], right: str, now: datetime) -> Memory:
    """What the answers to one call, in order, leave in memory at `now`; `right` is today's right answer.

    Moments carry their zone and are in UTC, as the library wants them.
    """
    card: Card | None = None
    for one in given:
        if one.right == right:
            card = card or Card(card_id=1, due=one.at)
            card, _ = _SCHEDULER.review_card(card, Rating(one.rating), one.at)
    if card is None:
        return Memory(Standing.NEW, None)
    known = card.state is State.Review and card.due > now
    return Memory(Standing.KNOWN if known else Standing.GETTING_THERE, card.due)


def next_call(
    weights: Sequence[float], memories: Sequence[Memory], now: datetime, lot: float, last: int | None = None
) -> int:
    """Index of the call to ask. `lot` from 0 up to 1; `last`: the one just asked, not again if there is another."""
    places = [n for n in range(len(weights)) if n != last] or list(range(len(weights)))
    due = [n for n in places if _due(memories[n], now)]
    new = [n for n in places if memories[n].due is None]
    return _drawn(due or new or _soonest(places, memories), weights, lot)


def is_early(chosen: Memory, now: datetime) -> bool:
    """Whether a call is asked before it is due."""
    return chosen.due is not None and chosen.due > now


def _due(one: Memory, now: datetime) -> bool:
    return one.due is not None and one.due <= now


def _soonest(places: Sequence[int], memories: Sequence[Memory]) -> list[int]:
    first = min(due for n in places if (due := memories[n].due) is not None)
    return [n for n in places if memories[n].due == first]


def _drawn(places: Sequence[int], weights: Sequence[float], lot: float) -> int:
    """The place on which the lot falls, each as wide as its weight; all alike where nothing weighs."""
    wide = [max(weights[n], 0.0) for n in places]
    if not sum(wide):
        wide = [1.0] * len(places)
    left = lot * sum(wide)
    for place, width in zip(places, wide, strict=True):
        left -= width
        if left < 0:
            return place
    return places[-1]
