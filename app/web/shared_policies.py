"""The policy desk of several workers: a program has one policy, whichever worker made it or is asked where it stands.

A policy follows from its order and the state it starts from. A worker that is asked about one another has made grows
the same again, from the same start and under the same version, and knows then where every later state stands in it;
the packed text is fetched from the notes. So a phone that is answered by one worker now and by another then keeps the
policy it has.
"""

from __future__ import annotations

from dataclasses import replace

from app.live.fold import LiveState
from app.web.notes import Notes
from app.web.policy_desk import Kept, Order, PolicyDesk

START, PACKED = "policy", "packed policy"
Start = tuple[str, LiveState]
"""Version, and the state it was made from."""


class SharedPolicyDesk(PolicyDesk):
    """Policies by key, over all workers."""

    def __init__(self, notes: Notes) -> None:
        super().__init__()
        self._notes = notes

    def packed(self, version: str, program_id: int, mode: str, role: str) -> bytes | None:
        """The policy of that version as compressed JSON, whoever made it."""
        mine = super().packed(version, program_id, mode, role)
        note = self._notes.get(PACKED, version) if mine is None else None
        if note is None:
            return mine
        key, packed = note
        return packed if self.fits(key, program_id, mode, role) else None

    def make(self, order: Order, state: LiveState) -> Kept:
        """The policy another worker has made, where it holds that state; else one from here on, for all."""
        found: Start | None = self._notes.get(START, order.key)
        with self._lock:
            mine = self._kept.get(order.key)
        if found is not None and (mine is None or mine.version != found[0]):
            theirs = self._again(order, found)
            if theirs.is_rich_at(state):
                return theirs
        new = super().make(order, state)
        self._notes.put(PACKED, new.version, (order.key, new.packed))
        agreed: Start = self._notes.change(
            START, order.key, lambda now: (new.version, state) if now is None or _same(now, found) else now
        )
        return new if agreed[0] == new.version else self._again(order, agreed)

    def _again(self, order: Order, start: Start) -> Kept:
        """What another worker has made; the text is its own, for ours is written for a board further on."""
        grown, note = self.made(order, start[1], start[0]), self._notes.get(PACKED, start[0])
        return grown if note is None else replace(grown, packed=note[1])


def _same(one: Start, other: Start | None) -> bool:
    return other is not None and one[0] == other[0]
