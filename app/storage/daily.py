"""The copy of every day: made at the start and while the server runs, in a thread of its own."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from threading import Event, Thread

from app.errors import StorageTrouble
from app.storage.backups import Backup, Backups

LOOK_EVERY_SECONDS = 900.0
log = logging.getLogger("recoup")


def due(backups: Backups, now: datetime) -> bool:
    """Whether today (UTC) has no copy yet. One dated later than today does not count: the clock has jumped back."""
    return not any(one.reason == "daily" and one.made_at.date() == now.date() for one in backups.all())


class DailyCopies:
    """Makes them until it is stopped. `trouble`: why the last one failed, in plain words; "" when it did not."""

    def __init__(self, backups: Backups, clock: Callable[[], datetime] | None = None) -> None:
        self._backups = backups
        self._clock = clock or (lambda: datetime.now(UTC))
        self._stopped = Event()
        self._thread = Thread(target=self._run, name="daily copy", daemon=True)
        self.trouble = ""

    def start(self) -> None:
        """Begin; the first look is at once. What a start before left unfinished goes."""
        self._backups.tidy()
        self._thread.start()

    def stop(self) -> None:
        """Make no more; a copy under way is finished first."""
        self._stopped.set()
        if self._thread.is_alive():
            self._thread.join()

    def look(self) -> Backup | None:
        """Make today's copy unless there is one. Trouble is kept for the page, never raised."""
        now = self._clock()
        try:
            made = self._backups.make("daily", now) if due(self._backups, now) else None
        except (StorageTrouble, sqlite3.Error, OSError) as trouble:
            self.trouble = str(trouble)
            log.warning("no daily copy: %s", trouble)
            return None
        self.trouble = ""
        return made

    def _run(self) -> None:
        while not self._stopped.is_set():
            self.look()
            self._stopped.wait(LOOK_EVERY_SECONDS)
