"""The real process: it says where it is, answers, lets phones in when asked, ends on Ctrl-C, and starts fast."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from app.settings import PROJECT
from app.web.server import is_own

HTML = {"accept": "text/html"}


@contextmanager
def running(*flags: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """`python -m app serve` with these flags, and the address it says."""
    command = [sys.executable, "-m", "app", "serve", "--no-browser", *flags]
    process = subprocess.Popen(
        command, cwd=PROJECT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    try:
        said = process.stdout.readline()
        while said and "Recoup is at" not in said:
            said = process.stdout.readline()
        found = re.search(r"http://\S+", said)
        assert found is not None, process.communicate(timeout=10)[1]
        yield process, found[0]
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGINT)
        process.communicate(timeout=15)


def test_it_serves_and_ends_quietly_on_ctrl_c(tmp_path: Path) -> None:
    with running("--port", "0", "--data-dir", str(tmp_path)) as (process, address):
        assert address.startswith("http://127.0.0.1:")
        assert httpx.get(address, headers=HTML).status_code == 200
        assert (tmp_path / "recoup.sqlite3").exists()
        process.send_signal(signal.SIGINT)
        _, complaints = process.communicate(timeout=15)
    assert "Traceback" not in complaints
    assert process.returncode in (0, 130, -signal.SIGINT)


def test_lan_says_address_and_code_and_keeps_strangers_out(tmp_path: Path) -> None:
    with running("--port", "0", "--lan", "--data-dir", str(tmp_path)) as (process, _address):
        assert process.stdout is not None
        said = process.stdout.readline()
    assert said.startswith("Phones: ")
    assert re.search(r"code [2-9A-Z]{4}-[2-9A-Z]{4}\b", said)


@pytest.mark.parametrize(
    ("host", "own"),
    [("127.0.0.1", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("192.168.7.20", False)],
)
def test_a_door_on_another_address_says_how_to_come_in(host: str, own: bool) -> None:
    # Whoever calls through a network address has to pair, the laptop itself too: the terminal then shows a code.
    assert is_own(host) is own


def test_a_taken_port_is_said_and_the_next_one_used(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with running("--port", str(port), "--data-dir", str(tmp_path)) as (_process, address):
            assert int(address.rstrip("/").rpartition(":")[2]) > port


@pytest.mark.parametrize(
    ("flags", "said"),
    [
        (
            ["--host", "203.0.113.7"],
            "host: '203.0.113.7' is no address of this machine",
        ),  # RFC 5737: nobody's
        (["--host", "no such name"], "host: 'no such name' is no address of this machine"),
    ],
)
def test_a_wrong_flag_is_one_line_and_exit_2(tmp_path: Path, flags: list[str], said: str) -> None:
    command = [sys.executable, "-m", "app", "serve", "--no-browser", "--data-dir", str(tmp_path), *flags]
    ended = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True, check=False, timeout=60)
    assert ended.returncode == 2
    assert ended.stderr.startswith(said)
    assert ended.stderr.count("\n") == 1


def test_the_first_page_waits_for_nothing_heavy() -> None:
    """The planner's compiler and arrays are loaded when they are first needed, so that a page is served at once.

    How long a start and a tap take is measured by scripts/load, not here.
    """
    heavy = ("numba", "numpy", "llvmlite", "alembic")
    code = f"import sys, app.main; print([name for name in {heavy} if name in sys.modules])"
    loaded = subprocess.run(
        [sys.executable, "-c", code], cwd=PROJECT, capture_output=True, text=True, check=True
    )
    assert loaded.stdout.strip() == "[]"
