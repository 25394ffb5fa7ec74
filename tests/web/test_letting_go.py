"""An app that was made and ends gives everything back: no connection to its database, nothing that still works."""

from __future__ import annotations

import time
from pathlib import Path
from threading import Event

from fastapi import FastAPI
from starlette.testclient import TestClient

from app.main import let_go
from app.storage.database import Database
from app.web.jobs import Progress
from tests import databases


def connections(database: Database) -> int:
    """How many connections this process has to that database: the server counts them, or the kernel (proc(5))."""
    if database.file is None:
        address = database.engine.url.render_as_string(hide_password=False)
        with databases.connected(address) as server:
            query = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()"
            (row,) = server.execute(f"{query} AND pid <> pg_backend_pid()")
            return int(row[0])
    files = (one for one in Path("/proc/self/fd").iterdir() if one.exists())
    return sum(str(one.readlink()) == str(database.file) for one in files)


def test_nothing_is_connected_any_more__bug_left_open(demo_app: FastAPI, demo_laptop: TestClient) -> None:
    """Used to be: an app that was made and never ran kept its line for news, and whatever its desks had opened."""
    database, working = demo_app.state.database, Event()

    def work(progress: Progress) -> None:
        while True:
            working.set()
            progress(0.5, "half")
            time.sleep(0.01)

    live = demo_laptop.post("/live", data={"layout_id": 1, "kind": "run-through"}).headers["location"]
    demo_laptop.post(f"{live}/pass", data={"number": 1, "tap": "left out", "event_id": "e1"})
    demo_laptop.get(f"{live}/policy/here")  # begins to make one
    demo_app.state.jobs.start("endless", work)
    assert working.wait(20)
    assert connections(database) > 0
    let_go(demo_app)
    until = time.monotonic() + 10  # the server needs a moment to see that a line is closed
    while connections(database) and time.monotonic() < until:
        time.sleep(0.05)
    assert connections(database) == 0
    assert demo_app.state.jobs.get("endless").done
    let_go(demo_app)  # once more does no harm
