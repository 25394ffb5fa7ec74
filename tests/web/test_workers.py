"""Several workers over one PostgreSQL database: real processes, one address, and SIGKILL for one of them."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from typing import Any

import httpx
import pytest

from app.settings import PROJECT
from tests import databases

pytestmark = [
    pytest.mark.skipif(not databases.SERVER, reason="needs PostgreSQL: scripts/postgres sets it up"),
    pytest.mark.usefixtures("on_server"),
]
PATIENCE = 90.0
SEND = {"accept": "text/html", "sec-fetch-site": "same-origin"}


@contextmanager
def started(folder: Path, address: str, *flags: str) -> Iterator[tuple[subprocess.Popen[str], str, str]]:
    """A server with two workers: the process, its own address, and what the proxy is told."""
    command = [sys.executable, "-m", "app", "serve", "--no-browser", "--port", "0", "--workers", "2"]
    with subprocess.Popen(
        [*command, "--data-dir", str(folder), *flags],
        cwd=PROJECT,
        env={**os.environ, "DATABASE_URL": address, "RECOUP_SEED_SEASON": "no"},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as process:
        assert process.stdout is not None
        try:
            found = re.search(r"http://\S+", process.stdout.readline())
            assert found is not None
            public = process.stdout.readline() if flags else ""
            yield process, found[0].rstrip("/"), public
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(30)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[subprocess.Popen[str], str, str]]:
    with (
        databases.made("workers") as address,
        started(tmp_path_factory.mktemp("club"), address, "--address", "https://recoup.example") as running,
    ):
        yield running


def workers_of(process: subprocess.Popen[str]) -> set[int]:
    """The processes of the workers: children that run the server, not what watches over shared memory."""
    children = subprocess.run(
        ["ps", "-ww", "-o", "pid=", "-o", "args=", "--ppid", str(process.pid)],
        capture_output=True,
        text=True,
        check=True,
    )
    return {int(line.split()[0]) for line in children.stdout.splitlines() if "spawn_main" in line}


def until(holds: Any, what: str) -> None:
    deadline = time.monotonic() + PATIENCE
    while not holds():
        assert time.monotonic() < deadline, what
        time.sleep(0.1)


def fresh(address: str) -> httpx.Client:
    """A client with a connection of its own, which one worker or the other takes."""
    return httpx.Client(base_url=address, headers=SEND, timeout=PATIENCE, trust_env=False)


def log(address: str, live: str, event_id: str, number: int) -> int:
    with fresh(address) as client:
        try:
            form = {"number": number, "tap": "left out", "event_id": event_id}
            return client.post(f"{live}/pass", data=form).status_code
        except httpx.TransportError:
            return 0


def begun(address: str) -> str:
    with fresh(address) as client:
        return str(client.post("/live", data={"layout_id": 1, "kind": "run-through"}).headers["location"])


def logged(address: str, live: str) -> list[str]:
    with fresh(address) as client:
        return [entry["id"] for entry in client.get(f"{live}/log?after=0").json()]


def test_what_one_worker_logs_is_heard_at_both(server: tuple[subprocess.Popen[str], str, str]) -> None:
    _, address, _ = server
    live, heard, clients = begun(address), [list[str]() for _ in range(8)], []

    def listen(place: int) -> None:
        with fresh(address) as client, client.stream("GET", f"{live}/stream?seen=0", timeout=None) as stream:
            clients.append(stream)
            try:
                for line in stream.iter_lines():
                    if line.startswith("data: "):
                        heard[place].append(json.loads(line[6:])["id"])
            except (httpx.HTTPError, httpx.StreamError, OSError):
                return

    # Eight connections, so that both workers have some of them; that a stream waits for the next look is 15 s.
    threads = [Thread(target=listen, args=(place,), daemon=True) for place in range(8)]
    for one in threads:
        one.start()
    until(lambda: len(clients) == 8, "the streams do not open")
    sent = [f"e{number}" for number in range(1, 7)]
    for number, event_id in enumerate(sent, start=1):
        assert log(address, live, event_id, number) == 303
    until(lambda: all(one == sent for one in heard), f"not heard everywhere: {heard}")


def test_a_killed_worker_loses_nothing_that_was_answered(
    server: tuple[subprocess.Popen[str], str, str],
) -> None:
    process, address, _ = server
    live, answered = begun(address), []
    until(lambda: len(workers_of(process)) == 2, "there are not two workers")
    for count in range(60):
        if count in (10, 35):
            os.kill(min(workers_of(process)), signal.SIGKILL)
        event_id = f"k{count}"
        while log(address, live, event_id, 1 + count % 6) != 303:
            time.sleep(0.05)
        answered.append(event_id)
    assert logged(address, live) == answered
    until(lambda: len(workers_of(process)) == 2, "a killed worker is not replaced")


def test_a_program_has_one_policy_whichever_worker_is_asked(
    server: tuple[subprocess.Popen[str], str, str],
) -> None:
    _, address, _ = server
    live = begun(address)

    def asked() -> str | None:
        with fresh(address) as client:
            version: str | None = client.get(f"{live}/policy/here").json()["version"]
            return version

    until(lambda: all(asked() for _ in range(6)), "no policy is made")
    # One that has not grown it yet says nothing; nobody says another.
    versions = {asked() for _ in range(12)} - {None}
    assert len(versions) == 1
    for _ in range(8):
        with fresh(address) as client:
            assert client.get(f"{live}/policy/{versions.copy().pop()}").status_code == 200


def test_a_code_shown_by_one_worker_is_taken_by_another_and_tries_count_together(
    server: tuple[subprocess.Popen[str], str, str],
) -> None:
    _, address, public = server
    there = re.search(r"http://\S+", public)
    assert there is not None
    outside = {**SEND, "host": "recoup.example", "x-forwarded-for": "198.51.100.7"}
    with fresh(address) as laptop:
        laptop.post("/phones/code", data={"role": "logger"})
    shown = []
    for _ in range(6):
        with fresh(address) as laptop:
            shown += re.findall(r'class="code">(\S+)</b>', laptop.get("/phones").text)
    assert len(shown) == 6
    assert len(set(shown)) == 1
    with httpx.Client(base_url=there[0], headers=outside, timeout=PATIENCE, trust_env=False) as phone:
        paired = phone.post("/pair", data={"code": shown[0], "name": "boards"})
    assert paired.status_code == 303
    cookie = paired.headers["set-cookie"].partition(";")[0]
    for path, status in (("/live", 200), ("/skaters/1", 403)):
        with httpx.Client(base_url=there[0], headers=outside | {"cookie": cookie}, timeout=PATIENCE) as phone:
            assert phone.get(path).status_code == status
    tries = []
    for _ in range(8):
        with httpx.Client(base_url=there[0], headers=outside, timeout=PATIENCE, trust_env=False) as phone:
            tries.append(phone.post("/pair", data={"code": "wrong", "name": ""}).status_code)
    # Five a minute from one address (app/security/pairing.py), the right one above among them.
    assert tries == [422] * 4 + [429] * 4


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "elsewhere.example"])
def test_behind_the_proxy_nobody_is_the_laptop(
    server: tuple[subprocess.Popen[str], str, str], host: str
) -> None:
    """A proxy that passes on its own Host header would make everybody the coach."""
    there = re.search(r"http://\S+", server[2])
    assert there is not None
    with httpx.Client(base_url=there[0], headers={**SEND, "host": host}, timeout=PATIENCE) as anybody:
        assert anybody.get("/").status_code == 421
    with httpx.Client(base_url=there[0], headers={**SEND, "host": "recoup.example"}) as stranger:
        assert stranger.get("/").headers["location"] == "/pair"
