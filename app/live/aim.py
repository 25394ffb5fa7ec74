"""A total to reach, or a floor not to fall below: what that asks of the jumps to come, and the choice by chances.

The coach types a total of the segment; what the panel's components are reckoned to bring comes from the coach too.
Spins and steps count as planned, skated jumps as they stand with the grade such attempts usually got.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from app.domain.words import figure, say
from app.live.advice import Choice, Swap, choose
from app.live.events import AimSet
from app.live.fold import LiveState
from app.live.program import KnownElement, Limits

LEAST_GAIN = 0.02
"""A swap must raise the chance by two in a hundred to be worth a change: our own figure, no source."""

HOPELESS = 0.005
"""A chance below five in a thousand is out of reach: our own figure, no source."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What everything but the jumps to come brings, in points (deductions negative)."""

    components: float
    others: float
    """Spins and steps of the whole program, as planned."""
    skated: float
    """Base values of the skated jumps as they stand with the bonus of the rulebook, without the late factor: that is
    part of what comes."""
    skated_goe: float
    deductions: float

    @property
    def total(self) -> float:
        """All of it."""
        return self.components + self.others + self.skated + self.skated_goe + self.deductions


def needed(aim: AimSet, elsewhere: Elsewhere) -> float:
    """What the jumps to come must bring, in the points of `value` in the advise contract."""
    return aim.points - elsewhere.total


def out_of_reach(kept: float, swaps: Iterable[Swap]) -> bool:
    """Whether neither keeping the plan nor any single swap leaves a chance of the total worth speaking of."""
    return max([kept, *(swap.chance or 0.0 for swap in swaps)]) < HOPELESS


def words(aim: AimSet) -> str:
    """The aim in a few words: `to reach 62.40`."""
    points = figure(aim.points, 2)
    if aim.kind == "reach":
        return say("to reach %(points)s", points=points)
    return say("not to fall below %(points)s", points=points)


def choose_for(
    swaps: tuple[Swap, ...], state: LiveState, offered: Mapping[str, KnownElement], limits: Limits
) -> Choice:
    """The swap that raises the chance most, under the same limits as any other advice; gains are chances here."""
    return choose(swaps, state, offered, replace(limits, threshold=LEAST_GAIN))
