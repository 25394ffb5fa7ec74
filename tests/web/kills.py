"""Kill the server at random moments while a program is logged, and count what is lost or doubled.

A phone logs pass after pass over HTTP as the page does: each tap carries an id of its own and is sent until it is
answered. Meanwhile the server gets SIGKILL after a drawn time and is started again on the same data. Afterwards the
log is read: every answered tap has to be there, once, in the order it was sent. The server is forked from a process
that has loaded the app already, so that a start takes no seconds.
"""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import time
from dataclasses import dataclass, field
from multiprocessing import get_context
from multiprocessing.context import ForkServerContext
from multiprocessing.process import BaseProcess
from pathlib import Path
from random import Random
from threading import Event, Thread
from urllib.parse import urlencode

import uvicorn

from app import engine
from app.main import create_app
from app.settings import Settings

ANSWER_SECONDS = 120
MOST_SECONDS = 1.0
"""A server that answers lives at most this long."""
TAPS = 30
"""Taps a program."""

engine.edition("isu/2026-27/senior/women/free")  # read once, before the forks


def serve(folder: Path, port: int) -> None:
    """The app on one data folder and one port; its loops are not warmed, for nobody asks for advice here."""
    engine.warm = lambda: None
    app = create_app(Settings(data_dir=folder, seed_season=False, open_browser=False))
    uvicorn.run(app, host="127.0.0.1", port=port, log_level="critical")


def forks() -> ForkServerContext:
    """Processes from one that has this module loaded."""
    context = get_context("forkserver")
    context.set_forkserver_preload([__name__])
    return context


@dataclass
class Server:
    """The app as a process of its own."""

    folder: Path
    port: int
    processes: ForkServerContext = field(default_factory=forks)
    process: BaseProcess | None = None

    def start(self) -> None:
        """Start it and wait until it answers."""
        self.process = self.processes.Process(target=serve, args=(self.folder, self.port), daemon=True)
        self.process.start()
        deadline = time.monotonic() + ANSWER_SECONDS
        while time.monotonic() < deadline:
            try:
                self.ask("GET", "/pair")
                return
            except OSError:
                time.sleep(0.02)
        raise AssertionError(f"the server does not answer within {ANSWER_SECONDS} s")

    def kill(self) -> None:
        """SIGKILL: no goodbye, no flush."""
        if self.process is not None and self.process.pid is not None:
            os.kill(self.process.pid, signal.SIGKILL)
            self.process.join()

    def ask(self, method: str, path: str, form: dict[str, str] | None = None) -> tuple[int, str, str]:
        """Status, text and Location of an answer. Raises OSError when there is none."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=ANSWER_SECONDS)
        try:
            headers = {"Content-Type": "application/x-www-form-urlencoded", "Accept": "text/html"}
            headers["Origin"] = f"http://127.0.0.1:{self.port}"
            connection.request(method, path, urlencode(form) if form else None, headers)
            answer = connection.getresponse()
            return answer.status, answer.read().decode(), answer.headers.get("Location", "")
        except http.client.HTTPException as error:
            raise ConnectionError(str(error)) from error
        finally:
            connection.close()


@dataclass
class Found:
    """What came of it."""

    kills: int = 0
    answered: list[tuple[str, str]] = field(default_factory=list)
    """Address of the program and id of each answered tap, in order."""
    tries: int = 0
    lost: int = 0
    doubled: int = 0
    disordered: int = 0

    @property
    def is_good(self) -> bool:
        """Nothing lost, doubled or out of order."""
        return not (self.lost or self.doubled or self.disordered)


def free_port() -> int:
    """A port nobody uses now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def run(kills: int, seed: int, folder: Path) -> Found:
    """Log programs until the server was killed `kills` times, then read the logs."""
    random, found, over = Random(seed), Found(), Event()
    server = Server(folder, free_port())
    server.start()
    killer = Thread(target=_kill_again_and_again, args=(server, kills, random, found, over))
    killer.start()
    while not over.is_set():
        _log_a_program(server, found, over)
    killer.join()
    _read_logs(server, found)
    server.kill()
    return found


def _kill_again_and_again(server: Server, kills: int, random: Random, found: Found, over: Event) -> None:
    try:
        for _ in range(kills):
            time.sleep(random.uniform(0.0, MOST_SECONDS))
            server.kill()
            found.kills += 1
            server.start()
    finally:
        over.set()


def _log_a_program(server: Server, found: Found, over: Event) -> None:
    """A run-through of the demo's first layout, some taps long; a pass logged twice is kept twice, as it should be."""
    live = ""
    while not live and not over.is_set():
        try:
            live = server.ask("POST", "/live", {"layout_id": "1", "kind": "run-through"})[2]
        except OSError:
            time.sleep(0.02)
    for tap in range(TAPS):
        event_id = f"tap-{os.urandom(8).hex()}"
        form = {"number": str(1 + tap % 6), "tap": "left out", "event_id": event_id}
        while not over.is_set():
            found.tries += 1
            try:
                status, _, _ = server.ask("POST", f"{live}/pass", form)
            except OSError:
                time.sleep(0.02)
                continue
            if status < 400:
                found.answered.append((live, event_id))
                break


def _read_logs(server: Server, found: Found) -> None:
    for live in dict.fromkeys(live for live, _ in found.answered):
        sent = [event_id for where, event_id in found.answered if where == live]
        logged = [entry["id"] for entry in json.loads(server.ask("GET", f"{live}/log?after=0")[1])]
        found.lost += sum(event_id not in logged for event_id in sent)
        found.doubled += len(logged) - len(set(logged))
        found.disordered += [one for one in logged if one in sent] != [one for one in sent if one in logged]
