"""The moment of an attempt: right after a fall, and late in a free skating, by published odds.

Both odds compare a skater with the same skater on other days, so they multiply the odds of the usual chances:

- after a fall the odds of a *clean* next pass: tried and done, no call, no minus grade, on the feet;
- late, for first jumps of three turns (and four, of which the sample says nothing), the odds of a *major failure*:
  a fall, a pop, a downgraded first jump, or no attempt at all.

What is left keeps its proportions. Sizes, intervals and samples: `data/priors/adjustments.csv`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from app.chances.prior import published
from app.domain.notation import parse_jump_element

MILLIONTHS = 1_000_000
TURNS_SAMPLED = 3
"""The sample of the second half is triples."""


class End(Protocol):
    """One way an attempt can end, from whatever source: reckoned, or entered by hand."""

    @property
    def becomes(self) -> str | None: ...
    @property
    def chance(self) -> float: ...
    @property
    def fall(self) -> bool: ...
    @property
    def error(self) -> bool: ...


@dataclass(frozen=True, slots=True)
class Moment:
    """When an attempt is made, as far as its chances are to know."""

    late: bool = False
    after_fall: bool = False


def at_the_moment(tried: str, ends: Sequence[End], discipline: str, moment: Moment) -> tuple[float, ...]:
    """The chances of `ends` of an attempt at `tried`, in their order, at this moment; they sum to one.

    `discipline` as in an edition's name. Chances come back as they are where nothing changes.
    """
    chances = tuple(one.chance for one in ends)
    if moment.late and (parse_jump_element(tried).jumps[0].revolutions or 0) >= TURNS_SAMPLED:
        failed = [is_major(tried, one) for one in ends]
        chances = with_odds(chances, failed, published("second half", discipline).odds)
    if moment.after_fall:
        clean = [is_clean(tried, one) for one in ends]
        chances = with_odds(chances, clean, published("after fall", discipline).odds)
    return chances


def is_clean(tried: str, end: End) -> bool:
    """Done as tried, without a call, an error or a fall. The grade plays no part: entered ones are means."""
    if end.becomes is None or end.fall or end.error:
        return False
    return parse_jump_element(end.becomes) == parse_jump_element(tried)


def is_major(tried: str, end: End) -> bool:
    """A major failure of the first jump: a fall, a pop, a downgrade, no attempt."""
    if end.becomes is None or end.fall:
        return True
    lead, meant = parse_jump_element(end.becomes).jumps[0], parse_jump_element(tried).jumps[0]
    return lead.rotation == "<<" or (lead.revolutions or 0) < (meant.revolutions or 0)


def with_odds(chances: Sequence[float], which: Sequence[bool], ratio: float) -> tuple[float, ...]:
    """Chances (summing to 1) after the odds of those marked in `which` are multiplied by `ratio`.

    Whole millionths, the rest given to the commonest, so that the sum stays one.
    """
    marked = sum(chance for chance, is_marked in zip(chances, which, strict=True) if is_marked)
    whole = sum(chances)
    if not 0 < marked < whole or all(which) or not any(which):
        return tuple(chances)
    scale = ratio * marked + whole - marked
    shares = [
        round(MILLIONTHS * chance * (ratio if is_marked else 1) / scale)
        for chance, is_marked in zip(chances, which, strict=True)
    ]
    shares[shares.index(max(shares))] += MILLIONTHS - sum(shares)
    return tuple(share / MILLIONTHS for share in shares)
