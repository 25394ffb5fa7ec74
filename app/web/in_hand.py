"""What a program has in hand for every way its doubtful calls may go, and chances and points over all of them.

A call in doubt changes what the skated jumps are worth, so it changes what a total still asks of the jumps to come.
Nobody knows the call before the protocol: the choice is one for all ways, its chance is their average.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from app import engine
from app.live.aim import Elsewhere, needed
from app.live.doubt import Way, ways
from app.live.events import AimSet
from app.live.fold import LiveState
from app.live.program import KnownElement
from app.web.standing import elsewhere_of

if TYPE_CHECKING:  # the names of the planner bring its compiled loops with them
    Skated = Callable[[LiveState], Sequence[engine.Performed]]
    AskChances = Callable[[LiveState, Decimal], engine.SwapChances | None]
    AskSpread = Callable[[LiveState], engine.Spread]


@dataclass(frozen=True, slots=True)
class Hand:
    """One way the doubtful calls may go, and what everything but the jumps to come then brings."""

    way: Way
    brings: Elsewhere


def hands(
    state: LiveState, known: Mapping[str, KnownElement], others: float, skated: Skated
) -> tuple[Hand, ...]:
    """Every way with its chance; without a doubt, or with too many ways, the likeliest reading alone.

    `others`: points of spins and steps. `skated`: the logged passes of a state as the panel would see them.
    """
    found = ways(state) or (Way("", 1.0, state),)
    return tuple(Hand(way, elsewhere_of(way.state, skated(way.state), known, others)) for way in found)


def on_average(found: Sequence[Hand]) -> Elsewhere:
    """What is in hand, averaged over the ways."""

    def mean(read: Callable[[Elsewhere], float]) -> float:
        return sum(hand.way.chance * read(hand.brings) for hand in found)

    return Elsewhere(
        components=found[0].brings.components,
        others=found[0].brings.others,
        skated=mean(lambda one: one.skated),
        skated_goe=mean(lambda one: one.skated_goe),
        deductions=mean(lambda one: one.deductions),
    )


def chances_of(found: Sequence[Hand], wanted: AimSet, ask: AskChances) -> engine.SwapChances | None:
    """Chances of the aim over all ways. None: a pass cannot keep its plan."""
    each = [(hand.way.chance, ask(hand.way.state, _need(hand, wanted))) for hand in found]
    said = [(weight, one) for weight, one in each if one is not None]
    if len(said) < len(each):
        return None
    keep = sum(weight * one.keep for weight, one in said)
    values: dict[tuple[int, str | None], float] = {}
    for weight, one in said:
        for swap in one.swaps:
            place = swap.number, swap.element
            values[place] = values.get(place, 0.0) + weight * swap.value
    swaps = [engine.SwapValue(*place, value, value - keep) for place, value in values.items()]
    ordered = tuple(sorted(swaps, key=lambda swap: -swap.gain))
    return engine.SwapChances(keep, ordered, sum(weight * one.bound for weight, one in said))


def spread_of(found: Sequence[Hand], ask: AskSpread) -> engine.Spread:
    """The points of the jumps to come over all ways, each moved by what its way has in hand beyond the average."""
    usual = on_average(found).total
    ends: dict[float, float] = {}
    within = 0.0
    for hand in found:
        said = ask(hand.way.state)
        within = max(within, said.within)
        for points, chance in zip(said.points, said.chances, strict=True):
            at = points + hand.brings.total - usual if len(found) > 1 else points
            ends[at] = ends.get(at, 0.0) + hand.way.chance * chance
    ordered = sorted(ends.items())
    return engine.Spread(tuple(at for at, _ in ordered), tuple(chance for _, chance in ordered), within)


def _need(hand: Hand, wanted: AimSet) -> Decimal:
    return Decimal(str(round(needed(wanted, hand.brings), 4)))
