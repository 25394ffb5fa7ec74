"""Shared fixtures: a fresh database for every test, and doors into the app as a laptop or a phone knocks."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from fastapi import FastAPI
from hypothesis import settings
from starlette.testclient import TestClient

from app.main import create_app, let_go
from app.rulebook.editions import SHELF
from app.settings import Settings
from app.storage.database import Database
from app.storage.stores import Stores, open_stores
from tests import databases

settings.register_profile("patient", deadline=None)
"""For runs that take longer by themselves, such as those under coverage (scripts/cover.py)."""
LAPTOP_ADDRESS = "127.0.0.1"
PORT = 8000
Knock = Callable[..., TestClient]


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """On a server only what uses it: a test without a database, or about the SQLite file, is done without one."""
    if databases.SERVER:
        wanted = [one for one in items if _is_for_a_server(one)]
        config.hook.pytest_deselected(items=[one for one in items if one not in wanted])
        items[:] = wanted


def _is_for_a_server(item: pytest.Item) -> bool:
    return "on_server" in getattr(item, "fixturenames", ()) and not item.get_closest_marker("file_database")


@pytest.fixture(autouse=True)
def bare_shelf(request: pytest.FixtureRequest) -> Iterator[None]:
    """No test finds the own rulebooks of another; those in the browser share one running server, and its shelf."""
    yield
    if request.node.get_closest_marker("browser") is None:
        SHELF.own.clear()
        SHELF.kept.clear()
        SHELF.look_again.clear()


@pytest.fixture(scope="session")
def on_server() -> Iterator[str]:
    """The address of this process's database on PostgreSQL; "" where tests run on SQLite."""
    if not databases.SERVER:
        yield ""
        return
    with databases.made("test") as address:
        yield databases.migrated(address)


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty database with all tables, made once and copied for each test."""
    file = tmp_path_factory.mktemp("database") / "recoup.sqlite3"
    database = Database(file)
    database.migrate()
    database.close()
    return file


@pytest.fixture
def data_dir(migrated_file: Path, tmp_path: Path) -> Path:
    """A data folder of this test's own, holding an empty, migrated database."""
    shutil.copy(migrated_file, tmp_path / migrated_file.name)
    return tmp_path


@pytest.fixture
def own_settings(request: pytest.FixtureRequest, data_dir: Path, on_server: str) -> Settings:
    """Settings for this test's own database, empty and migrated; on PostgreSQL where tests run there."""
    about_the_file = request.node.get_closest_marker("file_database") is not None
    address = databases.emptied(on_server) if on_server and not about_the_file else ""
    return Settings(
        data_dir=data_dir, database_url=address, seed_demo=False, seed_season=False, open_browser=False
    )


@pytest.fixture
def database(own_settings: Settings) -> Iterator[Database]:
    """This test's own database."""
    opened = Database(own_settings.database)
    yield opened
    opened.close()


@pytest.fixture
def made_app(own_settings: Settings) -> Iterator[Callable[..., FastAPI]]:
    """`made_app(seed_demo=True)`: an app over this test's own database; called again, as after a restart."""
    made: list[FastAPI] = []

    def make(**chosen: bool) -> FastAPI:
        made.append(create_app(replace(own_settings, **chosen)))
        return made[-1]

    yield make
    for app in made:
        let_go(app)


@pytest.fixture
def stores(database: Database) -> Iterator[Stores]:
    """The stores over this test's own database."""
    with open_stores(database) as opened:
        yield opened


@pytest.fixture
def web_app(made_app: Callable[..., FastAPI]) -> FastAPI:
    """The app over this test's own database, without the demo."""
    return made_app()


@pytest.fixture
def demo_app(made_app: Callable[..., FastAPI]) -> FastAPI:
    """The app over this test's own database, with the invented demo skater in it."""
    return made_app(seed_demo=True)


def _knock(app: FastAPI, *, client: str = LAPTOP_ADDRESS, host: str = f"localhost:{PORT}") -> TestClient:
    return TestClient(
        app,
        base_url=f"http://{host}",
        client=(client, 50_000),
        follow_redirects=False,
        headers={
            "accept": "text/html",
            "sec-fetch-site": "same-origin",
        },  # as a browser on our own pages says
    )


@pytest.fixture
def knock() -> Knock:
    """`knock(app, client=address, host=name)`: a client calling from there; redirects are not followed."""
    return _knock


@pytest.fixture
def laptop(web_app: FastAPI) -> TestClient:
    """The browser on the laptop itself, on an empty database."""
    return _knock(web_app)


@pytest.fixture
def demo_laptop(demo_app: FastAPI) -> TestClient:
    """The browser on the laptop itself, with the demo skater."""
    return _knock(demo_app)
