"""Keeps the policies of the programs in use, makes them in the background, and knows where each program stands.

A policy is made when a phone first asks, from where the program stands; again when what happened is not in it, or
when the program has come to a place where it is thin. One is made at a time, so a tap never waits for several.
"""

from __future__ import annotations

import logging
from collections import OrderedDict
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from threading import Lock
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from app.live.fold import LiveState
from app.live.program import Limits
from app.web.beside import Beside, WorkFailed
from app.web.views.policy import Frame

if TYPE_CHECKING:  # the rules bring the compiled loops: not before somebody needs them
    from app.web.policy_making import PolicyJob
    from app.web.policy_walk import Walked

KEPT = 200
PACKED = 300
"""Packed policies kept: a page that was told of one just before it was made anew still gets it."""
MAKING = "app.web.policy_making"
"""The module whose `answer` makes one."""
log = logging.getLogger("recoup")


@dataclass(frozen=True, slots=True)
class Order:
    """What a policy is made from, as values that another process can be given.

    `key`: all it depends on apart from the state: program number and mode first, the role it is for last. `silent`: no
    advice may show. `language`: of the reader.
    """

    key: str
    frame: Frame
    limits: Limits
    silent: bool
    language: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where a program stands in the policy of that version; `lost`: what the logged passes lost, in words."""

    version: str
    node: int
    lost: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """A policy as its desk keeps it. `nodes`: numbers by mark of the position; `thin`: where it should be made anew."""

    version: str
    walked: Walked
    nodes: Mapping[bytes, int]
    thin: frozenset[int]
    packed: bytes = field(repr=False)

    def node(self, state: LiveState) -> int | None:
        """Where that state stands; None: it is not in it."""
        return self.nodes.get(self.walked.mark(self.walked.start(state)))

    def is_rich_at(self, state: LiveState) -> bool:
        """Whether that state stands in it, and at a place where it is not thin."""
        node = self.node(state)
        return node is not None and (node == 0 or node not in self.thin)


@dataclass
class PolicyDesk:
    """Policies by key, and packed ones by version with their key."""

    _kept: OrderedDict[str, Kept] = field(default_factory=OrderedDict)
    _packed: OrderedDict[str, tuple[str, bytes]] = field(default_factory=OrderedDict)
    _under_way: dict[str, None] = field(default_factory=dict)
    """Keys of those ordered and not made yet, in their order."""
    _lock: Lock = field(default_factory=Lock)
    _thread: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "policy"))
    _beside: Beside[PolicyJob, Kept] | None = None
    _closed: bool = False

    def find(self, key: str, state: LiveState, order: Callable[[], Order]) -> Place | None:
        """Where `state` stands; None while the policy is being made. `state` has a pass to come.

        `order`: the order of that key; asked for only if the policy is to be made.
        """
        with self._lock:
            kept = self._kept.get(key)
            is_due = (kept is None or not kept.is_rich_at(state)) and key not in self._under_way
        if is_due:
            self._begin(order(), state)
        with self._lock:
            kept = self._kept.get(key)
            node = None if kept is None else kept.node(state)
            if kept is None or node is None:
                return None
            return Place(kept.version, node, kept.walked.lost(state))

    def ahead(self, key: str) -> int:
        """How many policies are made before the one of that key; 0: it is its turn."""
        with self._lock:
            waiting = list(self._under_way)
        return waiting.index(key) if key in waiting else 0

    def packed(self, version: str, program_id: int, mode: str, role: str) -> bytes | None:
        """The policy of that version as compressed JSON; None when it is not kept, or for another mode or role."""
        with self._lock:
            key, packed = self._packed.get(version, ("", b""))
        return packed if self.fits(key, program_id, mode, role) else None

    @staticmethod
    def fits(key: str, program_id: int, mode: str, role: str) -> bool:
        """Whether an order of that key is for this program, mode and role."""
        return key.startswith(f"{program_id} {mode} ") and key.endswith(f" {role}")

    def make(self, order: Order, state: LiveState) -> Kept | None:
        """A policy in which that state stands; in the background, one at a time. None: it is being made elsewhere."""
        return self.made(order, state, uuid4().hex[:12])

    def made(self, order: Order, state: LiveState, version: str) -> Kept:
        """A policy from that state on: by the process beside this one, or right here while there is none."""
        from app.web.policy_making import PolicyJob, made

        job = PolicyJob.of(order, state, version)
        return made(job) if self._beside is None else self._beside.ask(job)

    def open(self) -> None:
        """From now on policies are made by a process of their own, so that no tap waits for one."""
        self._beside = Beside(MAKING)

    def warm(self) -> None:
        """Start that process, so that the first policy need not wait for it."""
        if self._beside is not None:
            with suppress(WorkFailed):  # closed meanwhile
                self._beside.start()

    def close(self) -> None:
        """Begin nothing more, and leave what is under way; returns when nothing of it goes on."""
        self._closed = True
        if self._beside is not None:
            self._beside.close()
        self._thread.shutdown(cancel_futures=True)

    def _begin(self, order: Order, state: LiveState) -> None:
        with self._lock:
            if order.key in self._under_way:
                return
            self._under_way[order.key] = None
        self._thread.submit(self.make, order, state).add_done_callback(
            lambda done: self._done(order.key, done)
        )

    def _done(self, key: str, done: Future[Kept | None]) -> None:
        with self._lock:
            self._under_way.pop(key, None)
            if done.cancelled() or self._closed:
                return
            if (error := done.exception()) is not None:
                log.error("no policy for %s", key, exc_info=error)
                return
            kept = done.result()
            if kept is None:
                return
            self._kept[key] = kept
            self._kept.move_to_end(key)
            self._packed[kept.version] = key, kept.packed
            _keep_to(KEPT, self._kept)
            _keep_to(PACKED, self._packed)


def _keep_to(most: int, shelf: OrderedDict[str, Any]) -> None:
    """Drop the oldest beyond so many."""
    while len(shelf) > most:
        shelf.popitem(last=False)
