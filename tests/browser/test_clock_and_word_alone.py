"""Without the connection: a skater who stops is seen at once, the word alone opens, and no page is lost.

What an interruption costs: ISU Special Regulations, as the demo's rulebook has it; the words are the screen's own.
"""

from __future__ import annotations

import re
from datetime import datetime

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import start_run_through
from tests.browser.test_goes_on_alone import log, log_kept, ready, tap

pytestmark = pytest.mark.browser


def seconds(page: Page) -> int:
    """What the clock says."""
    minutes, _, rest = page.locator(".clock-now").inner_text().partition(":")
    return 60 * int(minutes) + int(rest)


def alone(open_page: OpenPage, music: bool) -> tuple[Page, str]:
    """A program whose page goes on by itself from the first pass; the music starts before the cut, or not."""
    page = open_page(cut_off=True)
    live = start_run_through(page)
    if music:
        page.get_by_role("button", name="Music starts now").click()
        expect(page.locator(".clock-face")).to_be_visible()
    ready(page)
    page.context.set_offline(True)
    return page, live


@pytest.mark.parametrize("music", [True, False], ids=["music before", "music alone"])
def test_the_music_stops_at_once_and_goes_on_from_there(open_page: OpenPage, music: bool) -> None:
    """Used to be: it was said to show when the connection is back, and the clock ran on."""
    page, live = alone(open_page, music)
    tap(page, 1)
    if not music:
        page.get_by_role("button", name="Music starts now").click()
    page.wait_for_function("() => document.querySelector('.clock-now').textContent !== '0:00'")
    page.locator("details.breaks summary").click()
    page.get_by_role("button", name="Music stopped").click()
    broken = page.locator(".broken")
    expect(broken).to_contain_text("Music stopped")
    expect(broken.locator("li")).to_have_count(3)
    for step in ("over 10 up to 20 s", "over 20 up to 30 s", "over 30 up to 40 s"):
        expect(broken).to_contain_text(step)
    page.locator("details.breaks summary").click()
    expect(page.locator(".breaks")).to_contain_text("up to three minutes")
    expect(page.get_by_role("button", name="Skater stopped, music runs")).to_have_count(0)
    stood = seconds(page)
    expect(page.locator(".clock-broken")).to_have_text("for 0:02")
    assert seconds(page) == stood
    page.get_by_role("button", name="Skating again").click()
    expect(page.locator(".broken")).to_have_count(0)
    page.wait_for_function(
        "was => document.querySelector('.clock-now').textContent !== was", arg=f"0:{stood:02}"
    )
    assert seconds(page) <= stood + 2
    expect(page.locator("#board .notice")).to_have_count(0)
    page.context.set_offline(False)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    kinds = [entry["kind"] for entry in log(page, live)]
    wanted = ["pass skated", "interrupted", "resumed"]
    wanted.insert(0 if music else 1, "music started")
    assert kinds == wanted
    assert abs(seconds(page) - stood) < 60


def test_the_skater_stops_while_the_music_runs(open_page: OpenPage) -> None:
    page, live = alone(open_page, music=True)
    tap(page, 1)
    page.locator("details.breaks summary").click()
    page.get_by_role("button", name="Skater stopped, music runs").click()
    expect(page.locator(".broken")).to_contain_text("Skater stopped")
    before = page.locator(".clock-now").inner_text()
    expect(page.locator(".clock-now")).not_to_have_text(before)
    tap(page, 2)
    expect(page.locator(".broken")).to_be_visible()
    page.get_by_role("button", name="Skating again").click()
    expect(page.locator(".broken")).to_have_count(0)
    page.locator("details.breaks summary").click()
    page.get_by_role("button", name="Music starts again from the beginning").click()
    expect(page.locator(".clock-now")).to_contain_text("0:0")
    page.context.set_offline(False)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    started = [entry for entry in log(page, live) if entry["kind"] == "music started"]
    assert started[1]["payload"]["instead_of"] == [started[0]["id"]]


def test_the_word_alone_opens_without_the_laptop_and_closes_again(open_page: OpenPage) -> None:
    """Used to be: over plain http the browser's own error page, and the program was out of reach."""
    page, live = alone(open_page, music=True)
    word = page.locator("#board h1")
    page.get_by_role("link", name="Show big").click()
    expect(page.locator(".big-word")).to_be_visible()
    expect(word).to_have_text("long wait, then tap tap")
    assert page.url == f"{live}/big"
    page.get_by_role("link", name="Back to the pad").click()
    expect(page.locator(".clock-now")).to_contain_text("0:")
    tap(page, 1)
    page.get_by_role("link", name="Show big").click()
    expect(word).not_to_have_text("long wait, then tap tap")
    alone_says = word.inner_text()
    page.context.set_offline(False)
    expect(page.locator(".offline")).to_have_count(0)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    expect(word).to_have_text(alone_says)
    assert len(log(page, live)) == 2
    page.go_back()
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")


def test_from_the_word_alone_the_pad_comes_back_though_the_link_went(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    page.goto(f"{live}/big")
    page.wait_for_function("() => JSON.stringify(localStorage).includes('recoup.place')")
    page.context.set_offline(True)
    page.get_by_role("link", name="Back to the pad").click()
    tap(page, 1)
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    assert len(log_kept(page)) == 1
    page.context.set_offline(False)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    assert len(log(page, live)) == 1


def test_a_link_to_another_page_does_not_lose_this_one(open_page: OpenPage) -> None:
    page, live = alone(open_page, music=False)
    tap(page, 1)
    expect(page.locator(".offline")).to_contain_text("1 tap")
    page.get_by_role("link", name="Leave this screen").click()
    expect(page.locator(".notice").filter(has_text=re.compile("no other page opens"))).to_be_visible()
    assert page.url == live


@pytest.mark.parametrize("hours", [1, -1])
def test_a_phone_whose_own_clock_is_put_right_meanwhile_moves_no_tap_and_no_clock(
    open_page: OpenPage, hours: int
) -> None:
    """A phone without a network often gets the right time together with the link."""
    page, live = alone(open_page, music=True)
    tap(page, 1)
    expect(page.locator(".offline")).to_contain_text("1 tap")
    page.evaluate("hours => { const was = Date.now; Date.now = () => was() + hours * 3_600_000; }", hours)
    page.wait_for_timeout(600)  # two steps of the running clock
    assert seconds(page) < 120
    page.context.set_offline(False)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    started, skated = log(page, live)
    after = datetime.fromisoformat(skated["at"]) - datetime.fromisoformat(started["at"])
    assert 0 <= after.total_seconds() < 120
