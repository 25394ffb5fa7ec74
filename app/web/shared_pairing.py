"""The pairing desk of several workers: one code on the screen, one count of tries, whoever is asked."""

from __future__ import annotations

import time
from datetime import timedelta

from app.security.pairing import LIFE, TRIES_EACH, TRIES_TOGETHER, TRY_SECONDS, PairingDesk, ShownCode
from app.security.throttle import Clock, Throttle
from app.web.notes import Notes

CODE, TRIES = "code", "tries"


class SharedPairingDesk(PairingDesk):
    """Codes and tries are notes; a code is readable for the workers of this start alone."""

    def __init__(self, notes: Notes) -> None:
        self._notes = notes
        super().__init__(time.time)  # every worker's monotonic clock begins elsewhere
        self._throttle = SharedThrottle(notes, time.time)

    @property
    def _shown(self) -> ShownCode | None:
        found: ShownCode | None = self._notes.get(CODE, "", LIFE)
        return found

    @_shown.setter
    def _shown(self, code: ShownCode | None) -> None:
        if code is not None:
            self._notes.put(CODE, "", code)


class SharedThrottle(Throttle):
    """Tries of all workers together."""

    def __init__(self, notes: Notes, clock: Clock) -> None:
        super().__init__(clock, each=TRIES_EACH, together=TRIES_TOGETHER, seconds=TRY_SECONDS)
        self._notes = notes
        self._seconds_kept = timedelta(seconds=TRY_SECONDS)

    def take(self, caller: str) -> float:
        """Ask for one try: 0 = granted and counted; else the seconds until `caller` may ask again."""
        waits: list[float] = []

        def counted(found: object) -> object:
            # One at a time over all workers: whoever changes a note holds its lock.
            self._tries = found if isinstance(found, dict) else {}
            waits.append(Throttle.take(self, caller))
            return self._tries

        self._notes.change(TRIES, "", counted, self._seconds_kept)
        return waits[0]
