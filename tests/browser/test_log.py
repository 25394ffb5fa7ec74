"""The practice log on a phone: two taps an attempt, undo by one, without scripts too. The skater is invented."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import PHONE, OpenPage
from tests.browser.screens import start_run_through, tap_of
from tests.browser.test_goes_on_alone import KEPT, log as log_of

pytestmark = pytest.mark.browser


def counted(page: Page) -> int:
    """Attempts of the day, as the laptop counts them."""
    return int(page.get_by_text("counted on this day").inner_text().split()[0])


def counts(page: Page, number: int) -> None:
    """Wait until the laptop counts so many."""
    expect(page.get_by_text(re.compile(rf"^{number} attempts? counted on this day"))).to_be_visible()


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_an_attempt_takes_two_taps_and_undo_one(open_page: OpenPage, scripts: bool) -> None:
    page = open_page("/skaters/1/log", scripts=scripts)
    assert page.viewport_size == PHONE
    counted = page.get_by_text("counted on this day")
    before = counted.inner_text()
    page.get_by_role("link", name=re.compile(r"^3Lz\+3T")).tap()
    page.get_by_role("button", name=re.compile("fell$")).tap()
    expect(page.get_by_role("status")).to_have_text("Last: 3Lz+3T, fell")
    expect(counted).not_to_have_text(before)
    page.get_by_role("button", name="Undo").tap()
    expect(counted).to_have_text(before)


def test_every_ending_is_on_the_glass_without_scrolling(open_page: OpenPage) -> None:
    page = open_page("/skaters/1/log")
    page.get_by_role("link", name=re.compile(r"^3Lz\+3T")).tap()
    buttons = page.locator(".taps button")
    expect(buttons).to_have_count(11)
    for button in buttons.all():
        box = button.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= PHONE["height"]


def test_day_and_place_stay_for_the_next_attempt(open_page: OpenPage) -> None:
    page = open_page("/skaters/1/log")
    page.locator(".when summary").tap()
    page.get_by_label("Place").select_option(label="in a run-through")
    page.get_by_role("button", name="Log for this day and place").tap()
    before = counted(page)
    for number in (1, 2):
        page.get_by_role("link", name="2A", exact=True).tap()
        expect(page.locator("#ending")).to_contain_text("in a run-through")
        page.get_by_role("button", name="landed clean").tap()
        counts(page, before + number)
    expect(page.get_by_role("status")).to_have_text("Last: 2A, landed clean")
    for number in (1, 0):
        page.get_by_role("button", name="Undo").tap()
        counts(page, before + number)


def test_a_pasted_table_is_read_and_asked_about(open_page: OpenPage) -> None:
    page = open_page("/skaters/1/log/table")
    page.get_by_label("Paste the table").fill("date,element,result\n03/04/2026,2A,clean")
    page.get_by_role("button", name="Show what is understood").tap()
    expect(page.get_by_text("Lines understood: 0")).to_be_visible()
    page.get_by_role("button", name="The day first").tap()
    expect(page.get_by_text("Lines understood: 1")).to_be_visible()


def attempt(page: Page, code: str, ended: str) -> None:
    """Two taps."""
    page.get_by_role("link", name=code, exact=True).tap()
    page.locator("#ending").get_by_role("button", name=re.compile(f"{ended}$")).tap()


def test_attempts_without_the_connection_wait_and_arrive_once_in_order(
    open_page: OpenPage, address: str
) -> None:
    """Used to be: the browser's own error page, and the attempt was gone."""
    page = open_page("/skaters/1/log", cut_off=True)
    before = counted(page)
    page.context.set_offline(True)
    attempt(page, "2A", "landed clean")
    expect(page.get_by_text("1 tap waits here")).to_be_visible()
    attempt(page, "3S", "fell")
    expect(page.get_by_text("2 taps wait here")).to_be_visible()
    expect(page.locator(".last")).to_have_text("Last: 3S, fell")
    page.get_by_role("button", name="Undo").tap()
    expect(page.locator(".last")).to_have_text("Taken back: 3S, fell")
    attempt(page, "3F", "popped by one")
    expect(page.get_by_text("4 taps wait here")).to_be_visible()
    assert counted(page) == before
    page.context.set_offline(False)
    expect(page.locator("#log-waits")).to_be_hidden()
    counts(page, before + 2)
    expect(page.locator(".last")).to_have_text("Last: 3F, popped by one")
    page.goto(f"{address}/skaters/1/log/entries")
    rows = page.locator(".entries > li")
    for place, said in enumerate(("3F.*popped by one", "3S.*fell", "2A.*landed clean")):
        expect(rows.nth(place)).to_contain_text(re.compile(said, re.DOTALL))
    expect(rows.nth(1)).to_contain_text("Taken out")
    for row in (0, 2):
        rows.nth(row).get_by_role("button").tap()


def test_an_attempt_whose_answer_got_lost_counts_once(open_page: OpenPage) -> None:
    page = open_page("/skaters/1/log", cut_off=True)
    before = counted(page)

    def swallow(route: Route) -> None:
        if route.request.method == "GET":
            route.continue_()
            return
        route.fetch()
        route.abort()

    page.route("**/skaters/1/log", swallow)
    attempt(page, "2A", "landed clean")
    expect(page.get_by_text("1 tap waits here")).to_be_visible()
    page.unroute("**/skaters/1/log")
    page.reload()
    counts(page, before + 1)
    page.wait_for_function(f"() => {KEPT}.length === 0")
    assert counted(page) == before + 1
    page.get_by_role("button", name="Undo").tap()
    counts(page, before)


def test_a_tap_of_a_live_program_that_waits_is_sent_from_any_page(open_page: OpenPage, address: str) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    page.route("**/pass", lambda route: route.abort())
    tap_of(page, "tail lost").click()
    page.wait_for_function(f"() => {KEPT}.length === 1")
    page.unroute("**/pass")
    page.goto(f"{address}/skaters/1/log")
    page.wait_for_function(f"() => {KEPT}.length === 0")
    assert len(log_of(page, live)) == 1
