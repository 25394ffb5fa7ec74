"""The real process: it says where it is, answers, lets phones in when asked, ends on Ctrl-C, and starts fast."""

from __future__ import annotations

import os
import re
import signal
import socket
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from app.settings import PROJECT
from app.web.server import is_own

HTML = {"accept": "text/html"}
SECOND_START_SECONDS = 3.0


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


def test_a_second_start_serves_a_page_within_three_seconds(tmp_path: Path) -> None:
    """Counted in seconds of processor time, so that other programs on a busy machine do not count."""
    flags = ("--port", "0", "--data-dir", str(tmp_path))
    with running(*flags):
        pass  # the first start migrates and seeds
    before = os.times()
    with running(*flags) as (_process, address):
        assert httpx.get(address, headers=HTML).status_code == 200
    after = os.times()
    spent = after.children_user + after.children_system - before.children_user - before.children_system
    assert spent < SECOND_START_SECONDS


def test_a_tap_is_answered_within_50_milliseconds(tmp_path: Path) -> None:
    # The house's own limit for a whole answer over the network of one machine: the median of the six passes of a
    # program, in the best of five programs, since other work on the machine is not ours to measure.
    with running("--port", "0", "--data-dir", str(tmp_path)) as (_process, address), httpx.Client() as phone:
        base = address.rstrip("/")
        medians: list[float] = []
        while len(medians) < 5 and min(medians, default=1.0) > 0.050:
            medians.append(statistics.median(seconds_a_tap(phone, base)))
    assert min(medians) <= 0.050, medians


def seconds_a_tap(phone: httpx.Client, base: str) -> list[float]:
    """How long each of the six taps of a run-through took, from sending to the whole answer."""
    start = phone.post(f"{base}/live", data={"layout_id": 1, "kind": "run-through"})
    live = base + start.headers["location"]
    shown = phone.get(live).text
    taken = []
    for number in range(1, 7):
        found = re.search(r'name="event_id" value="(\w+)"', shown)
        planned = re.search(r'name="tap" value="(\S+) planned"', shown)
        assert found
        assert planned
        tap = {"number": number, "event_id": found[1], "tap": f"{planned[1]} error"}
        started = time.perf_counter()
        shown = phone.post(f"{live}/pass", data=tap, headers={"HX-Request": "true"}).text
        taken.append(time.perf_counter() - started)
    assert "All passes logged" in shown
    return taken
