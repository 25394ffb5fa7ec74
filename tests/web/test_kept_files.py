"""The worker and the page that starts without the laptop: what they hold, who gets them, when they change."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app.web import kept_files
from tests.conftest import Knock


@pytest.fixture
def laptop(web_app: FastAPI, knock: Knock) -> TestClient:
    """The laptop's own browser."""
    return knock(web_app)


def script_of(laptop: TestClient) -> str:
    """The worker as the browser gets it."""
    answer = laptop.get("/worker.js")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "no-cache"
    return answer.text


def test_every_file_the_worker_keeps_is_there(laptop: TestClient) -> None:
    """One that is missing would make the browser refuse the whole worker."""
    files = json.loads(re.findall(r"const FILES = (.*);", script_of(laptop))[0])
    assert {"/static/app.css", "/static/live.js", "/static/start.js"} <= set(files)
    for path in [*files, "/alone"]:
        assert laptop.get(path).status_code == 200, path


def test_a_module_that_a_kept_one_needs_is_kept_too() -> None:
    kept = set(kept_files.kept_files())
    for file in kept_files.STATIC.glob("*.js"):
        if f"/static/{file.name}" in kept:
            needed = re.findall(r'(?:from|import\() ?"\./([a-z_]+\.js)"', file.read_text(encoding="utf-8"))
            assert {f"/static/{name}" for name in needed} <= kept, file.name


def test_another_file_is_another_version(
    laptop: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("worker.js", "live.js"):
        (tmp_path / name).write_text("// one", encoding="utf-8")
    monkeypatch.setattr(kept_files, "STATIC", tmp_path)
    seen = {script_of(laptop), script_of(laptop)}
    assert len(seen) == 1
    (tmp_path / "live.js").write_text("// two", encoding="utf-8")
    seen.add(script_of(laptop))
    laptop.cookies.set("recoup_language", "fr")
    seen.add(script_of(laptop))
    assert len({re.findall("VERSION = (.*);", one)[0] for one in seen}) == 3


def test_the_page_without_data_holds_none(demo_app: FastAPI, knock: Knock) -> None:
    text = knock(demo_app).get("/alone").text
    assert "Ostrelle" not in text
    assert "Keep the plan" not in text


def test_the_manifest_names_icons_that_are_there_in_their_size(laptop: TestClient) -> None:
    """Width and height stand in bytes 16 to 24 of a PNG (W3C PNG, section 11.2.1, IHDR)."""
    answer = laptop.get("/static/recoup.webmanifest")
    assert answer.headers["content-type"].startswith("application/manifest+json")
    said = answer.json()
    assert said["start_url"] == said["scope"] == "/"
    for icon in said["icons"]:
        drawn = laptop.get(icon["src"])
        assert drawn.headers["content-type"] == icon["type"]
        if icon["type"] == "image/png":
            size = tuple(int.from_bytes(drawn.content[at : at + 4], "big") for at in (16, 20))
            assert icon["sizes"] == "{}x{}".format(*size)
