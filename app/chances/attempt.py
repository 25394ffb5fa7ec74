"""One attempt as a tree: the lead, then each tail given how the landing before it was.

The lead pops, falls, is downgraded, or lands: clean, with a minus grade, an edge called, a quarter or a turn short. A
tail is then tried, doubled, or lost; tried, it falls, is called, or is fine. After a poor landing (a minus grade, a
quarter, under-rotated) a tail is tried less often and comes out worse. Where the numbers come from, and which of
them have no source, stands in `data/priors/README.md`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from app.chances.prior import TAIL_CALLS, JumpPrior, habit, tail_calls
from app.domain.elements import Jump, JumpElement, joined

FATE_OF = {"clean": "clean", "neg": "error", "!": "edge", "e": "edge", "q": "q", "<": "<"}
"""Ends of a first jump on its feet, and the fate of the attempt when every tail is fine."""
POOR = ("neg", "q", "<")
WORSE = ("clean", "edge", "error", "q", "<", "<<")
"""Fates of a whole element from best to worst: the worst of its jumps names it."""


@dataclass(frozen=True, slots=True)
class End:
    """One leaf of the tree: the fate it counts under, what the element becomes, its chance and mean grade."""

    fate: str
    becomes: str
    chance: float
    grade: float
    fall: bool = False


@dataclass(frozen=True, slots=True)
class _Landing:
    """On the feet after some jumps: as called so far, its chance, fate and grade, and how the last landing was."""

    jumps: tuple[Jump, ...]
    chance: float
    fate: str
    grade: float
    poor: bool


def ends_of(element: JumpElement, prior: JumpPrior) -> list[End]:
    """Every leaf of the tree of an element (chances sum to 1), from the prior of its first jump."""
    lead = replace(element.jumps[0], mark="" if len(element.jumps) > 1 else element.jumps[0].mark)
    up = 1 - prior.pop
    found = [*_pops(lead, prior)]
    alone = replace(lead, mark="")
    found.append(End("fall", str(alone), up * prior.shares["fall"], prior.grades["fall"], fall=True))
    downgraded = str(replace(alone, rotation="<<"))
    found.append(End("<<", downgraded, up * prior.shares["<<"], prior.grades["<<"]))
    for kind, fate in FATE_OF.items():
        start = (_called(element.jumps[0], kind),)
        landing = _Landing(start, up * prior.shares[kind], fate, prior.grades[kind], kind in POOR)
        found += _after(element, 1, landing, prior)
    return [one for one in found if one.chance > 0]


def _pops(lead: Jump, prior: JumpPrior) -> Iterator[End]:
    turns = lead.revolutions or 1
    if turns == 1 or not prior.pop:
        return
    by_one = habit("pop by one") if turns > 2 else 1.0
    grade = habit("grade of a pop")
    yield End("popped by one", f"{turns - 1}{lead.takeoff}", prior.pop * by_one, grade)
    if turns > 2:
        yield End("popped to a single", f"1{lead.takeoff}", prior.pop * (1 - by_one), grade)


def _after(element: JumpElement, place: int, landing: _Landing, prior: JumpPrior) -> Iterator[End]:
    """The leaves behind a landing, when jump number `place` comes next."""
    if place == len(element.jumps):
        yield End(landing.fate, str(JumpElement(landing.jumps)), landing.chance, landing.grade)
        return
    tail = element.jumps[place]
    if tail.is_euler:
        yield from _after(element, place + 1, replace(landing, jumps=(*landing.jumps, tail)), prior)
        return
    tried = chance_tried(tail, landing.poor)
    yield from _not_tried(element, place, landing, landing.chance * (1 - tried), prior)
    calls = tail_calls(tail.revolutions or 1, landing.poor)
    fine = 1 - sum(calls.values())
    for call in ("", *TAIL_CALLS):
        chance = landing.chance * tried * (calls[call] if call else fine)
        yield from _tried(element, place, replace(landing, chance=chance), call, prior)


def chance_tried(tail: Jump, poor: bool) -> float:
    """Chance that a tail is tried as planned, after a good or a `poor` landing."""
    good = habit(f"tail {min(tail.revolutions or 1, 3)}")
    odds = good / (1 - good) * (habit("tail after a poor landing") if poor else 1)
    return odds / (1 + odds)


def _tried(element: JumpElement, place: int, landing: _Landing, call: str, prior: JumpPrior) -> Iterator[End]:
    tail = element.jumps[place]
    if call == "fall":
        fallen = joined((*landing.jumps, tail))
        yield End("fall", str(fallen), landing.chance, prior.grades["fall"], fall=True)
        return
    jumps = (*landing.jumps, _called(tail, call))
    if not call:  # a good landing heals no call of the lead, but the next tail starts from it
        yield from _after(element, place + 1, replace(landing, jumps=jumps, poor=False), prior)
        return
    fate = max(landing.fate, call, key=WORSE.index)
    grade = min(landing.grade, prior.grades[call])
    called = _Landing(jumps, landing.chance, fate, grade, poor=True)
    yield from _after(element, place + 1, called, prior)


def _not_tried(
    element: JumpElement, place: int, landing: _Landing, chance: float, prior: JumpPrior
) -> Iterator[End]:
    """A tail lost with all behind it, or doubled where it was a triple; a doubled one ends well."""
    shortened = habit("tail shortened") if (element.jumps[place].revolutions or 0) >= 3 else 0.0
    kept = JumpElement(landing.jumps).first(place)
    grade = min(landing.grade, prior.grades["neg"])
    yield End("tail not tried", str(kept), chance * (1 - shortened), grade)
    if shortened:
        short = replace(element.jumps[place], revolutions=2)
        jumps = (*landing.jumps, short, *element.jumps[place + 1 :])
        grade = min(landing.grade, habit("grade of a shortened tail"))
        yield End("tail shortened", str(JumpElement(jumps)), chance * shortened, grade)


def _called(jump: Jump, kind: str) -> Jump:
    """A jump with a call; an edge only where the take-off has one."""
    if kind in ("e", "!") and jump.takeoff in ("F", "Lz"):
        return replace(jump, edge="e" if kind == "e" else "!")
    return replace(jump, rotation=kind) if kind in ("q", "<", "<<") else jump  # type: ignore[arg-type]  # just checked
