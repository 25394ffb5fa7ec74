"""Counts out of counts, and when they may be called a rate.

Under `ENOUGH` there is no percentage, only the counts: of nine, the 90 % interval still spans about half of all there
is (common practice, no source). Differences: Newcombe's hybrid score interval (1998, his method 10), which is made of
the two Wilson intervals and holds for small counts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt

from app.chances.record import Estimate, wilson

ENOUGH = 10


@dataclass(frozen=True, slots=True)
class Share:
    """`count` of `of`."""

    count: int = 0
    of: int = 0

    @property
    def enough(self) -> bool:
        """Whether there are enough for a rate."""
        return self.of >= ENOUGH

    @property
    def estimate(self) -> Estimate | None:
        """The share with its 90 % interval; None of nothing."""
        return wilson(self.count / self.of, self.of) if self.of else None


def share_of(flags: Iterable[bool]) -> Share:
    """How many of these are true."""
    found = list(flags)
    return Share(sum(found), len(found))


def difference(first: Share, second: Share) -> Estimate | None:
    """`second` less `first`, with its 90 % interval; None where either is of nothing."""
    one, other = first.estimate, second.estimate
    if one is None or other is None:
        return None
    gap = other.chance - one.chance
    down = sqrt((other.chance - other.low) ** 2 + (one.high - one.chance) ** 2)
    up = sqrt((other.high - other.chance) ** 2 + (one.chance - one.low) ** 2)
    return Estimate(gap, gap - down, gap + up)
