"""A rink without a connection: no tap is lost, none is logged twice, and the stop does not wait for the laptop."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Error, Page, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import log, start_run_through
from tests.browser.test_goes_on_alone import KEPT, log_kept

pytestmark = pytest.mark.browser


def tap(page: Page, word: str) -> None:
    """Tap a button of the pad and do not wait."""
    buttons = page.locator(".pad .taps").first.locator("button")
    buttons.filter(has=page.get_by_text(word, exact=True)).first.click()


def at_pass(page: Page, number: int) -> None:
    """Wait until the pad asks for this pass."""
    expect(page.locator(".pad h2")).to_contain_text(f"Pass {number} of")


def events(page: Page) -> list[str]:
    """What the review says about each logged pass."""
    live = re.sub(r"/review$", "", page.url)
    page.goto(f"{live}/review")
    return page.locator(".rows > li").all_inner_texts()


def kept(page: Page) -> int:
    """Taps the browser still keeps."""
    return len(log_kept(page))


def test_a_tap_without_a_connection_is_kept_and_sent_when_it_is_back(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    start_run_through(page)
    page.context.set_offline(True)
    tap(page, "tail lost")
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet")
    assert kept(page) == 1
    page.context.set_offline(False)
    at_pass(page, 2)
    expect(page.locator("#unsaved")).to_be_hidden()
    assert kept(page) == 0
    assert len(events(page)) == 1


def test_a_page_loaded_again_without_a_connection_does_not_lose_the_tap(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    page.context.set_offline(True)
    tap(page, "tail lost")
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet")
    with pytest.raises(Error, match="ERR_INTERNET_DISCONNECTED"):
        page.reload()
    page.context.set_offline(False)
    page.goto(live)
    at_pass(page, 2)
    expect(page.locator(".latest")).to_contain_text("Pass 1: tail lost (3Lz)")
    assert kept(page) == 0
    assert len(events(page)) == 1


def test_a_tap_whose_answer_got_lost_is_logged_once(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)

    def swallow(route: object) -> None:
        route.fetch()  # type: ignore[attr-defined]
        route.abort()  # type: ignore[attr-defined]

    page.route("**/pass", swallow)
    tap(page, "tail lost")
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet")
    page.unroute("**/pass")
    page.goto(live)
    at_pass(page, 2)
    page.wait_for_timeout(300)
    assert kept(page) == 0
    assert len(events(page)) == 1


def test_a_tap_put_right_before_it_was_sent_is_logged_as_put_right(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    start_run_through(page)
    page.context.set_offline(True)
    tap(page, "tail lost")
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet")
    tap(page, "as planned")
    page.context.set_offline(False)
    at_pass(page, 2)
    expect(page.locator(".latest")).to_contain_text("Pass 1: as planned")
    assert len(events(page)) == 1


def test_hurt_stops_the_screen_at_once_without_a_connection(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    log(page, "fell on the 3Lz")
    page.context.set_offline(True)
    page.get_by_role("button", name="Hurt / hit head").click()
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    assert page.locator(".pad, .line, svg.drawing").count() == 0
    page.context.set_offline(False)
    expect(page.get_by_text("Lift the stop (an adult only)")).to_be_visible()
    page.goto(live)
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()


def test_a_kept_stop_shows_before_the_laptop_has_answered(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    page.route("**/hurt", lambda route: route.abort())
    page.get_by_role("button", name="Hurt / hit head").click()
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet")
    page.goto(live)
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    page.unroute("**/hurt")
    expect(page.get_by_text("Lift the stop (an adult only)")).to_be_visible()


def test_a_kept_tap_of_a_program_that_is_gone_is_dropped_quietly(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    # Where a version before kept what waits.
    body = [["number", "1"], ["tap", "left out"], ["event_id", "s1"]]
    stale = [{"id": "s1", "action": "/live/99999/pass", "body": body}]
    page.evaluate("taps => localStorage.setItem('recoup.waiting', JSON.stringify(taps))", stale)
    page.goto(live)
    page.wait_for_function(f"() => localStorage.getItem('recoup.waiting') === null && {KEPT}.length === 0")
    expect(page.locator("#unsaved")).to_be_hidden()
    log(page, "as planned")
    at_pass(page, 2)
