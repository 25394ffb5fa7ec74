"""A skater's own log of one element, and how far it can be trusted.

"Landed" means the element came out as tried: every jump done, on the feet, not popped; calls other than a
downgrade and minus grades allowed. A log may also know how attempts ended (their fate); counts without
fates remain valid. The posterior is the Beta or Dirichlet distribution of a prior worth `pseudo` attempts and
the log.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import sqrt
from typing import Final

from app.domain.words import listed, say
from app.errors import InputError

FATES: Final = (
    *("clean", "error", "q", "<", "<<", "edge", "fall"),
    *("popped by one", "popped to a single", "tail not tried", "tail shortened"),
)
"""How an attempt can end, each attempt one way: landed clean, landed with a minus grade, called, fallen, popped, or
with a tail that did not follow or had fewer turns."""
LANDED: Final = ("clean", "error", "q", "<", "edge")
"""The fates that count as landed."""
Z90 = 1.6448536269514722
"""Standard normal quantile of a central 90 % interval."""


@dataclass(frozen=True, slots=True)
class Record:
    """Logged attempts, how many landed and, as far as the log knows, how many had each fate of `FATES`.

    `fates` may count fewer attempts than there are. Raises InputError when more landed than were tried, for an
    unknown fate, and when the fates do not fit the attempts and landings.
    """

    attempts: int
    landed: int
    fates: Mapping[str, int] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        if not 0 <= self.landed <= self.attempts:
            raise InputError(
                "landed",
                say(
                    "%(landed)s of %(attempts)s; expected no more than the attempts",
                    landed=self.landed,
                    attempts=self.attempts,
                ),
            )
        for fate, count in self.fates.items():
            if fate not in FATES or count < 0:
                raise InputError(
                    "fates",
                    say(
                        "%(fate)s: %(count)s given; expected a count of %(fates)s",
                        fate=repr(fate),
                        count=count,
                        fates=listed(FATES),
                    ),
                )
        landed, missed = self.known_landed, self.known - self.known_landed
        if landed > self.landed or missed > self.attempts - self.landed:
            said = say("%(landed)s landed and %(missed)s missed by their fates", landed=landed, missed=missed)
            raise InputError(
                "fates",
                say(
                    "%(said)s; expected no more than %(landed)s of %(attempts)s landed",
                    said=said,
                    landed=self.landed,
                    attempts=self.attempts,
                ),
            )

    @property
    def known(self) -> int:
        """Attempts whose fate is known."""
        return sum(self.fates.values())

    @property
    def known_landed(self) -> int:
        """Landed attempts whose fate is known."""
        return sum(self.fates.get(fate, 0) for fate in LANDED)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A chance with its central 90 % interval."""

    chance: float
    low: float
    high: float


def landing_chance(record: Record, prior: float, pseudo: float) -> Estimate:
    """Chance that the element lands, shrunk from the log towards the prior by `pseudo` attempts.

    Interval: Wilson's score interval (1927) of the shrunk counts.
    """
    count = record.attempts + pseudo
    return wilson((record.landed + pseudo * prior) / count, count)


def fate_chances(record: Record, prior: Mapping[str, float], pseudo: float) -> dict[str, Estimate]:
    """Chance of every fate of `FATES`, shrunk from the log towards `prior` (summing to 1) by `pseudo` attempts.

    A Dirichlet distribution splits exactly into landed or not, what landed, and what did not. Attempts whose fate
    is unknown move the first part, those with a fate all three; where every fate is known the mean is
    (pseudo x prior + count) / (pseudo + attempts). Intervals rest on the attempts whose fate is known.
    """
    landing = sum(prior.get(fate, 0.0) for fate in LANDED)
    feet = landing_chance(record, landing, pseudo).chance
    sides = {True: (feet, pseudo * landing + record.known_landed)}
    sides[False] = (1 - feet, pseudo * (1 - landing) + record.known - record.known_landed)
    found = {}
    for fate in FATES:
        side, weight = sides[fate in LANDED]
        seen = pseudo * prior.get(fate, 0.0) + record.fates.get(fate, 0)
        found[fate] = wilson(side * seen / weight if weight else 0.0, pseudo + record.known)
    return found


def wilson(chance: float, count: float) -> Estimate:
    """Wilson's score interval, central 90 %, of a share `chance` of `count` (need not be whole, above 0)."""
    spread = Z90 * sqrt(chance * (1 - chance) / count + Z90**2 / (4 * count**2))
    middle = chance + Z90**2 / (2 * count)
    scale = 1 + Z90**2 / count
    low, high = (middle - spread) / scale, (middle + spread) / scale
    return Estimate(chance, min(chance, max(0.0, low)), max(chance, min(1.0, high)))
