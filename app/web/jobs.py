"""A desk for answers that take seconds: the work runs in a thread, the page shows how far it is.

    job = jobs.start(f"card {fingerprint}", lambda progress: work(progress))
    waiting = wait_for(request, job, Waiting("The card", back="/layouts/3"))
    return waiting or page(request, "card/page.html", view_of(job.result))

The same key is the same job, so a page that is opened twice, or asked again every half second, works once.
A key therefore says everything the answer depends on. Nothing here is stored: a restart forgets it.
"""

from __future__ import annotations

import logging
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Lock
from typing import Any, Generic, TypeVar

from fastapi import Request, Response

from app.domain.said import said_of
from app.domain.words import say
from app.errors import RecoupError
from app.web import htmx
from app.web.error_pages import OUR_FAULT
from app.web.rendering import page

log = logging.getLogger("recoup")

T = TypeVar("T")
Progress = Callable[[float, str], None]
"""Called by the work now and then: the share done, 0 to 1, and what it is doing, in words."""
AT_ONCE = 2
KEPT = 32
BUSY = say("Too many reckonings are under way. Wait until one is finished, then try again.")


@dataclass(frozen=True, slots=True)
class Job(Generic[T]):
    """How a piece of work stands. `done` with `fault` empty: `result` is there; else `fault` says why not."""

    done: bool = False
    share: float = 0.0
    words: str = say("Waiting for its turn")
    result: T | None = None
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Waiting:
    """What the page says meanwhile: `title` of what is worked out, `back` the address it was asked from."""

    title: str
    back: str


@dataclass(frozen=True, slots=True)
class ProgressView:
    """The page of a job under way or failed. `address` is asked again; `percent` is 0 to 100, whole."""

    title: str
    back: str
    address: str
    percent: int
    words: str
    fault: str


class _Closed(Exception):
    """The app is shutting down: the work stops at its next word about progress."""


@dataclass
class Jobs:
    """Work by key; at most two pieces at once, and a bounded number of answers kept."""

    _jobs: OrderedDict[str, Job[Any]] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)
    _threads: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(AT_ONCE, "job"))
    _closed: bool = False

    def start(self, key: str, work: Callable[[Progress], T], *, again: bool = False) -> Job[T]:
        """The job of that key, begun if there is none; `again` begins a failed one anew.

        `work` gets a `Progress` to call; what it raises becomes the job's `fault`, never an error page.
        """
        with self._lock:
            known = self._jobs.get(key)
            if known is not None and not (again and known.fault):
                self._jobs.move_to_end(key)
                return known
            if not self._make_room():
                return Job(done=True, fault=BUSY)
            begun: Job[T] = Job()
            self._jobs[key] = begun
        future = self._threads.submit(self._run, key, work)
        future.add_done_callback(_note)
        return begun

    def get(self, key: str) -> Job[Any] | None:
        """The job of that key as it stands; None when there is none."""
        with self._lock:
            return self._jobs.get(key)

    def close(self) -> None:
        """Stop: what waits is dropped, what runs ends at its next word about progress; returns when it has."""
        self._closed = True
        self._threads.shutdown(cancel_futures=True)

    def _make_room(self) -> bool:
        """Forget the oldest finished job when there are too many; False when all are under way."""
        if len(self._jobs) < KEPT:
            return True
        oldest = next((key for key, job in self._jobs.items() if job.done), None)
        if oldest is None:
            return False
        del self._jobs[oldest]
        return True

    def _run(self, key: str, work: Callable[[Progress], Any]) -> None:
        def progress(share: float, words: str) -> None:
            if self._closed:
                raise _Closed
            self._put(key, Job(share=min(max(share, 0.0), 1.0), words=words))

        self._put(key, self._worked(key, work, progress))

    def _worked(self, key: str, work: Callable[[Progress], Any], progress: Progress) -> Job[Any]:
        try:
            return Job(done=True, share=1.0, words=say("Done"), result=work(progress))
        except _Closed:
            return Job(done=True, fault=say("Recoup was closed."))
        except RecoupError as error:
            return Job(done=True, words=say("Not possible"), fault=said_of(error))
        except Exception as error:
            log.error("unexpected error in job %s", key, exc_info=error)
            return Job(done=True, words=say("Not possible"), fault=OUR_FAULT)

    def _put(self, key: str, job: Job[Any]) -> None:
        with self._lock:
            self._jobs[key] = job


def _note(future: Future[None]) -> None:
    """A fault of the desk itself, which no page would show."""
    if not future.cancelled() and (error := future.exception()) is not None:
        log.error("the job desk failed", exc_info=error)


def wait_for(request: Request, job: Job[Any], waiting: Waiting) -> Response | None:
    """What to answer while a job has no result; None: it has, and the whole page is wanted.

    Works without JavaScript: the page asks for itself every second. With htmx its bar is renewed every half
    second, and the browser goes to the same address once the result is there.
    """
    address = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    if job.done and not job.fault:
        return htmx.go_to(request, address) if htmx.wants_fragment(request) else None
    percent = 0 if job.fault else round(job.share * 100)
    view = ProgressView(waiting.title, waiting.back, address, percent, job.words, job.fault)
    return page(request, "progress.html", view, fragment="_progress.html")
