"""What workers tell one another: sealed, on both databases; jobs, policies and tries are one for all."""

from __future__ import annotations

import gzip
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest
from fastapi import FastAPI
from sqlalchemy import text
from sqlmodel import select
from starlette.testclient import TestClient

from app.errors import InputError
from app.live.fold import LiveState
from app.security.sealed import Seal, new_key
from app.storage import tables
from app.storage.database import Database
from app.storage.stores import Stores, open_stores
from app.web.jobs import Job, Jobs, Progress
from app.web.live_log import sheet_of
from app.web.notes import Notes
from app.web.policy_desk import Kept, Order, Place, PolicyDesk
from app.web.routes.policy import Asker
from app.web.shared_jobs import SharedJobs
from app.web.shared_pairing import SharedPairingDesk, SharedThrottle
from app.web.shared_policies import SharedPolicyDesk
from app.web.visitor import LAPTOP

Two = tuple[Notes, Notes]


@pytest.fixture
def two(database: Database) -> Two:
    """Notes of two workers of one start."""
    key = new_key()
    return Notes(database, Seal(key)), Notes(database, Seal(key))


def test_one_worker_reads_what_another_wrote_and_nobody_else_can(two: Two, database: Database) -> None:
    one, other = two
    one.put("kind", "key", {"name": "Quillfeather"})
    assert other.get("kind", "key") == {"name": "Quillfeather"}
    assert other.get("other kind", "key") is None
    assert Notes(database, Seal()).get("kind", "key") is None, "of another start"
    with database.session() as session:
        (row,) = session.exec(select(tables.WorkerNote))
    assert b"Quillfeather" not in row.sealed
    assert row.key != "key"


def test_a_note_somebody_else_has_changed_is_not_opened(two: Two, database: Database) -> None:
    two[0].put("kind", "key", 1)
    with database.session() as session:
        row = session.exec(select(tables.WorkerNote)).one()
        row.sealed = row.sealed[:-8] + b"AAAAAAA="
        session.add(row)
        session.commit()
    assert two[1].get("kind", "key") is None


def test_old_notes_are_not_heard_and_go(two: Two, database: Database) -> None:
    two[0].put("kind", "old", 1)
    assert two[1].get("kind", "old", timedelta(0)) is None
    with database.engine.begin() as connection:
        connection.execute(text("UPDATE worker_note SET at = '2020-01-01 00:00:00'"))
    two[0].put("kind", "new", 2)
    with database.session() as session:
        assert len(session.exec(select(tables.WorkerNote)).all()) == 1


def finished(desk: Jobs, key: str) -> Job[object]:
    deadline = time.monotonic() + 60
    while True:
        job = desk.get(key)
        if job is not None and job.done:
            return job
        assert time.monotonic() < deadline
        time.sleep(0.02)


def test_a_job_runs_once_and_every_worker_has_its_answer(two: Two) -> None:
    here, there, runs = SharedJobs(two[0]), SharedJobs(two[1]), []

    def work(progress: Progress) -> str:
        runs.append(1)
        progress(0.5, "half")
        return "the answer"

    here.start("card 7", work)
    assert finished(there, "card 7").result == "the answer"
    assert there.start("card 7", work).result == "the answer"
    assert runs == [1]
    here.close()
    there.close()


def test_a_failed_job_can_be_begun_again_by_another_worker(two: Two) -> None:
    here, there = SharedJobs(two[0]), SharedJobs(two[1])

    def fails(progress: Progress) -> str:
        raise InputError("layout", "not so")

    here.start("k", fails)
    assert finished(there, "k").fault == "layout: not so"
    assert there.start("k", lambda progress: "yes").fault == "layout: not so"
    there.start("k", lambda progress: "yes", again=True)
    assert finished(there, "k").result == "yes"
    here.close()
    there.close()


def test_a_job_of_a_worker_that_died_is_begun_anew(two: Two, database: Database) -> None:
    there = SharedJobs(two[1])
    two[0].put("job", "k", ("dead", Job(share=0.4, words="half")))
    assert there.start("k", lambda progress: "no").share == 0.4
    with database.engine.begin() as connection:
        connection.execute(text("UPDATE worker_note SET at = :then"), {"then": _a_minute_ago()})
    there.start("k", lambda progress: "yes")
    assert finished(there, "k").result == "yes"
    there.close()


