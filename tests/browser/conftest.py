"""A real server with the invented demo, and a real browser the size of a phone.

Without a Chromium the browser tests are skipped, and say so; RECOUP_REQUIRE_BROWSER=1 makes that a failure.
RECOUP_CHROMIUM may name the program.
"""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator

import pytest
import uvicorn
from playwright.sync_api import Browser, ConsoleMessage, Error, Page, expect, sync_playwright

from app.main import create_app
from app.settings import Settings

expect.set_options(timeout=15_000)  # a busy machine with two cores
PHONE = {"width": 360, "height": 740}
PROGRAMS = ("chromium", "chromium-browser", "google-chrome", "chrome")


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a running server with the demo in it."""
    settings = Settings(
        data_dir=tmp_path_factory.mktemp("browser"), seed_demo=True, seed_season=False, open_browser=False
    )
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(create_app(settings), log_level="error"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    deadline = time.monotonic() + 20
    while not server.started and time.monotonic() < deadline:
        time.sleep(0.02)
    assert server.started, "the server did not start within 20 s"
    yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    server.should_exit = True
    thread.join(timeout=10)
    listening.close()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """A running Chromium."""
    program = os.environ.get("RECOUP_CHROMIUM") or next(filter(None, map(shutil.which, PROGRAMS)), None)
    with sync_playwright() as playwright:
        try:
            browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        except Error as error:
            _no_browser(str(error).splitlines()[0])
        yield browser
        browser.close()


def _no_browser(why: str) -> None:
    said = f"no Chromium for the browser tests ({why}); install one or name it in RECOUP_CHROMIUM"
    if os.environ.get("RECOUP_REQUIRE_BROWSER") == "1":
        pytest.fail(said)
    pytest.skip(said)


OpenPage = Callable[..., Page]


@pytest.fixture
def open_page(chromium: Browser, address: str) -> Iterator[OpenPage]:
    """`open_page(path, scripts=True, dark=False)`: a phone with that page; script errors fail the test.

    `cut_off=True`: the test takes the connection away or breaks it, so what the browser says about that is expected.
    """
    contexts, faults = [], []

    def opened(path: str = "/", *, scripts: bool = True, dark: bool = False, cut_off: bool = False) -> Page:
        def heard(said: ConsoleMessage) -> None:
            words = (
                "ERR_FAILED",
                "ERR_INTERNET_DISCONNECTED",
                "Failed to fetch",
                "status of 404",
                "status of 422",
                "status of 500",
                "htmx:response:error",
            )
            expected = cut_off and any(word in said.text for word in words)
            if said.type == "error" and not expected:
                faults.append(said.text)

        context = chromium.new_context(
            viewport=PHONE,
            java_script_enabled=scripts,
            color_scheme="dark" if dark else "light",
            has_touch=True,
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", heard)
        page.goto(address + path)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not faults, f"the browser complained: {faults}"
