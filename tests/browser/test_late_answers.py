"""Answers that come late, out of order or not at all: the past never comes back, and no tap is swallowed.

The answers are held by the browser's own route, so every order can be made without waiting.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import APIResponse, Page, Route, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import log, start_run_through, tap_of
from tests.browser.test_goes_on_alone import log as log_of, log_kept, ready, tap

pytestmark = pytest.mark.browser


class Held:
    """Requests of one kind that reached the laptop, and whose answers wait."""

    def __init__(self, page: Page, pattern: str) -> None:
        self._page, self._pattern = page, pattern
        self._answers: list[tuple[Route, APIResponse]] = []
        page.route(pattern, self._hold)

    def _hold(self, route: Route) -> None:
        self._answers.append((route, route.fetch()))

    def wait_for(self, count: int = 1) -> None:
        """Until so many have been answered by the laptop."""
        for _ in range(150):
            if len(self._answers) >= count:
                return
            self._page.wait_for_timeout(100)
        raise AssertionError(f"{len(self._answers)} requests to {self._pattern}, expected {count}")

    def let_go(self) -> None:
        """The answers arrive, and later requests pass as usual."""
        self._page.unroute(self._pattern)
        for route, answer in self._answers:
            route.fulfill(response=answer)
        self._page.wait_for_timeout(500)  # nothing should happen, so there is nothing to wait for


def without_policy(open_page: OpenPage) -> tuple[Page, str]:
    """A program on a page that waits for every answer: it has nothing to go on with by itself."""
    page = open_page(cut_off=True)
    page.route("**/policy/**", lambda route: route.abort())
    return page, start_run_through(page)


def is_stopped(page: Page) -> None:
    """The stop shows, and nothing else does."""
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    assert page.locator(".pad, .line, svg.drawing").count() == 0


def test_a_late_answer_to_a_pass_does_not_hide_the_stop(open_page: OpenPage) -> None:
    """Used to be: the pad of before came back over the stop."""
    page, _ = without_policy(open_page)
    held = Held(page, "**/pass")
    tap_of(page, "as planned").click()
    held.wait_for()
    page.get_by_role("button", name="Hurt / hit head").click()
    expect(page.get_by_text("Lift the stop (an adult only)")).to_be_visible()
    page.get_by_text("Lift the stop (an adult only)").click()
    page.get_by_label("Your name or role").fill("the coach")
    held.let_go()
    is_stopped(page)
    expect(page.get_by_label("Your name or role")).to_have_value("the coach")


def test_a_late_answer_does_not_hide_a_stop_heard_from_another_phone(open_page: OpenPage) -> None:
    page, live = without_policy(open_page)
    page.route("**/news*", lambda route: route.abort())
    other = open_page("/live/" + live.rsplit("/", 1)[1])
    page.wait_for_function("() => window.recoupHearing === true")
    held = Held(page, "**/pass")
    tap_of(page, "as planned").click()
    held.wait_for()
    other.get_by_role("button", name="Hurt / hit head").click()
    is_stopped(page)
    held.let_go()
    is_stopped(page)


def test_a_late_answer_does_not_bring_an_older_board_back(open_page: OpenPage) -> None:
    page, _ = without_policy(open_page)
    held = Held(page, "**/pass")
    tap_of(page, "as planned").click()
    held.wait_for()
    page.get_by_role("button", name="Music starts now").click()
    expect(page.locator(".clock-face")).to_be_visible()
    page.route("**/news*", lambda route: route.abort())
    held.let_go()
    expect(page.locator(".clock-face")).to_be_visible()
    expect(page.locator("#board")).to_have_attribute("data-seen", "2")


def test_a_pass_put_right_while_its_first_tap_is_under_way_is_what_was_tapped_last(
    open_page: OpenPage,
) -> None:
    """Used to be: the second tap was dropped, for the first had the same id and was answered."""
    page, live = without_policy(open_page)
    page.route("**/news*", lambda route: route.abort())
    held = Held(page, "**/pass")
    tap_of(page, "tail lost").click()
    held.wait_for()
    tap_of(page, "as planned").click()
    page.unroute("**/news*")
    held.let_go()
    expect(page.locator(".latest")).to_contain_text("Pass 1: as planned")
    expect(page.locator(".question")).to_have_count(0)
    assert log_kept(page) == []
    kinds = [entry["kind"] for entry in log_of(page, live)]
    assert kinds == ["pass skated", "undone", "pass skated"]


@pytest.mark.parametrize("status", [502, 503, 504])
def test_a_door_whose_laptop_is_away_for_a_moment_loses_no_tap(open_page: OpenPage, status: int) -> None:
    """A proxy before the app answers so while the app starts anew. Used to be: the tap was taken as refused."""
    page, live = without_policy(open_page)
    page.route("**/pass", lambda route: route.fulfill(status=status, body="no"))
    tap_of(page, "tail lost").click()
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet")
    page.unroute("**/pass")
    expect(page.locator(".latest")).to_contain_text("Pass 1: tail lost (3Lz)")
    expect(page.locator("#unsaved")).to_be_hidden()
    assert len(log_of(page, live)) == 1


def test_a_page_that_comes_back_from_the_browsers_cache_hears_again(open_page: OpenPage) -> None:
    """Used to be: the stream stayed closed, and the page did not ask either, for it took itself to be hearing."""
    page = open_page()
    live = start_run_through(page)
    other = open_page("/live/" + live.rsplit("/", 1)[1])
    page.wait_for_function("() => window.recoupHearing === true")
    page.evaluate("dispatchEvent(new PageTransitionEvent('pagehide', { persisted: true }))")
    log(other, "as planned")
    page.evaluate("dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true }))")
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    log(other, "as planned")
    expect(page.locator(".pad h2")).to_contain_text("Pass 3 of")


def test_a_phone_that_wakes_asks_at_once_though_its_line_died_in_its_sleep(open_page: OpenPage) -> None:
    """The stream of a phone that slept is often dead without saying so."""
    page = open_page(cut_off=True)
    page.add_init_script(
        """window.EventSource = class extends EventTarget {
          constructor() { super(); setTimeout(() => this.dispatchEvent(new Event('open')), 50); }
          close() {}
        };"""
    )
    live = start_run_through(page)
    page.wait_for_function("() => window.recoupHearing === true")
    other = open_page("/live/" + live.rsplit("/", 1)[1])
    log(other, "as planned")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")


def test_two_quick_taps_without_a_connection_log_one_pass(open_page: OpenPage) -> None:
    """Used to be: the page that goes on alone draws at once, and the second touch met the pad of the next pass."""
    page = open_page(cut_off=True)
    start_run_through(page)
    ready(page)
    page.context.set_offline(True)
    tap(page, 1)
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    page.locator(".taps .first").first.dblclick()
    expect(page.locator(".pad h2")).to_contain_text("Pass 3 of")
    assert len(log_kept(page)) == 2
    page.get_by_role("button", name="Undo 2").dblclick()
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")


def test_a_tap_made_while_the_laptops_board_comes_back_stays_on_the_screen(open_page: OpenPage) -> None:
    """Used to be: the laptop's board, asked for before that tap, asked for the same pass once more."""
    page = open_page(cut_off=True)
    live = start_run_through(page)
    ready(page)
    page.context.set_offline(True)
    tap(page, 1)
    expect(page.locator(".offline")).to_contain_text("1 tap")
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    held = Held(page, live)
    page.context.set_offline(False)
    held.wait_for()
    page.route("**/pass", lambda route: route.abort())
    tap(page, 2)
    expect(page.locator(".pad h2")).to_contain_text("Pass 3 of")
    held.let_go()
    expect(page.locator(".pad h2")).to_contain_text("Pass 3 of")
    page.unroute("**/pass")
    expect(page.locator("#board[data-local]")).to_have_count(0)
    assert [entry["payload"]["number"] for entry in log_of(page, live)] == [1, 2]


def test_a_tap_before_the_scripts_have_come_waits_for_them(open_page: OpenPage) -> None:
    """Used to be: it went as a plain form, and without the connection the browser's own error page came."""
    page, live = without_policy(open_page)
    scripts = Held(page, "**/static/live.js")
    page.goto(live, wait_until="commit")
    tap_of(page, "tail lost").click(no_wait_after=True)
    scripts.wait_for()
    page.route("**/pass", lambda route: route.abort())
    scripts.let_go()
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet")
    page.unroute("**/pass")
    expect(page.locator(".latest")).to_contain_text("Pass 1: tail lost (3Lz)")
    assert len(log_of(page, live)) == 1
