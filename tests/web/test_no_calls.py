"""Nothing leaves the machine, and nothing listens beyond it until phones are let in: watched on the running process."""

from __future__ import annotations

import io
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from app.settings import PROJECT
from app.web.phone_door import PROBE
from app.web.rendering import TEMPLATES

WATCHED = """
import socket, sys
told = open(sys.argv.pop(1), "a", buffering=1)
def heard(event, given):
    if event in ("socket.connect", "socket.sendto", "socket.sendmsg"):
        if given[0].family in (socket.AF_INET, socket.AF_INET6):
            told.write(f"{event} {given[1]!r}\\n")
    elif event in ("socket.getaddrinfo", "socket.gethostbyname"):
        told.write(f"{event} {given[0]!r}\\n")
    elif event in ("urllib.Request", "http.client.connect", "smtplib.connect", "ftplib.connect"):
        told.write(f"{event}\\n")
sys.addaudithook(heard)
from app.__main__ import main
sys.exit(main(sys.argv[1:]))
"""
"""The server with a hook that hears of every connection it tries to make (Python, "Audit events table")."""

PAGES = (
    *(
        "/",
        "/skaters/1",
        "/skaters/1/log",
        "/skaters/1/log/entries",
        "/layouts/1",
        "/layouts/1/card",
        "/live",
        "/day",
    ),
    *("/rulebooks", "/rulebooks/isu/2026-27/senior/women/free", "/sheets/new", "/data", "/data/skaters/1"),
    *(
        "/data/skaters/1/delete",
        "/privacy",
        "/backups",
        "/phones",
        "/api/docs",
        "/api/openapi.json",
        "/language",
    ),
)
ELSEWHERE = re.compile(
    r"""(?:src|href|action|srcset|poster)\s*=\s*["']?\s*(?:[a-z]+:)?//|url\(\s*["']?(?:https?:)?//"""
)
"""Markup or a style that makes a browser ask another machine."""
NAMESPACE = re.compile(r"http://www\.w3\.org/\S+")
ADDRESS = re.compile(r"https?://")


class Running:
    """A server that is watched: its address, what it tried to reach, where it listens."""

    def __init__(self, process: subprocess.Popen[str], address: str, told: Path) -> None:
        self.process, self.address, self.told = process, address, told
        self.browser = httpx.Client(
            base_url=address, headers={"accept": "text/html", "origin": address}, timeout=60, trust_env=False
        )

    def calls(self) -> list[str]:
        return self.told.read_text().splitlines()

    def listens_on(self) -> set[str]:
        """The addresses of its listening sockets, as the kernel lists them (Linux, proc(5))."""
        inodes = {
            found[1]
            for one in Path(f"/proc/{self.process.pid}/fd").iterdir()
            if (found := re.fullmatch(r"socket:\[(\d+)\]", str(one.readlink())))
        }
        found = set()
        for name, size in (("tcp", 4), ("tcp6", 16)):
            for line in Path(f"/proc/{self.process.pid}/net/{name}").read_text().splitlines()[1:]:
                words = line.split()
                if words[3] == "0A" and words[9] in inodes:  # 0A: listening
                    raw = bytes.fromhex(words[1].partition(":")[0])
                    found.add(socket.inet_ntop(socket.AF_INET, raw[::-1]) if size == 4 else raw.hex())
        return found


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Running]:
    told = tmp_path / "told.txt"
    told.touch()
    given = [str(told), "serve", "--no-browser", "--port", "0", "--data-dir", str(tmp_path / "data")]
    command = [sys.executable, "-c", WATCHED, *given]
    process = subprocess.Popen(command, cwd=PROJECT, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    try:
        said = process.stdout.readline()
        found = re.search(r"http://[\d.]+:\d+", said)
        assert found is not None, said
        opened = Running(process, found[0], told)
        yield opened
        opened.browser.close()
    finally:
        process.terminate()
        process.communicate(timeout=30)


def test_a_day_with_recoup_reaches_out_to_nobody(running: Running) -> None:
    browser = running.browser
    for page in PAGES:
        answer = browser.get(page)
        assert answer.status_code == 200, page
        assert not ELSEWHERE.search(answer.text), page
    live = browser.post("/live", data={"layout_id": 1, "kind": "run-through"}).headers["location"]
    tap = {"number": 1, "tap": "3Lz+3T lost-2", "event_id": "a1"}
    assert browser.post(f"{live}/pass", data=tap).status_code == 303
    assert browser.get(live).status_code == 200
    saved = browser.post("/data/export")
    assert saved.headers["content-type"] == "application/zip"
    assert (
        browser.post("/data/import", files={"file": ("x.zip", io.BytesIO(saved.content))}).status_code == 200
    )
    browser.post("/phones/open")
    browser.get("/phones")
    browser.post("/phones/close")
    own_name = {
        f"socket.getaddrinfo {name!r}" for name in (socket.gethostname(), "127.0.0.1", "0.0.0.0", None)
    }
    probe = f"socket.connect {PROBE!r}"  # which address the network knows us by: nothing is sent to it
    assert [one for one in running.calls() if one != probe and one not in own_name] == []
    assert probe in running.calls(), "the watch hears nothing any more"


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads the kernel's own list in /proc")
def test_nothing_listens_beyond_this_machine_until_phones_are_let_in(running: Running) -> None:
    browser = running.browser
    assert running.listens_on() == {"127.0.0.1"}
    assert "listens on this laptop only" in browser.get("/phones").text
    assert browser.post("/phones/open").status_code == 303
    assert running.listens_on() == {"127.0.0.1", "0.0.0.0"}
    assert "listens on this laptop only" not in browser.get("/phones").text
    assert browser.post("/phones/close").status_code == 303
    assert running.listens_on() == {"127.0.0.1"}
    assert "listens on this laptop only" in browser.get("/phones").text


FILES = sorted(
    one
    for folder, kinds in ((TEMPLATES, ("html",)), (PROJECT / "static", ("js", "css", "json", "webmanifest")))
    for kind in kinds
    for one in folder.rglob(f"*.{kind}")
    if "vendor" not in one.parts
)


@pytest.mark.parametrize("file", FILES, ids=lambda one: str(one.relative_to(PROJECT)))
def test_no_page_script_or_style_names_another_machine(file: Path) -> None:
    """Text may say "http", and SVG has a namespace that looks like an address; nothing may be fetched from one."""
    source = NAMESPACE.sub("", file.read_text(encoding="utf-8"))
    assert not ELSEWHERE.search(source)
    if file.suffix == ".js":
        assert not ADDRESS.search(source)
