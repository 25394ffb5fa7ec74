"""What disk and clock may do in the middle of a program: said in plain words, and nothing that was answered is lost.

SQLite's own limit on pages stands for a full disk: both end in SQLITE_FULL ("Result and Error Codes", sqlite.org).
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from sqlalchemy import event, text
from starlette.testclient import TestClient

from app.errors import StorageTrouble
from app.main import create_app
from app.settings import Settings
from app.storage.backups import check
from app.storage.database import Database
from app.storage.stores import Stores, open_stores
from app.web import live_log

NOBODY = 65534
HTMX = {"HX-Request": "true", "HX-Request-Type": "partial"}
pytestmark = pytest.mark.file_database


def started(laptop: TestClient) -> str:
    return laptop.post("/live", data={"layout_id": 1, "kind": "run-through"}).headers["location"]


def tap(laptop: TestClient, live: str, count: int) -> int:
    """The count-th tap; after six passes again from the first, which is kept as well."""
    form = {"number": 1 + (count - 1) % 6, "tap": "left out", "event_id": f"e{count}"}
    return laptop.post(f"{live}/pass", data=form).status_code


def logged(laptop: TestClient, live: str) -> list[str]:
    return [entry["id"] for entry in laptop.get(f"{live}/log?after=0").json()]


@pytest.fixture
def most_pages(demo_app: FastAPI) -> Callable[[int | None], None]:
    """`most_pages(n)`: how many pages the file may have from now on; None: as many as it likes."""
    database: Database = demo_app.state.database
    limit: list[int] = [1 << 30]

    def bounded(connection: Any, *_more: Any) -> None:
        connection.execute(f"PRAGMA max_page_count={limit[0]}")

    event.listen(database.engine, "checkout", bounded)

    def change(pages: int | None) -> None:
        limit[0] = pages or 1 << 30

    return change


def test_a_full_disk_says_so_and_the_same_tap_counts_once_when_there_is_room(
    demo_laptop: TestClient, demo_app: FastAPI, most_pages: Callable[[int | None], None]
) -> None:
    live = started(demo_laptop)
    assert tap(demo_laptop, live, 1) == 303
    with demo_app.state.database.engine.connect() as connection:
        pages = connection.execute(text("PRAGMA page_count")).scalar_one()
    most_pages(pages)
    answered = 1
    while (status := tap(demo_laptop, live, answered + 1)) == 303:
        answered += 1
        assert answered < 500, "the disk is never full"
    assert status == 507
    form = {"number": 2, "tap": "left out", "event_id": "more"}
    refused = demo_laptop.post(f"{live}/pass", data=form, headers=HTMX)
    assert refused.status_code == 507
    assert "The disk is full, so this was not saved. Nothing that was saved before is lost." in refused.text
    # What was answered is there, and the board can still be read.
    assert logged(demo_laptop, live) == [f"e{n}" for n in range(1, answered + 1)]
    assert demo_laptop.get(live).status_code == 200
    most_pages(None)
    assert tap(demo_laptop, live, answered + 1) == 303
    assert tap(demo_laptop, live, answered + 1) == 303
    assert logged(demo_laptop, live) == [f"e{n}" for n in range(1, answered + 2)]
    check(demo_app.state.database.file)


def test_a_disk_full_under_a_copy_leaves_no_half_copy(
    demo_app: FastAPI, demo_laptop: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_number: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    answer = demo_laptop.post("/backups")
    assert answer.status_code == 507
    assert "The disk is full, so this was not saved." in answer.text
    assert list(demo_app.state.database.backups.folder.iterdir()) == []


@pytest.fixture
def foreign_folder() -> Iterator[Path]:
    """A folder that may be read by all and written by nobody but its owner; this process is not its owner meanwhile."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        database = Database(folder / "recoup.sqlite3")
        database.migrate()
        database.close()
        (folder / "recoup.sqlite3").chmod(0o644)
        root = os.geteuid() == 0
        folder.chmod(0o755 if root else 0o555)
        if root:
            os.seteuid(NOBODY)
        try:
            yield folder
        finally:
            if root:
                os.seteuid(0)
            folder.chmod(0o755)


def test_a_folder_that_may_not_be_written_is_said_at_the_start(foreign_folder: Path) -> None:
    with pytest.raises(StorageTrouble, match=r"(may not write here|cannot be opened).*recoup\.sqlite3"):
        create_app(Settings(data_dir=foreign_folder))
    with pytest.raises(StorageTrouble, match="may not write here"):
        create_app(Settings(data_dir=foreign_folder / "new"))


def test_a_damaged_file_is_said_at_the_start_and_left_as_it_is(tmp_path: Path) -> None:
    file = tmp_path / "recoup.sqlite3"
    file.write_bytes(b"this was a database once, " * 500)
    before = file.read_bytes()
    with pytest.raises(StorageTrouble, match=r"damaged: .*left as it is.*python -m app restore"):
        create_app(Settings(data_dir=tmp_path))
    assert file.read_bytes() == before


def test_a_damaged_page_is_said_at_the_start(data_dir: Path) -> None:
    file = data_dir / "recoup.sqlite3"
    content = bytearray(file.read_bytes())
    # Everything behind the first page, which holds the list of tables.
    content[4096:] = b"\xff" * (len(content) - 4096)
    file.write_bytes(content)
    with pytest.raises(StorageTrouble, match="damaged"):
        create_app(Settings(data_dir=data_dir))


def test_a_clock_that_jumps_back_in_a_program_loses_no_pass(
    demo_laptop: TestClient, stores: Stores, monkeypatch: pytest.MonkeyPatch
) -> None:
    live = started(demo_laptop)
    number = int(live.rsplit("/", 1)[1])
    demo_laptop.post(f"{live}/music", data={"event_id": "music"})
    assert [tap(demo_laptop, live, n) for n in (1, 2)] == [303, 303]

    class Earlier(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Earlier:
            return super().now(tz) - timedelta(hours=3)

    monkeypatch.setattr(live_log, "datetime", Earlier)
    assert [tap(demo_laptop, live, n) for n in (3, 4)] == [303, 303]
    monkeypatch.undo()
    assert tap(demo_laptop, live, 5) == 303
    entries = stores.live.events(number)
    assert [entry.seq for entry in entries] == [1, 2, 3, 4, 5, 6]
    assert [entry.id for entry in entries] == ["music", "e1", "e2", "e3", "e4", "e5"]
    sheet = live_log.sheet_of(stores, number)
    assert [one.number for one in sheet.state.logged] == [1, 2, 3, 4, 5]
    # A moment before the music began: in which half says the plan, as it does without a clock.
    planned = [one.late for one in sheet.state.plan.passes]
    assert list(sheet.state.late)[2:4] == planned[2:4]


def test_a_code_made_in_the_future_lets_nobody_in(database: Database) -> None:
    now = datetime(2026, 11, 28, 12, tzinfo=UTC)
    with open_stores(database) as stores:
        stores.devices.new_code("hash", now, now + timedelta(minutes=10))
        assert stores.devices.open_code(now) is not None
        assert stores.devices.open_code(now - timedelta(days=1)) is None
