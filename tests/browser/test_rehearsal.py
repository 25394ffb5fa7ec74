"""A rehearsal on a phone, from the sheet to the review: drills, a call in large letters, the answer, what came."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import PHONE, OpenPage
from tests.browser.test_goes_on_alone import ready

pytestmark = pytest.mark.browser

LEAST_TARGET, LARGE = 48, 50
SEEDS = range(30)


def open_sheet(open_page: OpenPage, scripts: bool = True) -> Page:
    page = open_page("/layouts/1", scripts=scripts)
    page.get_by_role("link", name="Rehearse on the ice").tap()
    expect(page.get_by_role("button", name="Start the rehearsal")).to_be_visible(timeout=120_000)
    return page


def start_with_a_call(page: Page) -> str:
    """A rehearsal whose first pass is called; its address."""
    sheet = page.url
    for seed in SEEDS:
        page.goto(sheet)
        page.get_by_label("Draw number").fill(str(seed))
        page.get_by_role("button", name="Start the rehearsal").tap()
        page.wait_for_url("**/live/*")
        if page.locator(".line.called").count():
            return page.url
    raise AssertionError(f"none of {len(SEEDS)} seeds calls at pass 1")


def tap_and_wait(page: Page, button: str) -> None:
    """One tap on the pad; the board of the next pass is there afterwards."""
    seen = page.locator("#board").get_attribute("data-seen")
    page.locator(button).first.tap()
    expect(page.locator(f'#board:not([data-seen="{seen}"])')).to_be_visible()


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_a_rehearsal_run_through_from_start_to_end(open_page: OpenPage, scripts: bool) -> None:
    page = open_sheet(open_page, scripts)
    assert page.viewport_size == PHONE
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    live = start_with_a_call(page)
    said = page.locator(".line.called .say")
    box = said.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < PHONE["height"] / 3
    assert float(said.evaluate("one => getComputedStyle(one).fontSize").removesuffix("px")) >= LARGE
    called = said.inner_text()
    for button in page.locator(".taps button:visible").all():
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= LEAST_TARGET
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    tap_and_wait(page, ".as-called button")
    expect(page.locator(".line.swap .say")).to_have_text("Pass 6: 3S+3T")
    for _ in range(4):
        expect(page.locator(".line.called")).to_have_count(0)
        tap_and_wait(page, ".taps button.first")
    tap_and_wait(page, ".taps .swap-first")
    expect(page.locator(".line .say")).to_have_text("All passes logged")
    page.get_by_role("link", name="Look at the program").tap()
    expect(page.get_by_text(f"“{called}” was called.")).to_be_visible()
    expect(page.get_by_text("Tried: 3S+3T, landed.")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.goto(f"{live.split('/live/')[0]}/skaters/1/load")
    expect(page.locator("svg.load").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_singles_by_one_tap_the_whole_answer_by_two(open_page: OpenPage) -> None:
    page = open_sheet(open_page)
    page.get_by_role("button", name="Log: done in singles").first.tap()
    expect(page.locator(".done li")).to_have_count(1, timeout=60_000)
    page.get_by_role("link", name="Log: how it ended").first.tap()
    page.get_by_role("button", name="landed clean").tap()
    expect(page.locator(".done li")).to_have_count(2, timeout=120_000)
    for _ in range(2):
        page.locator(".done .undo").first.tap()
        page.wait_for_load_state()
        expect(page.get_by_role("button", name="Start the rehearsal")).to_be_visible(timeout=120_000)
    expect(page.locator(".done li")).to_have_count(0)


def test_hurt_takes_the_call_off_every_screen(open_page: OpenPage) -> None:
    page = open_sheet(open_page)
    live = start_with_a_call(page)
    page.get_by_role("button", name="Hurt / hit head").tap()
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    expect(page.locator(".called")).to_have_count(0)
    page.goto(f"{live}/big")
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()


def test_without_the_laptop_nothing_is_called_and_logging_goes_on(open_page: OpenPage) -> None:
    live = start_with_a_call(open_sheet(open_page))
    page = open_page("/live/" + live.rsplit("/", 1)[1], cut_off=True)
    expect(page.locator(".line.called")).to_be_visible()
    ready(page)
    page.context.set_offline(True)
    page.locator(".as-called button").tap()
    expect(page.locator(".offline")).to_be_visible(timeout=30_000)
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of 6")
    expect(page.locator(".line.called")).to_have_count(0)
    expect(page.locator("input[name=called]")).to_have_count(0)
    page.locator(".taps button.first").first.tap()
    expect(page.locator(".pad h2")).to_contain_text("Pass 3 of 6")
    page.context.set_offline(False)
    expect(page.locator(".offline")).to_have_count(0, timeout=60_000)
    expect(page.locator(".pad h2")).to_contain_text("Pass 3 of 6")
    page.goto(f"{live}/review")
    expect(page.get_by_text("was called.")).to_be_visible()  # the call stood on the screen when it was done
