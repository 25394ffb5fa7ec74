"""At most so many tries in so many seconds, for each caller and for everybody together.

The clock is handed in, so that tests need not wait.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

Clock = Callable[[], float]
EVERYBODY = ""


class Throttle:
    """Sliding window of tries."""

    def __init__(self, clock: Clock, *, each: int, together: int, seconds: float) -> None:
        self._clock = clock
        self._limits = {"each": each, "together": together}
        self._seconds = seconds
        self._tries: dict[str, deque[float]] = {}

    def wait(self, caller: str) -> float:
        """Seconds until `caller` may try again; 0 means now."""
        now = self._clock()
        pairs = ((caller, self._limits["each"]), (EVERYBODY, self._limits["together"]))
        return max(self._wait(name, limit, now) for name, limit in pairs)

    def count(self, caller: str) -> None:
        """Note one try by `caller`."""
        now = self._clock()
        self._forget(now)
        for name in (caller, EVERYBODY):
            self._tries.setdefault(name, deque()).append(now)

    def _wait(self, name: str, limit: int, now: float) -> float:
        recent = [at for at in self._tries.get(name, ()) if now - at < self._seconds]
        if len(recent) < limit:
            return 0.0
        return recent[-limit] + self._seconds - now

    def _forget(self, now: float) -> None:
        for name, tries in list(self._tries.items()):
            while tries and now - tries[0] >= self._seconds:
                tries.popleft()
            if not tries:
                del self._tries[name]
