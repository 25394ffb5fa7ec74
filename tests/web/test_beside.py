"""The process beside the server: it answers, says what failed, is started anew, and ends with whoever started it."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress

import pytest

from app.settings import PROJECT
from app.web.beside import NICE, Beside, WorkFailed

WORK = "tests.web.beside_work"
PATIENCE = 30.0


@pytest.fixture
def beside() -> Iterator[Beside[str, object]]:
    made: Beside[str, object] = Beside(WORK)
    yield made
    made.close()


def test_it_answers_in_another_process_of_lower_priority(beside: Beside[str, object]) -> None:
    who = beside.ask("who")
    assert isinstance(who, tuple)
    assert who[0] != os.getpid()
    if hasattr(os, "nice"):
        assert who[1] == min(19, os.nice(0) + NICE)
    assert beside.ask("hello") == "HELLO"
    assert beside.ask("who") == who


def test_what_is_printed_there_does_not_come_between(beside: Beside[str, object]) -> None:
    assert beside.ask("print") == "PRINT"
    assert beside.ask("more") == "MORE"


def test_a_failure_comes_back_with_its_reason_and_the_next_question_is_answered(
    beside: Beside[str, object],
) -> None:
    with pytest.raises(WorkFailed, match="this cannot be done"):
        beside.ask("fail")
    assert beside.ask("next") == "NEXT"


def test_one_that_was_killed_is_started_anew(beside: Beside[str, object]) -> None:
    first = beside.start()
    first.kill()
    first.wait()
    assert beside.ask("again") == "AGAIN"
    assert beside.start().pid != first.pid


def test_a_question_that_kills_it_twice_is_a_failure(beside: Beside[str, object]) -> None:
    with pytest.raises(WorkFailed, match="ended twice"):
        beside.ask("die")
    assert beside.ask("alive") == "ALIVE"


def test_after_closing_nothing_is_started(beside: Beside[str, object]) -> None:
    process = beside.start()
    beside.close()
    assert process.poll() is not None
    with pytest.raises(WorkFailed, match="closing"):
        beside.ask("anyone")


@pytest.mark.skipif(os.name == "nt", reason="signals and process ids as on Unix")
def test_it_ends_when_the_server_was_killed() -> None:
    code = (
        "from app.web.beside import Beside; import time\n"
        f"beside = Beside({WORK!r})\n"
        "print(beside.ask('who')[0], flush=True)\n"
        "time.sleep(60)"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], cwd=PROJECT, stdout=subprocess.PIPE, text=True
    ) as server:
        assert server.stdout is not None
        beside = int(server.stdout.readline())
        server.kill()
    until = time.monotonic() + PATIENCE
    while _runs(beside) and time.monotonic() < until:
        time.sleep(0.02)
    assert not _runs(beside)


def _runs(process: int) -> bool:
    """Whether it is there and is more than a name that nobody has collected."""
    with suppress(ProcessLookupError, FileNotFoundError):
        os.kill(process, 0)
        state = subprocess.run(
            ["ps", "-o", "stat=", "-p", str(process)], capture_output=True, text=True, check=False
        ).stdout
        return bool(state) and not state.startswith("Z")
    return False
