"""A session with the call-out trainer on a phone, with and without scripts. The skater is invented."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import PHONE, OpenPage

pytestmark = pytest.mark.browser

LEAST_TARGET = 48


def counts(page: Page) -> list[int]:
    """Known, getting there, new, as the start page counts them."""
    said = page.get_by_text(re.compile(r"\d+ known, \d+ getting there, \d+ new")).inner_text()
    return [int(number) for number in re.findall(r"\d+", said)]


def open_trainer(open_page: OpenPage, layout: int, scripts: bool) -> Page:
    page = open_page(f"/layouts/{layout}", scripts=scripts)
    page.get_by_role("link", name="Train the answers").tap()
    expect(page.get_by_role("link", name="Call one")).to_be_visible(timeout=60_000)
    return page


@pytest.mark.parametrize(
    ("layout", "scripts"), [(2, True), (3, False)], ids=["with scripts", "without scripts"]
)
def test_a_session_on_a_phone(open_page: OpenPage, layout: int, scripts: bool) -> None:
    page = open_trainer(open_page, layout, scripts)
    assert page.viewport_size == PHONE
    known, getting_there, new = counts(page)
    page.get_by_role("link", name="Call one").tap()
    asked = set()
    for _ in range(3):
        expect(page.locator(".answers button").first).to_have_text("Keep the plan")
        page.wait_for_load_state()
        asked.add(page.locator("h1").inner_text())
        for button in page.locator(".answers button").all():
            box = button.bounding_box()
            assert box is not None
            assert box["height"] >= LEAST_TARGET
            assert box["y"] + box["height"] <= PHONE["height"]
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        page.locator(".answers button").last.tap()
        expect(page.locator(".verdict-mark")).to_be_visible()
        page.get_by_role("link", name="Next call").tap()
    expect(page.locator(".answers")).to_be_visible()
    page.locator(".banner-link").tap()
    after = counts(page)
    assert sum(after) == known + getting_there + new
    assert after[2] == new - len(asked)


def test_the_clock_counts_down_and_then_leaves_time(open_page: OpenPage) -> None:
    page = open_trainer(open_page, 2, True)
    page.get_by_role("link", name="Call one").tap()
    word = page.locator(".count-word")
    expect(word).to_have_text("2 s")
    expect(word).to_have_text("Take your time")
    page.get_by_role("button", name="Keep the plan").tap()
    expect(page.locator(".verdict-mark")).to_be_visible()
