"""Who waits for news of which program. Pure bookkeeping: it wakes listeners, the log itself tells what is new.

A listener is a function that is called, from any thread, when its program's log has grown. It carries no news, so
nothing piles up for a slow screen: whoever wakes reads the log from where it stopped.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock

Wake = Callable[[], None]
SHELF_NEWS = 0
"""In place of a program: there is a new own rulebook."""


class Hub:
    """Listeners by program. One per running server; safe in several threads."""

    def __init__(self) -> None:
        self._listeners: dict[int, list[Wake]] = {}
        self._lock = Lock()
        self.hung_up = 0
        """How often everybody was told to hang up; who listened before that ends."""

    @contextmanager
    def listening(self, program_id: int, wake: Wake) -> Iterator[None]:
        """Within this block `wake` is called after every event of that program."""
        with self._lock:
            self._listeners.setdefault(program_id, []).append(wake)
        try:
            yield
        finally:
            with self._lock:
                left = self._listeners[program_id]
                left.remove(wake)
                if not left:
                    del self._listeners[program_id]

    def news(self, program_id: int) -> None:
        """The log of that program has grown: wake everybody who listens."""
        with self._lock:
            listeners = tuple(self._listeners.get(program_id, ()))
        for wake in listeners:
            wake()

    def hang_up(self) -> None:
        """A door closes: every listener wakes and ends; screens whose door stays open come back by themselves."""
        with self._lock:
            self.hung_up += 1
        self.wake_all()

    def wake_all(self) -> None:
        """Everybody looks whether there is something new."""
        with self._lock:
            everybody = [wake for listeners in self._listeners.values() for wake in listeners]
        for wake in everybody:
            wake()

    def start(self) -> None:
        """Begin; one process hears itself without."""

    def close(self) -> None:
        """End."""

    def count(self, program_id: int) -> int:
        """How many screens listen to that program."""
        with self._lock:
            return len(self._listeners.get(program_id, ()))
