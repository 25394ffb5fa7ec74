"""The hub of several workers: news of a program goes to every worker by PostgreSQL's NOTIFY, and wakes its listeners.

As in the hub of one process, news carries nothing but the program's number; who wakes reads the log. So a lost message
loses nothing: a stream looks by itself every fifteen seconds, and everybody is woken when the link to the server is
back after a break.

News is sent apart from the transaction that logged the event, without waiting for the disk (`synchronous_commit=off`):
transactions that notify are committed one after the other by the whole server (PostgreSQL's own documentation of
NOTIFY, "Notes"), and taps of other programs shall not wait for that.
"""

from __future__ import annotations

import logging
from contextlib import suppress
from threading import Event, Lock, Thread
from typing import Any
from uuid import uuid4

import psycopg
from sqlalchemy import make_url

from app.live.broadcast import Hub

CHANNEL = "recoup_news"
LOOK_UP_SECONDS = 1.0
"""How often the listening thread looks whether it should end."""
AGAIN_SECONDS = 1.0
log = logging.getLogger("recoup")


class ServerHub(Hub):
    """Listeners of this worker, woken by every worker. `start` begins to listen, `close` ends it."""

    def __init__(self, address: str) -> None:
        super().__init__()
        self._address = make_url(address).set(drivername="postgresql").render_as_string(hide_password=False)
        self._me = uuid4().hex
        self._sending: psycopg.Connection[Any] | None = None
        self._one_at_a_time = Lock()
        self._ended = Event()
        self.hears = Event()
        """Set while news of other workers comes in."""
        self._thread = Thread(target=self._listen, name="news", daemon=True)

    def start(self) -> None:
        """Hear what other workers log from now on."""
        self._thread.start()

    def close(self) -> None:
        """Hear and say nothing more; may be called again."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join()
        with self._one_at_a_time:
            self._hang_up_line()

    def news(self, program_id: int) -> None:
        """Wake the listeners of this worker, and tell the others. Never fails: the event itself is safe."""
        super().news(program_id)
        with self._one_at_a_time:
            if self._ended.is_set():
                return
            for _ in range(2):  # the line may have been cut since it was last used
                try:
                    self._line().execute("SELECT pg_notify(%s, %s)", (CHANNEL, f"{self._me} {program_id}"))
                    return
                except psycopg.Error as error:
                    self._hang_up_line()
                    fault = error
        log.warning("other workers were not told of program %s: %s", program_id, fault)

    def heard(self, said: str) -> None:
        """A message of the channel: wake whoever listens to that program, unless it is our own."""
        sender, _, program = said.partition(" ")
        if sender != self._me and program.isdecimal():
            super().news(int(program))

    def _line(self) -> psycopg.Connection[Any]:
        if self._sending is None or self._sending.closed:
            self._sending = psycopg.connect(self._address, autocommit=True)
            self._sending.execute("SET synchronous_commit = off")
        return self._sending

    def _hang_up_line(self) -> None:
        if self._sending is not None:
            with suppress(psycopg.Error):
                self._sending.close()
            self._sending = None

    def _listen(self) -> None:
        while not self._ended.is_set():
            try:
                with psycopg.connect(self._address, autocommit=True) as line:
                    line.execute(f"LISTEN {CHANNEL}")
                    self.hears.set()
                    self.wake_all()  # whatever was said while nobody listened
                    self._follow(line)
            except psycopg.Error as error:
                if not self._ended.is_set():
                    log.warning("no news from other workers for the moment: %s", error)
            self.hears.clear()
            self._ended.wait(AGAIN_SECONDS)

    def _follow(self, line: psycopg.Connection[Any]) -> None:
        while not self._ended.is_set():
            for message in line.notifies(timeout=LOOK_UP_SECONDS):
                self.heard(message.payload)