def _a_minute_ago() -> object:
    return (datetime.now(UTC) - timedelta(minutes=1)).replace(tzinfo=None)


def test_tries_are_counted_over_all_workers(two: Two) -> None:
    clock: Callable[[], float] = lambda: 1000.0  # noqa: E731
    here, there = SharedThrottle(two[0], clock), SharedThrottle(two[1], clock)
    waits = [(here if n % 2 else there).take("198.51.100.7") for n in range(6)]
    assert waits[:5] == [0.0] * 5
    assert waits[5] == 60.0


def test_a_code_is_shown_and_taken_by_any_worker(two: Two, database: Database) -> None:
    here, there, now = SharedPairingDesk(two[0]), SharedPairingDesk(two[1]), datetime.now(UTC)
    with open_stores(database) as stores:
        code = here.offer(stores.devices, now, "logger")
        assert there.shown(stores.devices, now) == code
        assert there.accept(stores.devices, "198.51.100.7", code.signs, "boards", now)
        assert here.shown(stores.devices, now) is None


def found_at(desk: PolicyDesk, order: Order, state: LiveState) -> Place:
    deadline = time.monotonic() + 60
    while True:
        place = desk.find(order.key, state, lambda: order)
        if place is not None:
            return place
        assert time.monotonic() < deadline
        time.sleep(0.05)


@dataclass
class Boards:
    """A live program of the demo, and the orders of its policies."""

    app: FastAPI
    laptop: TestClient
    stores: Stores
    live: str = ""
    number: int = 0

    def start(self) -> Boards:
        sent = {"layout_id": 1, "kind": "run-through"}
        self.live = self.laptop.post("/live", data=sent).headers["location"]
        self.number = int(self.live.rsplit("/", 1)[1])
        return self

    def log_a_pass(self) -> None:
        sent = {"number": 1, "tap": "3Lz+3T planned", "event_id": "one"}
        assert self.laptop.post(f"{self.live}/pass", data=sent).status_code == 303

    def now(self) -> tuple[Order, LiveState]:
        sheet = sheet_of(self.stores, self.number)
        return Asker(sheet, LAPTOP, "en").order(self.app.state.advisor), sheet.state


@pytest.fixture
def boards(demo_app: FastAPI, demo_laptop: TestClient, stores: Stores) -> Boards:
    return Boards(demo_app, demo_laptop, stores).start()


class CountingDesk(SharedPolicyDesk):
    """Counts what it makes itself."""

    made_here = 0

    def made(self, order: Order, state: LiveState, version: str) -> Kept:
        self.made_here += 1
        return super().made(order, state, version)


def test_a_policy_is_made_once_and_is_the_same_at_every_worker_also_further_on(
    boards: Boards, two: Two
) -> None:
    here, there = CountingDesk(two[0]), CountingDesk(two[1])
    start = found_at(here, *boards.now())
    boards.log_a_pass()
    order, state = boards.now()
    # The other worker hears of this program only now, a pass later.
    assert found_at(there, order, state) == found_at(here, order, state)
    assert found_at(there, order, state).version == start.version
    assert (here.made_here, there.made_here) == (1, 0)
    number = boards.number
    texts = [
        gzip.decompress(desk.packed(start.version, number, "advice", "coach") or b"")
        for desk in (here, there)
    ]
    assert texts[0] == texts[1] != b""
    assert there.packed(start.version, number, "advice", "viewer") is None
    assert there.packed(start.version, number + 1, "advice", "coach") is None
    here.close()
    there.close()


def test_a_policy_begun_elsewhere_is_waited_for_and_begun_anew_when_that_worker_has_died(
    boards: Boards, two: Two, database: Database
) -> None:
    here, (order, state) = CountingDesk(two[0]), boards.now()
    two[1].put("policy begun", order.key, "a worker that dies")
    assert here.make(order, state) is None
    assert here.make(order, state) is None
    with database.engine.begin() as connection:
        connection.execute(text("UPDATE worker_note SET at = :then"), {"then": _a_minute_ago()})
    assert here.make(order, state) is not None
    assert here.made_here == 1
    assert two[1].get("policy begun", order.key) is None, "done: the next one may be begun at once"
    here.close()
