"""A process beside the server for work that takes seconds of a processor and would hold up every tap in this one.

    beside = Beside("app.web.policy_making")     a module with `prepare()` and `answer(question)`
    beside.ask(question)                         what `answer` returns there; whoever asks waits

Python lets one thread compute at a time, and hands on only every few milliseconds: beside a thread that computes, a tap
that reads the database twenty times waits twenty times. The other process has a lower priority, so it takes what taps
leave over. Questions and answers are pickled through its standard input and output. It ends by itself when the server
is gone, however that ended, for then its input ends. One that has died is started anew at the next question.
"""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import traceback
from contextlib import suppress
from importlib import import_module
from threading import Lock
from typing import Any, Generic, TypeVar

from app.settings import PROJECT

Question = TypeVar("Question")
Reply = TypeVar("Reply")
NICE = 10
"""How much lower its priority is."""
LOWER = getattr(subprocess, "BELOW_NORMAL_PRIORITY_CLASS", 0)
"""The same where there is no `nice`."""


class WorkFailed(Exception):
    """What happened there, as its own traceback."""


class Beside(Generic[Question, Reply]):
    """One such process; one question at a time."""

    def __init__(self, module: str) -> None:
        self._module = module
        self._asking, self._starting = Lock(), Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._closed = False

    def start(self) -> subprocess.Popen[bytes]:
        """Start it, so that the first question need not wait for that; as it is when it runs."""
        with self._starting:
            if self._closed:
                raise WorkFailed("the server is closing")
            if self._process is None or self._process.poll() is not None:
                self._stop()
                command = [sys.executable, "-m", __name__, self._module]
                self._process = subprocess.Popen(
                    command,
                    cwd=PROJECT,
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    creationflags=LOWER,
                )
            return self._process

    def ask(self, question: Question) -> Reply:
        """What `answer` makes of the question. Raises WorkFailed."""
        sent = pickle.dumps(question)
        with self._asking:
            try:
                fine, reply = self._exchange(sent)
            except (OSError, EOFError, pickle.UnpicklingError):
                self._stop()
                fine, reply = self._exchange_again(sent)
        if not fine:
            raise WorkFailed(reply)
        return reply  # type: ignore[no-any-return]

    def close(self) -> None:
        """End it; whoever still waits for an answer gets WorkFailed."""
        with self._starting:
            self._closed = True
        self._stop()

    def _exchange(self, sent: bytes) -> tuple[bool, Any]:
        process = self.start()
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(sent)
        process.stdin.flush()
        said: tuple[bool, Any] = pickle.load(process.stdout)
        return said

    def _exchange_again(self, sent: bytes) -> tuple[bool, Any]:
        """It had died: once more, by a new one."""
        try:
            return self._exchange(sent)
        except (OSError, EOFError, pickle.UnpicklingError) as error:
            raise WorkFailed(f"{self._module}: the process beside this one ended twice") from error

    def _stop(self) -> None:
        process = self._process
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                with suppress(OSError):  # what was not sent any more
                    pipe.close()


def serve(module: str) -> None:
    """The other process: answers until there is no more to read."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which then closes our input
    if hasattr(os, "nice"):
        os.nice(NICE)
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    sys.stdout = sys.stderr  # nothing that is printed comes between two answers
    work = import_module(module)
    work.prepare()
    while True:
        try:
            question = pickle.load(sys.stdin.buffer)
        except EOFError:
            return
        try:
            said = True, work.answer(question)
        except Exception:
            said = False, traceback.format_exc()
        try:
            pickle.dump(said, answers)
            answers.flush()
        except BrokenPipeError:
            return


if __name__ == "__main__":
    serve(sys.argv[1])
