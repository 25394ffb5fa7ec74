"""The installed app: closed and opened again without the laptop it goes on where it stood, and everything arrives once.

The link is cut where it is cut in a rink: between browser and laptop, on a line of its own (`Line`), so the browser's
own idea of being online plays no part.
"""

from __future__ import annotations

import re
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage, PhoneDoorway
from tests.browser.screens import start_competition, start_run_through
from tests.browser.test_goes_on_alone import KEPT, log, log_kept, passes, ready, tap, texts

pytestmark = pytest.mark.browser


class Line:
    """A line to the server that can be cut and mended."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._door = socket.socket()
        self._door.bind(("127.0.0.1", 0))
        self._door.listen(64)
        self.address = f"http://127.0.0.1:{self._door.getsockname()[1]}"
        self._whole, self._ends = True, set[socket.socket]()
        self._serving = threading.Thread(target=self._serve, daemon=True)
        self._serving.start()

    def cut(self) -> None:
        """Whatever runs breaks off, and nothing new comes through."""
        self._whole = False
        for end in list(self._ends):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def mend(self) -> None:
        """As before."""
        self._whole = True

    def close(self) -> None:
        """For good."""
        self.cut()
        self._door.shutdown(socket.SHUT_RDWR)
        self._serving.join(timeout=10)
        self._door.close()

    def _serve(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self._door.accept()
                threading.Thread(target=self._join, args=(near,), daemon=True).start()

    def _join(self, near: socket.socket) -> None:
        with near, socket.create_connection(("127.0.0.1", self._port)) as far:
            self._ends |= {near, far}
            back = threading.Thread(target=self._carry, args=(far, near), daemon=True)
            back.start()
            self._carry(near, far)
            back.join()
            self._ends -= {near, far}

    def _carry(self, one: socket.socket, other: socket.socket) -> None:
        with suppress(OSError):
            while self._whole and (said := one.recv(65536)):
                other.sendall(said)
        for end in (one, other):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)


@pytest.fixture
def line(address: str) -> Iterator[Line]:
    """A line to the running server."""
    made = Line(int(address.rsplit(":", 1)[1]))
    yield made
    made.close()


Installed = Callable[[], Page]


@pytest.fixture
def installed(open_page: OpenPage, line: Line) -> Installed:
    """A device on which the app is kept, at the first page."""

    def opened() -> Page:
        page = open_page("/", cut_off=True, installed=True)
        page.goto(line.address)
        page.evaluate("async () => { await navigator.serviceWorker.ready; }")
        return page

    return opened


def settled(page: Page, number: int) -> None:
    """The page goes on by itself at this pass, and nothing is left to fill in."""
    expect(page.locator(".pad h2")).to_contain_text(f"Pass {number} of")
    expect(page.locator("#board[data-local]")).to_have_count(1)
    assert "⟦" not in page.locator("#board").inner_html()


def arrived(page: Page) -> None:
    """The laptop has everything, and its own board is back."""
    expect(page.locator("#board[data-local]")).to_have_count(0, timeout=30_000)
    expect(page.locator(".offline")).to_have_count(0)
    assert log_kept(page) == []


@pytest.mark.parametrize("before", range(6))
def test_cut_at_every_point_and_the_page_loaded_again_everything_arrives_once(
    installed: Installed, line: Line, before: int
) -> None:
    page = installed()
    live = start_run_through(page)
    count, sent = passes(page), []
    for number in range(1, count + 1):
        if number == before + 1:
            ready(page)
            # The stream may show a pass before its own tap is answered; such a tap would be sent once more.
            page.wait_for_function(f"() => ({KEPT}).length === 0")
            line.cut()
        if number > before:
            page.reload()
            settled(page, number)
        sent.append(tap(page, number))
    if before < count:
        expect(page.get_by_role("heading", name="All passes logged")).to_be_visible()
        page.reload()
        expect(page.get_by_role("heading", name="All passes logged")).to_be_visible()
        assert len(log_kept(page)) == count - before
        line.mend()
    arrived(page)
    entries = log(page, live)
    assert [entry["payload"]["number"] for entry in entries] == list(range(1, count + 1))
    assert [entry["payload"]["tried"] for entry in entries] == [one.partition(" ")[0] for one in sent]
    assert len({entry["id"] for entry in entries}) == count


def test_a_page_that_started_alone_says_what_it_said_before(installed: Installed, line: Line) -> None:
    page = installed()
    start_run_through(page)
    page.get_by_role("button", name="Music starts now").click()
    expect(page.locator(".clock-face")).to_be_visible()
    ready(page)
    line.cut()
    tap(page, 1)
    expect(page.locator(".offline")).to_contain_text("1 tap")
    before = texts(page)
    page.reload()
    settled(page, 2)
    expect(page.locator(".offline")).to_contain_text("1 tap")
    assert texts(page) == before
    expect(page.locator(".clock-now")).to_contain_text(re.compile("0:[0-5][0-9]"))
    page.get_by_role("button", name="Undo 1").click()
    expect(page.locator(".pad h2")).to_contain_text("Pass 1 of")
    line.mend()
    arrived(page)
    expect(page.locator(".pad h2")).to_contain_text("Pass 1 of")


def test_a_phone_opened_without_the_laptop_lists_what_it_keeps(installed: Installed, line: Line) -> None:
    page = installed()
    live = start_run_through(page)
    ready(page)
    line.cut()
    page.goto(f"{line.address}/")
    expect(page.get_by_role("heading", name="Without the laptop")).to_be_visible()
    expect(page.get_by_text("The laptop does not answer.")).to_be_visible()
    kept = page.locator("#kept-list a")
    expect(kept).to_have_count(1)
    expect(kept).to_contain_text("Run-through")
    page.goto(f"{line.address}/live/9999")
    expect(page.get_by_text("This program is not kept here")).to_be_visible()
    kept.click()
    settled(page, 1)
    assert page.url == live
    line.mend()
    arrived(page)
    page.goto(f"{line.address}/")
    expect(page.get_by_role("heading", name="A jump is lost. What now?")).to_be_visible()


def test_somebody_hurt_is_still_hurt_on_a_page_that_started_alone(installed: Installed, line: Line) -> None:
    page = installed()
    start_run_through(page)
    ready(page)
    page.get_by_role("button", name="Hurt / hit head").click()
    expect(page.get_by_text("Lift the stop (an adult only)")).to_be_visible()
    line.cut()
    page.reload()
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    assert page.locator(".pad, .line").count() == 0
    line.mend()
    expect(page.get_by_text("Lift the stop (an adult only)")).to_be_visible(timeout=30_000)


def test_hidden_advice_is_not_kept(installed: Installed, line: Line) -> None:
    """A competition logs only; what was kept while advice showed goes with it."""
    page = installed()
    start_competition(page, "Invented Cup, kept")
    page.locator("details.allow summary").click()
    page.get_by_label("I have checked").check()
    page.get_by_role("button", name="Show advice for this event").click()
    expect(page.get_by_text("Advice on")).to_be_visible()
    keeps(page, "advice")
    assert "Keep the plan" in kept_words(page)
    page.get_by_role("button", name="Hide advice").click()
    expect(page.get_by_role("heading", name="Logging only")).to_be_visible()
    keeps(page, "silent")
    assert "Keep the plan" not in kept_words(page)
    line.cut()
    page.reload()
    settled(page, 1)
    expect(page.get_by_role("heading", name="Logging only")).to_be_visible()
    line.mend()
    arrived(page)


def keeps(page: Page, mode: str) -> None:
    """Wait until the browser keeps one policy, and that of this mode."""
    found: list[str] = []
    for _ in range(120):
        found = page.evaluate(
            """async () => {
              const shelf = await caches.open('recoup-programs');
              return Promise.all((await shelf.keys()).map(async (one) => (await (await shelf.match(one)).json()).mode));
            }"""
        )
        if found == [mode]:
            return
        page.wait_for_timeout(500)
    raise AssertionError(f"kept: {found}, expected one of mode {mode}")


def kept_words(page: Page) -> str:
    """Everything the browser keeps of programs and pages, apart from the app's own files."""
    said: str = page.evaluate(
        """async () => {
          const all = [JSON.stringify(localStorage)];
          for (const name of await caches.keys()) {
            const shelf = await caches.open(name);
            for (const one of await shelf.keys()) {
              if (!one.url.includes('/static/')) all.push(await (await shelf.match(one)).text());
            }
          }
          return all.join(' ');
        }"""
    )
    return said


def test_a_phone_that_was_removed_keeps_nothing(open_page: OpenPage, phone_door: PhoneDoorway) -> None:
    """Over the phones' door in plain http there is no worker; what a page keeps of programs goes all the same."""
    laptop = open_page()
    live = start_run_through(laptop)
    phone = phone_door.pair("logger", "to be removed")
    phone.goto(phone_door.address + live[live.index("/live/") :])
    ready(phone)
    assert "recoup.place" in str(phone.evaluate("JSON.stringify(localStorage)"))
    phone_door.remove("to be removed")
    phone.reload()
    expect(phone.get_by_role("heading", name="Pair this phone")).to_be_visible()
    phone.wait_for_function("() => !JSON.stringify(localStorage).includes('recoup.place')")
