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
from fastapi import FastAPI
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Error, Page, expect, sync_playwright

from app import engine
from app.main import create_app
from app.security.pairing import PairingDesk
from app.security.roles import Role
from app.settings import Settings
from app.web.phone_door import own_addresses

expect.set_options(timeout=15_000)  # a busy machine with two cores
PHONE = {"width": 360, "height": 740}
PROGRAMS = ("chromium", "chromium-browser", "google-chrome", "chrome")


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> FastAPI:
    """The app of all browser tests, with the demo in it.

    On a fresh checkout the loops are compiled first, which takes longer than any wait of a test.
    """
    engine.warm()
    folder = tmp_path_factory.mktemp("browser")
    return create_app(Settings(data_dir=folder, seed_demo=True, seed_season=False, open_browser=False))


@pytest.fixture(scope="session")
def address(served: FastAPI) -> Iterator[str]:
    """Address of a running server with the demo in it."""
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(served, log_level="error"))
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


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """A browser that a busy machine held up is asked once more; the summary then counts a rerun."""
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.flaky(reruns=1))


OpenPage = Callable[..., Page]


@pytest.fixture
def open_page(chromium: Browser, address: str) -> Iterator[OpenPage]:
    """`open_page(path, scripts=True, dark=False)`: a phone with that page; script errors fail the test.

    `cut_off=True`: the test takes the connection away or breaks it, so what the browser says about that is expected.
    `installed=True`: the browser may keep the app, as over https and on the laptop; else it may not, as on a phone over
    plain http.
    """
    contexts, faults = [], []

    def opened(
        path: str = "/",
        *,
        scripts: bool = True,
        dark: bool = False,
        cut_off: bool = False,
        installed: bool = False,
    ) -> Page:
        def heard(said: ConsoleMessage) -> None:
            words = (
                "net::ERR_",
                "Failed to fetch",
                "status of 404",
                "status of 422",
                "status of 50",
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
            service_workers="allow" if installed else "block",
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


class PhoneDoorway:
    """The phones' door, opened on the laptop's page, and phones let in through it."""

    def __init__(self, laptop: Page, chromium: Browser) -> None:
        self._laptop, self._chromium = laptop, chromium
        self._contexts: list[BrowserContext] = []
        laptop.get_by_role("button", name="Let phones in").click()
        self.address = laptop.locator(".address").first.inner_text()

    def pair(self, role: Role, name: str) -> Page:
        """A phone of that role, let in by a new code; it may be offline as a phone over plain http is."""
        self._laptop.get_by_label("The next phone is a").select_option(role)
        self._laptop.get_by_role("button", name="New code").click()
        expect(self._laptop.locator("li", has_text="It works once, for a")).to_contain_text(role)
        code = self._laptop.locator(".code").first.inner_text()
        context = self._chromium.new_context(viewport=PHONE, has_touch=True)
        self._contexts.append(context)
        phone = context.new_page()
        phone.set_default_timeout(15_000)
        phone.goto(f"{self.address}/pair")
        phone.get_by_label("Code on the laptop's screen").fill(code)
        phone.get_by_label("A name for this phone").fill(name)
        phone.get_by_role("button", name="Pair").click()
        phone.wait_for_url(lambda url: not url.endswith("/pair"))
        return phone

    def remove(self, name: str) -> None:
        """Shut a phone out."""
        self._laptop.reload()
        self._laptop.get_by_role("button", name=f"Remove {name}").click()
        expect(self._laptop.get_by_role("button", name=f"Remove {name}")).to_have_count(0)

    def close(self) -> None:
        """Nobody comes in any more."""
        for context in self._contexts:
            context.close()
        self._laptop.reload()
        self._laptop.get_by_role("button", name="Shut phones out").click()


@pytest.fixture
def phone_door(open_page: OpenPage, chromium: Browser, served: FastAPI) -> Iterator[PhoneDoorway]:
    """The phones' door, open for this test; tries of tests before do not count, for all phones are this machine."""
    if not own_addresses():
        pytest.skip("this machine is in no network: no phone could reach it")
    served.state.pairing_desk = PairingDesk(time.monotonic)
    door = PhoneDoorway(open_page("/phones"), chromium)
    yield door
    door.close()
