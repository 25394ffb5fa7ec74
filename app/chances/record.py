"""A skater's own log of one element, and how far it can be trusted.

"Landed" means the element came out as tried: every jump done, on the feet, not popped; calls and minus grades
allowed. The posterior is the Beta distribution of a prior worth `pseudo` attempts and the log.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from app.errors import InputError

Z90 = 1.6448536269514722
"""Standard normal quantile of a central 90 % interval."""


@dataclass(frozen=True, slots=True)
class Record:
    """Logged attempts and how many of them landed. Raises InputError when more landed than were tried."""

    attempts: int
    landed: int

    def __post_init__(self) -> None:
        if not 0 <= self.landed <= self.attempts:
            raise InputError(
                "landed", f"{self.landed} of {self.attempts}; expected no more than the attempts"
            )


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
    chance = (record.landed + pseudo * prior) / count
    spread = Z90 * sqrt(chance * (1 - chance) / count + Z90**2 / (4 * count**2))
    middle = chance + Z90**2 / (2 * count)
    scale = 1 + Z90**2 / count
    return Estimate(chance, max(0.0, (middle - spread) / scale), min(1.0, (middle + spread) / scale))
