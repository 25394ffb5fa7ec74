"""The page of copies, for the laptop; the same from the command line."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app.__main__ import main
from app.settings import PROJECT
from app.storage.backups import Backups
from app.storage.database import Database
from app.storage.folder_lock import FolderLock
from app.storage.stores import open_stores
from tests.web.test_server import HTML, running

Printed = pytest.CaptureFixture[str]
NOW = datetime(2026, 11, 28, 5, 30, tzinfo=UTC)
pytestmark = pytest.mark.file_database


def test_a_copy_is_made_looked_into_and_brought_back(demo_laptop: TestClient, demo_app: FastAPI) -> None:
    assert "There is no copy yet" in demo_laptop.get("/backups").text
    made = demo_laptop.post("/backups")
    assert made.headers["location"] == "/backups?news=made"
    (copy,) = demo_app.state.database.backups.all()
    demo_laptop.post("/skaters", data={"name": "S. Ince"})
    shown = demo_laptop.get("/backups?news=made").text
    assert "The copy is made and checked." in shown
    assert copy.name in shown
    asked = demo_laptop.get(f"/backups/{copy.name}").text
    assert '<th scope="row">Skaters</th><td>1</td><td>2</td>' in asked
    calls = demo_app.state.hub.hung_up
    back = demo_laptop.post(f"/backups/{copy.name}/restore")
    assert back.headers["location"] == "/backups?news=back"
    assert "S. Ince" not in demo_laptop.get("/").text
    assert demo_app.state.hub.hung_up == calls + 1, "open screens fetch everything anew"
    assert "Made before a copy was brought back" in demo_laptop.get("/backups?news=back").text


def test_a_damaged_copy_can_be_looked_at_and_not_brought_back(
    demo_laptop: TestClient, demo_app: FastAPI
) -> None:
    demo_laptop.post("/backups")
    (copy,) = demo_app.state.database.backups.all()
    copy.file.write_bytes(b"gone, " * 2000)
    asked = demo_laptop.get(f"/backups/{copy.name}").text
    assert "damaged" in asked
    assert "Bring it back" not in asked
    assert demo_laptop.post(f"/backups/{copy.name}/restore").status_code == 507


def test_an_unknown_copy_is_said(demo_laptop: TestClient) -> None:
    assert demo_laptop.get("/backups/yesterday").status_code == 422
    assert demo_laptop.post("/backups/..%2Frecoup.sqlite3/restore").status_code in (404, 422)


def test_the_first_page_leads_there(demo_laptop: TestClient) -> None:
    assert 'href="/backups"' in demo_laptop.get("/").text


def test_why_the_daily_copy_failed_stands_on_the_page(demo_laptop: TestClient, demo_app: FastAPI) -> None:
    demo_app.state.daily.trouble = "The disk is full."
    assert "<b>Today's copy could not be made.</b> The disk is full." in demo_laptop.get("/backups").text


def test_backup_and_restore_on_the_command_line(data_dir: Path, capsys: Printed) -> None:
    place = ["--data-dir", str(data_dir)]
    with_one = Database(data_dir / "recoup.sqlite3")
    with open_stores(with_one) as stores:
        stores.skaters.add("A")
    with_one.close()
    assert main(["restore", *place]) == 0
    assert "No copies in" in capsys.readouterr().out
    assert main(["backup", *place]) == 0
    file = Path(capsys.readouterr().out.strip())
    assert file.exists()
    (data_dir / "recoup.sqlite3").write_bytes(b"gone, " * 2000)
    assert main(["restore", *place]) == 0
    assert f"{file.name}   1 skaters, 0 layouts, 0 live programs" in capsys.readouterr().out
    assert main(["restore", "nothing", *place]) == 2
    assert f"expected one of: {file.name}" in capsys.readouterr().err
    assert main(["restore", file.name, *place]) == 0
    assert "The damaged file was kept beside it." in capsys.readouterr().out
    back = Database(data_dir / "recoup.sqlite3")
    with open_stores(back) as stores:
        assert [one.name for one in stores.skaters.all()] == ["A"]
    back.close()


def test_nothing_is_restored_under_a_running_server(data_dir: Path, capsys: Printed) -> None:
    made = Backups(data_dir / "recoup.sqlite3").make("asked", NOW)
    lock = FolderLock(data_dir)
    lock.take()
    lock.announce("http://127.0.0.1:8000/")
    assert main(["restore", made.name, "--data-dir", str(data_dir)]) == 2
    assert "Recoup runs on" in (said := capsys.readouterr().err)
    assert "http://127.0.0.1:8000/" in said
    lock.free()


def test_without_a_database_there_is_nothing_to_copy(tmp_path: Path, capsys: Printed) -> None:
    assert main(["backup", "--data-dir", str(tmp_path)]) == 2
    assert "there is no database in" in capsys.readouterr().err


def test_a_second_server_on_the_same_folder_says_where_the_first_is(tmp_path: Path) -> None:
    with running("--port", "0", "--data-dir", str(tmp_path)) as (first, address):
        again = subprocess.run(
            [
                sys.executable,
                "-m",
                "app",
                "serve",
                "--no-browser",
                "--port",
                "0",
                "--data-dir",
                str(tmp_path),
            ],
            cwd=PROJECT,
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert again.returncode == 3
        assert f"Recoup already runs on {tmp_path} (process {first.pid}): {address}" in again.stdout
        assert httpx.get(address, headers=HTML).status_code == 200


def test_a_server_makes_the_copy_of_the_day_at_its_start(tmp_path: Path) -> None:
    with running("--port", "0", "--data-dir", str(tmp_path)):
        pass
    assert [one.reason for one in Backups(tmp_path / "recoup.sqlite3").all()] == ["daily"]
