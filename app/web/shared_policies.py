"""The policy desk of several workers: a program has one policy, whichever worker made it or is asked where it stands.

Whoever begins one says so in the notes and leaves it there when it is made, with all that says where a program stands
in it; the others take it as it is. So it is made once, and a phone that is answered by one worker now and by another
then keeps the policy it has.
"""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

from app.live.fold import LiveState
from app.web.notes import Notes
from app.web.policy_desk import Kept, Order, PolicyDesk

LATEST, MADE, BEGUN = "policy", "made policy", "policy begun"
BEGUN_FOR = timedelta(seconds=20)
"""One that is not made by then is begun anew: its worker has died. Policies take a few seconds."""


class SharedPolicyDesk(PolicyDesk):
    """Policies by key, over all workers."""

    def __init__(self, notes: Notes) -> None:
        super().__init__()
        self._notes = notes
        self._me = uuid4().hex

    def packed(self, version: str, program_id: int, mode: str, role: str) -> bytes | None:
        """The policy of that version as compressed JSON, whoever made it."""
        mine = super().packed(version, program_id, mode, role)
        note = self._notes.get(MADE, version) if mine is None else None
        if note is None:
            return mine
        key, kept = note
        return kept.packed if self.fits(key, program_id, mode, role) else None

    def make(self, order: Order, state: LiveState) -> Kept | None:
        """The policy another worker has made, where it holds that state; else one from here on, for all.

        None while another worker makes it.
        """
        if (theirs := self._theirs(order.key, state)) is not None:
            return theirs
        if not self._may_begin(order.key):
            return None
        try:
            # Perhaps it was made between the first look and the word that nobody else makes it.
            return self._theirs(order.key, state) or self._made_for_all(order, state)
        finally:
            self._notes.tell(BEGUN, order.key, None)

    def _may_begin(self, key: str) -> bool:
        """Whether it is for this worker to make; if so, the others know."""
        # Looked at first: saying it again would make the word of a worker that has died young.
        if self._notes.get(BEGUN, key, BEGUN_FOR) is not None:
            return False
        by: str = self._notes.change(BEGUN, key, lambda by: by or self._me, BEGUN_FOR)
        return by == self._me

    def _theirs(self, key: str, state: LiveState) -> Kept | None:
        """The latest policy for that order, if it is worth having at that state."""
        version: str | None = self._notes.get(LATEST, key)
        note = None if version is None else self._notes.get(MADE, version)
        if note is None:
            return None
        kept: Kept = note[1]
        return kept if kept.is_rich_at(state) else None

    def _made_for_all(self, order: Order, state: LiveState) -> Kept | None:
        new = super().make(order, state)
        if new is not None:
            self._notes.put(MADE, new.version, (order.key, new))
            self._notes.put(LATEST, order.key, new.version)
        return new
