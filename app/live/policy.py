"""The whole policy of a live program: from where it stands, every plausible continuation and what the screen says.

A graph. A node is a state before a pass; an edge is a tap on its pad. States that say the same and go on the same
are one node: a `Source` says which, by the position it gives. Layer by layer (one pass each) the likeliest nodes
are kept, at most `most` a layer; a tap that leads elsewhere has no edge, and the phone then says that advice
comes when the link is back. Nothing here knows rules, words or the network.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Protocol

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.live.events import Author, LoggedPass, PassLeftOut, PassSkated
from app.live.fold import LiveState
from app.live.merge import Candidate, slot_of
from app.live.pad import Group, taps
from app.live.program import KnownElement, Outcome, Plan

MOST = 500
"""Nodes kept a layer: a usual layout of seven passes then stays under 300 kB and 3 s."""
LEFT_OUT = "left out"
RARE = 0.0005
"""Chance given to a tap that no recorded outcome speaks of. Common practice, no source; it only orders the nodes."""
LEAST = 1e-6
"""A continuation less likely than this, seen from where the program stands, is left to the laptop."""
TAKES_THE_SWAP = 0.5
OTHERWISE = 0.01
FINISHED = -1


@dataclass(frozen=True, slots=True)
class Touch:
    """One tap of a pad: what the form sends, what is logged, how likely it is; chances of a pad sum to about 1."""

    sends: str
    entry: LoggedPass
    chance: float


@dataclass(frozen=True, slots=True)
class Step:
    """What a tap leads to: the position behind it, hundredths of base value it adds, what it lost in words."""

    position: Hashable
    cents: int
    lost: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Said:
    """What the screen says in a state: `swap` is the element advised for the pass to come, `words` all the rest."""

    swap: str | None
    words: Hashable


class Source(Protocol):
    """Rules and words of one program."""

    def start(self, state: LiveState) -> Hashable:
        """The position of a state."""

    def lost(self, state: LiveState) -> tuple[str, ...]:
        """What the logged passes have lost, in words, as far as the steps say it and not the words of a state."""

    def says(self, position: Hashable, state: LiveState) -> Said:
        """What the screen says there; `state` is any state with that position."""

    def step(self, position: Hashable, state: LiveState, entry: LoggedPass, *, last: bool) -> Step | None:
        """What `entry` leads to (None: the laptop would not log it); behind the `last` pass no position is needed."""


@dataclass(frozen=True, slots=True)
class Edge:
    """Where a tap leads (a node's number, or FINISHED), what it adds and what it lost."""

    to: int
    cents: int
    lost: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Node:
    """A state before a pass (counted from 0). `edges` in the order of its pad's touches; None: it ends there."""

    place: int
    position: Hashable
    said: Said
    edges: tuple[Edge | None, ...]


@dataclass(frozen=True, slots=True)
class Policy:
    """`nodes[0]` is where the program stands; `covered`: the chance to stay inside until the last pass."""

    nodes: tuple[Node, ...]
    covered: float


@dataclass
class _Found:
    """A position with one state that has it, and its chance."""

    state: LiveState
    chance: float


def grow(state: LiveState, pads: Pads, source: Source, most: int = MOST) -> Policy:
    """The policy from `state` on, which has a pass to come."""
    nodes: list[Node] = []
    covered = 1.0
    layer: dict[Hashable, _Found] = {source.start(state): _Found(state, 1.0)}
    for place in range(len(state.logged), len(state.plan.passes)):
        last = place + 1 == len(state.plan.passes)
        grown = [_grown(position, found, pads, source, last=last) for position, found in layer.items()]
        covered = sum(found.chance for found in layer.values())
        kept = {} if last else _likeliest(layer.values(), grown, most)
        base = len(nodes) + len(layer)
        numbers = {position: base + number for number, position in enumerate(kept)}
        nodes += [
            Node(place, position, one.said, _edges(one, numbers, last=last))
            for position, one in zip(layer, grown, strict=True)
        ]
        layer = kept
    return Policy(tuple(nodes), covered)


@dataclass
class Pads:
    """The taps of every pad of one program; made once for each pass and advised swap."""

    plan: Plan
    known: Mapping[str, KnownElement]
    offered: Sequence[str]
    _made: dict[tuple[int, str | None], tuple[Touch, ...]] = field(default_factory=dict)

    def touches(self, place: int, swap: str | None) -> tuple[Touch, ...]:
        """The taps of pass `place` (from 0) that leave no doubt: planned, swap, left out, trained elements landed.

        A tap whose call is in doubt is left to the laptop.
        """
        if (place, swap) not in self._made:
            found = tuple(self._touches(place, swap))
            total = sum(one.chance for one in found)
            self._made[place, swap] = tuple(replace(one, chance=one.chance / total) for one in found)
        return self._made[place, swap]

    def _touches(self, place: int, swap: str | None) -> Iterator[Touch]:
        planned = self.plan.passes[place].code
        takes = 0.0 if swap is None else TAKES_THE_SWAP
        yield from self._attempts(place + 1, planned, 1 - takes)
        if swap is not None:
            yield from self._attempts(place + 1, swap, takes)
        yield Touch(LEFT_OUT, PassLeftOut(place + 1), RARE)
        others = [code for code in self.offered if code not in (planned, swap)]
        for code in others:
            yield replace(next(self._attempts(place + 1, code, 1.0)), chance=OTHERWISE / len(others))

    def _attempts(self, number: int, tried: str, share: float) -> Iterator[Touch]:
        likely = tap_chances(tried, self.known.get(tried))
        for tap in taps(tried):
            if tap.group is not Group.DOUBT:
                entry = PassSkated(number, tried, tap.how, tap.readings)
                yield Touch(f"{tried} {tap.key}", entry, share * likely.get(tap.key, RARE))


def after(state: LiveState, entry: LoggedPass) -> LiveState:
    """The state with one more pass logged, in the half the plan has it in."""
    number = state.next_number
    slot = slot_of(number, state.next_key, False, (Candidate(("policy",), (Author(),), entry),), None)
    return replace(
        state,
        logged=(*state.logged, entry),
        slots=(*state.slots, slot),
        late=(*state.late, state.plan.passes[number - 1].late),
        next_key=state.next_key + 1,
    )


@lru_cache(maxsize=512)
def tap_chances(tried: str, known: KnownElement | None) -> Mapping[str, float]:
    """How likely each tap is, by its key. Rotation and edge calls cannot be seen from the boards: such an outcome
    looks like its own code."""
    found: dict[str, float] = {}
    for one in known.outcomes if known and known.outcomes else (Outcome(tried, 1.0),):
        if one.becomes is None:
            continue
        code = _uncalled(one.becomes)
        alike = [
            tap for tap in taps(tried) if (tap.readings[0].code, tap.readings[0].fall) == (code, one.fall)
        ]
        alike.sort(key=lambda tap: (tap.group is Group.DOUBT, tap.readings[0].error != one.error))
        for tap in alike[:1]:
            found[tap.key] = found.get(tap.key, 0.0) + one.chance
    return found


@lru_cache(maxsize=1024)
def _uncalled(code: str) -> str:
    element = parse_jump_element(code)
    return str(JumpElement(tuple(replace(jump, rotation="", edge="") for jump in element.jumps)))


@dataclass
class _Grown:
    """What is known of a node before the numbers of the nodes behind it are."""

    said: Said
    touches: tuple[Touch, ...]
    steps: tuple[Step | None, ...]


def _grown(position: Hashable, found: _Found, pads: Pads, source: Source, *, last: bool) -> _Grown:
    said = source.says(position, found.state)
    pad = pads.touches(len(found.state.logged), said.swap)
    steps = tuple(
        source.step(position, found.state, one.entry, last=last)
        if found.chance * one.chance >= LEAST
        else None
        for one in pad
    )
    return _Grown(said, pad, steps)


def _likeliest(layer: Iterable[_Found], grown: Iterable[_Grown], most: int) -> dict[Hashable, _Found]:
    """The likeliest positions behind a layer, each with the first state that leads there."""
    chances: dict[Hashable, float] = {}
    first: dict[Hashable, tuple[LiveState, LoggedPass]] = {}
    for found, one in zip(layer, grown, strict=True):
        for touch, step in zip(one.touches, one.steps, strict=True):
            if step is not None:
                chances[step.position] = chances.get(step.position, 0.0) + found.chance * touch.chance
                first.setdefault(step.position, (found.state, touch.entry))
    kept = sorted(chances, key=lambda position: -chances[position])[:most]
    return {position: _Found(after(*first[position]), chances[position]) for position in kept}


def _edges(grown: _Grown, numbers: Mapping[Hashable, int], *, last: bool) -> tuple[Edge | None, ...]:
    found = []
    for step in grown.steps:
        to = None if step is None else FINISHED if last else numbers.get(step.position)
        found.append(None if step is None or to is None else Edge(to, step.cents, step.lost))
    return tuple(found)
