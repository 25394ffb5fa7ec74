"""Two devices on one program: every tap comes by the stream, a conflict is decided, the stop is on every screen.

How long a tap takes to another screen is measured by scripts/load (watchers), not here.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import log, start_run_through

pytestmark = pytest.mark.browser


def two(open_page: OpenPage, **options: bool) -> tuple[Page, Page]:
    """Two devices on the same run-through, both hearing the stream."""
    one = open_page(**options)
    live = start_run_through(one)
    other = open_page("/live/" + live.rsplit("/", 1)[1], **options)
    for page in (one, other):
        page.wait_for_function("() => window.recoupHearing === true")
    return one, other


def test_everybody_sees_every_tap_by_the_stream(open_page: OpenPage) -> None:
    """Asking every three seconds is shut off here, so only the stream can tell the other screen."""
    one, other = two(open_page, cut_off=True)
    other.route("**/news?*poll=1*", lambda route: route.abort())
    for number in range(1, 7):
        one.locator(".pad .first").click()
        expect(one.locator("#board")).to_have_attribute("data-seen", str(number))
        expect(other.locator("#board")).to_have_attribute("data-seen", str(number))


def test_a_program_logged_on_two_phones_in_turns_is_one(open_page: OpenPage) -> None:
    phones = two(open_page)
    for number in range(1, 7):
        page = phones[number % 2]
        expect(page.locator(".pad h2")).to_contain_text(f"Pass {number} of 6")
        log(page, "as planned")
    for page in phones:
        expect(page.locator(".line .say")).to_have_text("All passes logged")


def test_two_accounts_of_a_pass_are_shown_and_one_is_chosen(open_page: OpenPage) -> None:
    one, other = two(open_page, cut_off=True)
    one.context.set_offline(True)
    one.locator(".taps").first.get_by_role("button", name="tail lost").first.click()
    # It says that it waits, or by now holds what it takes to go on alone and says that.
    expect(one.locator("#unsaved:not([hidden]), .offline")).to_be_visible()
    log(other, "as planned")
    one.context.set_offline(False)
    for page in (one, other):
        expect(page.locator(".question")).to_contain_text("Pass 1 was logged differently")
        expect(page.locator(".differ")).to_contain_text("half and half")
    other.locator(".question").get_by_role("button", name="tail lost").click()
    for page in (one, other):
        expect(page.locator(".question")).to_have_count(0)
        expect(page.locator(".latest")).to_contain_text("Pass 1: tail lost (3Lz)")


def test_hurt_on_one_screen_stops_the_other(open_page: OpenPage) -> None:
    one, other = two(open_page)
    big = open_page(f"/live/{one.url.rsplit('/', 1)[1]}/big")
    log(one, "fell on the 3Lz")
    one.get_by_role("button", name="Hurt / hit head").click()
    expect(other.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    expect(big.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    assert other.locator(".pad, .line, svg.drawing").count() == 0
    expect(other.get_by_text("Lift the stop (an adult only)")).to_be_visible()


def test_hurt_can_be_said_from_the_word_alone_and_from_the_page_that_puts_a_pass_right(
    open_page: OpenPage,
) -> None:
    one = open_page(cut_off=True)
    for path in ("big", "passes"):
        one.goto(one.url.split("/", 3)[0] + "//" + one.url.split("/")[2])
        live = start_run_through(one)
        log(one, "fell on the 3Lz")
        one.goto(f"{live}/{path}")
        one.context.set_offline(True)
        one.get_by_role("button", name="Hurt / hit head").click()
        expect(one.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
        one.context.set_offline(False)
        expect(one.get_by_text("Lift the stop (an adult only)")).to_be_visible()


def test_a_stop_that_is_not_sent_yet_stays_whatever_others_log(open_page: OpenPage) -> None:
    one, other = two(open_page, cut_off=True)
    one.route("**/hurt", lambda route: route.abort())
    one.get_by_role("button", name="Hurt / hit head").click()
    log(other, "as planned")
    one.wait_for_timeout(1000)
    expect(one.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    assert one.locator(".pad").count() == 0
    one.unroute("**/hurt")
    expect(other.get_by_role("heading", name="Stop. Get help.")).to_be_visible()


def test_without_the_stream_the_page_asks_as_before(open_page: OpenPage) -> None:
    one = open_page(cut_off=True)
    live = start_run_through(one)
    other = open_page("/", cut_off=True)
    other.route("**/stream*", lambda route: route.abort())
    other.goto(live)
    log(one, "as planned")
    expect(other.locator(".pad h2")).to_contain_text("Pass 2 of 6")


def test_undo_and_redo(open_page: OpenPage) -> None:
    one, other = two(open_page)
    log(one, "tail lost")
    one.get_by_role("button", name="Undo 1").click()
    expect(other.locator(".pad h2")).to_contain_text("Pass 1 of 6")
    other.get_by_role("button", name="Redo").click()
    expect(one.locator(".latest")).to_contain_text("Pass 1: tail lost (3Lz)")
    expect(one.get_by_role("button", name="Redo")).to_have_count(0)
