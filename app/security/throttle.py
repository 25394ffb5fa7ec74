"""At most so many tries in so many seconds, for each caller and for everybody together.

The clock is handed in, so that tests need not wait.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from threading import Lock

Clock = Callable[[], float]
EVERYBODY = ""


class Throttle:
    """Sliding window of tries."""

    def __init__(self, clock: Clock, *, each: int, together: int, seconds: float) -> None:
        self._clock = clock
        self._limits = {"each": each, "together": together}
        self._seconds = seconds
        self._tries: dict[str, deque[float]] = {}
        self._lock = Lock()  # requests are answered in several threads

    def take(self, caller: str) -> float:
        """Ask for one try: 0 = granted and counted; else the seconds until `caller` may ask again."""
        with self._lock:
            now = self._clock()
            self._forget(now)
            pairs = ((caller, self._limits["each"]), (EVERYBODY, self._limits["together"]))
            wait = max(self._wait(name, limit, now) for name, limit in pairs)
            if wait == 0:
                for name, _ in pairs:
                    self._tries.setdefault(name, deque()).append(now)
            return wait

    def _wait(self, name: str, limit: int, now: float) -> float:
        recent = self._tries.get(name, ())
        if len(recent) < limit:
            return 0.0
        return recent[-limit] + self._seconds - now

    def _forget(self, now: float) -> None:
        for name, tries in list(self._tries.items()):
            while tries and now - tries[0] >= self._seconds:
                tries.popleft()
            if not tries:
                del self._tries[name]
