"""Keeps the policies of the programs in use, makes them in the background, and knows where each program stands.

A policy is made when a phone first asks, from where the program stands; again when what happened is not in it, or
when the program has come to a place where it is thin. One is made at a time, so a tap never waits for several.
"""

from __future__ import annotations

import gzip
import json
import logging
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Lock
from typing import Any
from uuid import uuid4

from app.live.fold import LiveState
from app.live.policy import Pads, Policy, Source, grow

KEPT = 16
PACKED = 48
"""Packed policies kept: a page that was told of one just before it was made anew still gets it."""
PACKING = 6
"""Level of compression: higher ones take far longer and save little."""
log = logging.getLogger("recoup")


@dataclass(frozen=True, slots=True)
class Order:
    """What a policy is made from; `write` makes JSON data of it.

    `key`: all it depends on apart from the state: program number and mode first, the role it is for last.
    """

    key: str
    source: Callable[[LiveState], Source]
    pads: Pads
    write: Callable[[str, Policy], Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a program stands in the policy of that version; `lost`: what the logged passes lost, in words."""

    version: str
    node: int
    lost: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """A policy as its desk keeps it. `nodes`: numbers by position; `thin`: where it should be made anew."""

    version: str
    source: Source
    nodes: Mapping[Hashable, int]
    thin: frozenset[int]
    packed: bytes = field(repr=False)

    def is_rich_at(self, state: LiveState) -> bool:
        """Whether that state stands in it, and at a place where it is not thin."""
        node = self.nodes.get(self.source.start(state))
        return node is not None and (node == 0 or node not in self.thin)


@dataclass
class PolicyDesk:
    """Policies by key, and packed ones by version with their key."""

    _kept: OrderedDict[str, Kept] = field(default_factory=OrderedDict)
    _packed: OrderedDict[str, tuple[str, bytes]] = field(default_factory=OrderedDict)
    _under_way: set[str] = field(default_factory=set)
    _lock: Lock = field(default_factory=Lock)
    _thread: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "policy"))

    def find(self, order: Order, state: LiveState) -> Place | None:
        """Where `state` stands; None while the policy is being made. `state` has a pass to come."""
        with self._lock:
            kept = self._kept.get(order.key)
            node = None if kept is None else kept.nodes.get(kept.source.start(state))
            if kept is None or not kept.is_rich_at(state):
                self._begin(order, state)
            if kept is None or node is None:
                return None
            return Place(kept.version, node, kept.source.lost(state))

    def packed(self, version: str, program_id: int, mode: str, role: str) -> bytes | None:
        """The policy of that version as compressed JSON; None when it is not kept, or for another mode or role."""
        with self._lock:
            key, packed = self._packed.get(version, ("", b""))
        return packed if self.fits(key, program_id, mode, role) else None

    @staticmethod
    def fits(key: str, program_id: int, mode: str, role: str) -> bool:
        """Whether an order of that key is for this program, mode and role."""
        return key.startswith(f"{program_id} {mode} ") and key.endswith(f" {role}")

    def make(self, order: Order, state: LiveState) -> Kept:
        """A policy in which that state stands; in the background, one at a time."""
        return made(order, state)

    def close(self) -> None:
        """Begin nothing more."""
        self._thread.shutdown(wait=False, cancel_futures=True)

    def _begin(self, order: Order, state: LiveState) -> None:
        if order.key in self._under_way:
            return
        self._under_way.add(order.key)
        self._thread.submit(self.make, order, state).add_done_callback(
            lambda done: self._done(order.key, done)
        )

    def _done(self, key: str, done: Future[Kept]) -> None:
        with self._lock:
            self._under_way.discard(key)
            if done.cancelled():
                return
            if (error := done.exception()) is not None:
                log.error("no policy for %s", key, exc_info=error)
                return
            kept = done.result()
            self._kept[key] = kept
            self._kept.move_to_end(key)
            self._packed[kept.version] = key, kept.packed
            _keep_to(KEPT, self._kept)
            _keep_to(PACKED, self._packed)


def _keep_to(most: int, shelf: OrderedDict[str, Any]) -> None:
    """Drop the oldest beyond so many."""
    while len(shelf) > most:
        shelf.popitem(last=False)


def made(order: Order, state: LiveState, version: str = "") -> Kept:
    """A policy from `state` on, written and compressed; under a new version unless one is given."""
    version, source = version or uuid4().hex[:12], order.source(state)
    policy = grow(state, order.pads, source)
    text = json.dumps(order.write(version, policy), ensure_ascii=False, separators=(",", ":"))
    nodes = {node.position: number for number, node in enumerate(policy.nodes)}
    thin = frozenset(number for number, node in enumerate(policy.nodes) if _is_thin(node.edges))
    return Kept(version, source, nodes, thin, gzip.compress(text.encode(), PACKING))


def _is_thin(edges: tuple[object, ...]) -> bool:
    """Whether a third of the taps of a pad lead nowhere."""
    return sum(edge is None for edge in edges) * 3 > len(edges)
