"""The job desk of several workers: the work runs in one of them, every one of them knows how far it is.

A worker that dies stops saying that it is at work; after a while the next one asked begins anew.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta
from threading import Event, Thread
from typing import Any, TypeVar
from uuid import uuid4

from app.web.jobs import Job, Jobs, Progress
from app.web.notes import Notes

T = TypeVar("T")
KIND = "job"
SAID_EVERY = 0.4
"""Seconds between two words about progress: the page asks every half second."""
AT_WORK_EVERY = 5.0
LOST_AFTER = timedelta(seconds=20)


class SharedJobs(Jobs):
    """Work by key, over all workers."""

    def __init__(self, notes: Notes) -> None:
        super().__init__()
        self._notes = notes
        self._me = uuid4().hex
        self._said: dict[str, float] = {}

    def start(self, key: str, work: Callable[[Progress], T], *, again: bool = False) -> Job[T]:
        """The job of that key wherever it runs, begun here if it runs nowhere."""
        found = self._elsewhere(key)
        if found is not None and not (again and found.fault):
            return found
        return super().start(key, work, again=again)

    def get(self, key: str) -> Job[Any] | None:
        """The job of that key as it stands."""
        return super().get(key) or self._elsewhere(key)

    def _elsewhere(self, key: str) -> Job[Any] | None:
        """The job as another worker has it; None: it does not, or has died over it."""
        note = self._notes.get(KIND, key)
        if note is None or note[0] == self._me:
            return None
        job: Job[Any] = note[1]
        return job if job.done or self._notes.get(KIND, key, LOST_AFTER) is not None else None

    def _put(self, key: str, job: Job[Any]) -> None:
        super()._put(key, job)
        now = time.monotonic()
        if job.done or now - self._said.get(key, 0.0) >= SAID_EVERY:
            self._said[key] = now
            self._notes.tell(KIND, key, (self._me, job))

    def _worked(self, key: str, work: Callable[[Progress], Any], progress: Progress) -> Job[Any]:
        self._notes.tell(KIND, key, (self._me, Job()))
        over = Event()
        saying = Thread(target=self._say_at_work, args=(key, over), daemon=True)
        saying.start()
        try:
            return super()._worked(key, work, progress)
        finally:
            over.set()
            saying.join()
            self._said.pop(key, None)

    def _say_at_work(self, key: str, over: Event) -> None:
        while not over.wait(AT_WORK_EVERY):
            job = Jobs.get(self, key)
            if job is not None and not job.done:
                self._notes.tell(KIND, key, (self._me, job))
