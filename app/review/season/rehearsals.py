"""Whether units were won back more often once the answer had been rehearsed: counts, an interval, and no more.

A situation is a layout, a pass and how it failed, as the call-out trainer asks it. Losses before the first rehearsal
of their situation stand beside losses after it. Nobody dealt the programs out by lot, the later ones are later in the
season, and rehearsed situations are the likelier ones: a difference is no proof that rehearsing made it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from app.chances.record import Estimate
from app.review.season.shares import Share, difference, share_of
from app.review.season.units import LostUnit

Situation = tuple[str, int, str, str]
"""Layout (its fingerprint), number of the pass, kind of failure in words, the jump that failed."""


@dataclass(frozen=True, slots=True)
class Effect:
    """Won back of those that could be: before the first rehearsal, after it, and never rehearsed.

    `gap`: after less before, in shares, with its 90 % interval; None where either has too few for a rate.
    """

    before: Share
    after: Share
    never: Share

    @property
    def gap(self) -> Estimate | None:
        return difference(self.before, self.after) if self.before.enough and self.after.enough else None


def situation_of(lost: LostUnit) -> Situation | None:
    """The situation of a loss; None where it was no failure."""
    return None if lost.kind is None else (lost.program, lost.number, lost.kind.value, lost.jump)


def effect(lost: Iterable[LostUnit], first: Mapping[Situation, datetime]) -> Effect:
    """Losses with a place left, sorted by the first rehearsal of their situation. `first`: its moment."""
    before: list[bool] = []
    after: list[bool] = []
    never: list[bool] = []
    for one in lost:
        situation = situation_of(one)
        if situation is None or not one.had_place:
            continue
        moment = first.get(situation)
        group = never if moment is None else before if one.at < moment else after
        group.append(one.won_back)
    return Effect(share_of(before), share_of(after), share_of(never))
