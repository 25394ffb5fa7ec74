"""What was open at each pass, judged as it stood then: by the chances known before, never by what came of it.

At every pass of the log the planner is asked what each trained option was worth, with the best answers afterwards. The
difference between the best and what was tried is what the decision was short of, on average. A choice within the
coach's threshold of the best was right, also when it did not come off. Points, not hundredths.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from app import engine
from app.live import advice
from app.live.events import PassSkated
from app.live.fold import LiveState, likeliest
from app.live.program import KnownElement, Limits
from app.review.compare import unlike


@dataclass(frozen=True, slots=True)
class Decision:
    """One pass: what was planned and tried, the best trained option then, and by how much it was better on average.

    `came`: whether what was tried came out; `right`: within the threshold of the best; `open`: trained options of this
    pass that beat keeping the whole rest as planned by the threshold, with their gain, best first.
    """

    number: int
    planned: str
    tried: str | None
    best: str | None
    short_of: float
    right: bool
    came: bool
    open: tuple[tuple[str | None, float], ...] = ()
    choices: int = 1
    """How many options there were, the planned element among them."""


def decisions(
    state: LiveState,
    offered: Mapping[str, KnownElement],
    known: Mapping[str, KnownElement],
    limits: Limits,
    places: Collection[int] | None = None,
) -> tuple[Decision, ...]:
    """Every decision of a log, in order; none when passes were put into the log that the plan has no place for.

    `places`: indices of the passes that are asked about; None: all. Raises InputError where the planner refuses the
    program.
    """
    if len(state.slots) > len(state.plan.passes) or any(slot.inserted for slot in state.slots):
        return ()
    if places is not None and not places:
        return ()
    planner = engine.Planner(advice.question(state.plan, offered, known, limits))
    done = advice.done(state)
    found = []
    for place, entry in enumerate(state.logged):
        if places is not None and place not in places:
            continue
        said = planner.advise(done[:place], place)
        planned = state.plan.passes[place].code
        fell = place > 0 and _fell(state, place - 1)
        open_then = [
            one
            for one in said.options
            if one.element == planned or _allowed(one.element, planned, fell, limits)
        ]
        tried = entry.tried if isinstance(entry, PassSkated) else None
        value = next((one.value for one in said.options if one.element == tried), None)
        if value is None or not open_then:
            continue
        best = max(open_then, key=lambda one: (one.value, one.element == tried))
        short = max(best.value - value, 0.0)
        found.append(
            Decision(
                number=place + 1,
                planned=planned,
                tried=tried,
                best=best.element,
                short_of=short,
                right=short < limits.threshold,
                came=isinstance(entry, PassSkated) and _came(entry),
                open=tuple(
                    (one.element, one.gain)
                    for one in sorted(said.swaps, key=lambda swap: -swap.gain)
                    if one.number == place + 1
                    and one.gain >= limits.threshold
                    and _allowed(one.element, planned, fell, limits)
                ),
                choices=len(open_then),
            )
        )
    return tuple(found)


def mattered_most(found: tuple[Decision, ...]) -> Decision | None:
    """The one decision that was shortest of the best; None when every choice was right."""
    return max((one for one in found if not one.right), key=lambda one: one.short_of, default=None)


def _allowed(element: str | None, planned: str, fell: bool, limits: Limits) -> bool:
    """Nothing harder is asked for right after a fall, unless the coach allows it."""
    if element is None or not fell or limits.harder_after_fall:
        return True
    return not advice.is_harder(element, planned)


def _fell(state: LiveState, place: int) -> bool:
    entry = state.logged[place]
    return isinstance(entry, PassSkated) and any(one.fall for one in entry.readings)


def _came(entry: PassSkated) -> bool:
    one = likeliest(entry)
    return not one.fall and unlike(entry.tried, one.code) == 0
