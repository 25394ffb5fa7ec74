"""What is known about a fragile program, as values: its failures, and what its spares are worth.

`fragility` and `spares` reckon them. Points, not hundredths. Nothing here needs the compiled loops.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.rulings import Ruling
from app.planner.advice import SwapValue
from app.planner.consequences import Effect
from app.planner.slips import Kind

LEAST = 0.005
"""Points too few to print."""

UNIT = "combination or sequence"
LONG_UNIT = "three-jump unit"
REPEAT = "repeated triple or quad"


@dataclass(frozen=True, slots=True)
class Failure:
    """One failure of one pass. Points; `number` counts from 1, done passes included.

    `own_rulings`: what the rulebook makes of the failed element itself. `swaps`: single changes to later passes
    that win something after it, best first; `anyway` what each would win had the pass landed.
    `replanned`: what the optimum within the limit on changes wins over keeping all later passes, and
    `replanned_anyway` the same had the pass landed.
    """

    number: int
    planned: str
    kind: Kind
    jump: str
    becomes: str | None
    chance: float
    own: float
    consequence: float
    own_rulings: tuple[Ruling, ...]
    effects: tuple[Effect, ...]
    swaps: tuple[SwapValue, ...]
    anyway: tuple[float, ...]
    replanned: float
    replanned_anyway: float
    program: tuple[str, ...]
    """The planned codes of all passes, in order; empty where a pass is left out on purpose."""

    @property
    def cost(self) -> float:
        """Points lost, on the pass itself and later."""
        return self.own + self.consequence

    @property
    def expected_loss(self) -> float:
        """Cost times chance, given that the pass is reached with everything before as planned."""
        return self.chance * self.cost

    @property
    def reaches(self) -> bool:
        """Does anything beyond the pass itself change, or is there an answer that only the failure makes worth it?"""
        answered = any(one.gain - anyway > LEAST for one, anyway in zip(self.swaps, self.anyway, strict=True))
        return bool(self.effects) or abs(self.consequence) > LEAST or answered


@dataclass(frozen=True, slots=True)
class Fragility:
    """Every failure of a program, in skating order, the likelier of a pass first."""

    failures: tuple[Failure, ...]

    @property
    def expected_consequences(self) -> float:
        """Sum of chance times consequence: what errors are expected to cost beyond themselves, each alone."""
        return sum(one.chance * one.consequence for one in self.failures)

    @property
    def expected_loss(self) -> float:
        """Sum of chance times cost."""
        return sum(one.expected_loss for one in self.failures)

    def worst(self, count: int = 3) -> tuple[Failure, ...]:
        """The most fragile points: failures that reach beyond their pass, greatest expected loss first."""
        reaching = [one for one in self.failures if one.reaches and one.chance > 0]
        return tuple(sorted(reaching, key=lambda one: -one.expected_loss)[:count])


@dataclass(frozen=True, slots=True)
class Spare:
    """One thing at one boundary. `after`: passes done as planned. `left`: how many are left there."""

    what: str
    after: int
    left: int
    one_more: float | None
    one_fewer: float | None
