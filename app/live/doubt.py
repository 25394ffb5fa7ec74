"""Does it matter which way a doubtful call goes? One sentence, so that nobody waits for the protocol in vain."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from app.domain.words import both, say, sentences
from app.live.advice import Choice, Swap, swap_words
from app.live.events import PassSkated, Reading
from app.live.fold import LiveState

MOST_WAYS = 8
"""More ways than this are not told apart: advice is then given over all of them, and says only that."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way the doubtful calls may go: in words, its chance, and the state if it were certain."""

    said: str
    chance: float
    state: LiveState


def in_doubt(state: LiveState) -> tuple[int, ...]:
    """The logged passes whose call is in doubt, by index."""
    return tuple(
        n for n, entry in enumerate(state.logged) if isinstance(entry, PassSkated) and len(entry.readings) > 1
    )


def ways(state: LiveState) -> tuple[Way, ...]:
    """Every way the doubtful calls may go; empty without a doubt, or with too many."""
    places = in_doubt(state)
    found = tuple(_ways(state, places)) if places else ()
    return found if len(found) <= MOST_WAYS else ()


def _ways(state: LiveState, places: Sequence[int]) -> Iterator[Way]:
    readings = [
        entry.readings for entry in state.logged if isinstance(entry, PassSkated) and len(entry.readings) > 1
    ]
    for chosen in product(*readings):
        logged, slots, chance = list(state.logged), list(state.slots), 1.0
        for place, reading in zip(places, chosen, strict=True):
            entry = logged[place]
            assert isinstance(entry, PassSkated), "only those are in doubt"
            sure = replace(entry, readings=(replace(reading, chance=1.0),))
            logged[place], slots[place] = sure, replace(slots[place], entry=sure, left_out=0.0)
            chance *= reading.chance
        yield Way(_said(chosen), chance, replace(state, logged=tuple(logged), slots=tuple(slots)))


def _said(chosen: Sequence[Reading]) -> str:
    return both(one.code for one in chosen)


def doubt_words(choice: Choice, each: Sequence[tuple[Way, Choice]]) -> str:
    """Whether the doubt changes the advice; empty without one."""
    if not each:
        return ""
    answers = {_answer(one.swap) for _, one in each}
    if answers == {_answer(choice.swap)}:
        return say("The doubt does not matter: the advice is the same either way.")
    told = [
        say("If called %(call)s: %(answer)s.", call=way.said, answer=_answer(one.swap)) for way, one in each
    ]
    return sentences(say("The doubt matters, and this is best on average."), *told)


def _answer(swap: Swap | None) -> str:
    if swap is None:
        return say("keep the plan")
    return swap_words(swap)
