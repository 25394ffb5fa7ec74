"""A used database for every attack: the invented demo, a program under way, a day, a sheet, an own rulebook."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app.live.fold import LiveState
from app.main import create_app, let_go
from app.review.official import sheet_json
from app.review.sheet_import import read_text
from app.rulebook.editions import SHELF
from app.settings import Settings
from app.storage.stores import open_stores
from app.web.jobs import Job, Jobs, Progress
from app.web.policy_desk import Order, Place, PolicyDesk
from tests import databases
from tests.fuzz.hostile import FREE

T = TypeVar("T")

SHEET = """\
1 3Lz+3T 10.10 0.59 1 1 1 1 1 10.69
2 3F 5.30 0.53 1 1 1 1 1 5.83
15.40 16.52
"""
"""Two invented rows; base values of the published scale (3Lz 5.90, 3T 4.20, 3F 5.30)."""


def _use(laptop: TestClient) -> None:
    """Use a little of everything, so that the attacked addresses exist."""
    sheet = json.dumps(sheet_json(read_text(SHEET).sheets[0].sheet))
    steps: tuple[tuple[str, dict[str, str]], ...] = (
        ("/live", {"layout_id": "1", "kind": "run-through"}),
        ("/live/1/music", {"event_id": "e0"}),
        ("/live/1/pass", {"event_id": "e1", "number": "1", "tap": "3Lz+3T lost-2"}),
        ("/live/1/pass", {"event_id": "e2", "number": "2", "tap": "3F planned"}),
        ("/live/1/undo", {"event_id": "e3", "number": "2", "of": "e2"}),
        ("/live", {"layout_id": "1", "kind": "competition", "event": "Invented Cup"}),
        ("/live/2/hurt", {"event_id": "e4"}),
        ("/day", {"name": "Invented Cup"}),
        ("/day/1/starts", {"a": "1"}),
        ("/day/1/starts", {"a": "3"}),
        ("/sheets", {"edition": FREE, "skater_id": "1", "program_id": "1", "sheet": sheet}),
        ("/rulebooks/own", {"of": FREE, "title": "Club cup", "values": ""}),
        ("/skaters/1/log", {"element_id": "1", "fate": "clean", "sending": "aaaaaaaa-1"}),
    )
    for path, form in steps:
        answer = laptop.post(path, data=form)
        assert answer.status_code == 303, f"{path}: {answer.status_code} {answer.text[-400:]}"


class Idle(Jobs):
    """A desk where nothing is ever worked out: what is reckoned does not come from the form, and takes seconds."""

    def start(self, key: str, work: Callable[[Progress], T], *, again: bool = False) -> Job[T]:
        return Job()


class IdlePolicies(PolicyDesk):
    """The same for policies."""

    def find(self, key: str, state: LiveState, order: Callable[[], Order]) -> Place | None:
        return None


@pytest.fixture(scope="session")
def used_app(
    migrated_file: Path, used_on_server: tuple[str, str], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[FastAPI]:
    """The app on a used database; `used` puts that back as it was for every test."""
    folder, (address, before) = tmp_path_factory.mktemp("used"), used_on_server
    shutil.copy(migrated_file, folder / migrated_file.name)
    app = create_app(
        Settings(data_dir=folder, database_url=address, seed_demo=True, seed_season=False, open_browser=False)
    )
    desks = app.state.jobs, app.state.policy_desk
    app.state.jobs, app.state.policy_desk = Idle(), IdlePolicies()
    _use(_client(app))
    app.state.database.engine.dispose()
    if address:
        databases.replaced(before, address)
    else:
        shutil.copytree(folder, folder / "before", ignore=shutil.ignore_patterns("before"))
    yield app
    let_go(app)
    for desk in desks:
        desk.close()


@pytest.fixture(scope="session")
def used_on_server(on_server: str) -> Iterator[tuple[str, str]]:
    """The addresses of the used database on PostgreSQL and of what it is put back to; "" where tests use SQLite."""
    if not on_server:
        yield "", ""
        return
    with databases.made("used") as address, databases.made("before") as before:
        yield databases.migrated(address), before


def _client(app: FastAPI) -> TestClient:
    return TestClient(
        app,
        base_url="http://localhost:8000",
        client=("127.0.0.1", 50_000),
        follow_redirects=False,
        headers={"accept": "text/html", "sec-fetch-site": "same-origin"},
    )


@pytest.fixture
def used(used_app: FastAPI, used_on_server: tuple[str, str]) -> TestClient:
    """The laptop's browser on the used database. What the server raises is raised here."""
    database, (address, before) = used_app.state.database, used_on_server
    database.engine.dispose()
    if address:
        databases.replaced(address, before)
    else:
        _put_back(database.file)
    SHELF.own.clear()
    SHELF.kept.clear()
    with open_stores(database) as stores:
        stores.rulebooks.fill(SHELF)
    return _client(used_app)


def _put_back(file: Path) -> None:
    for one in file.parent.glob(f"{file.name}*"):
        one.unlink()
    shutil.copytree(file.parent / "before", file.parent, dirs_exist_ok=True)
