"""In every language the live screen, the trainer and the card fit a small phone: nothing runs over, nothing is cut."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from app.web.languages import LANGUAGES
from tests.browser.conftest import OpenPage
from tests.browser.test_access import faults

pytestmark = pytest.mark.browser

SMALL = {"width": 360, "height": 640}
LEAST_TARGET, LEAST_HEADLINE = 48, 32
CUT = """() => [...document.querySelectorAll("button, a.button")]
  .filter((one) => one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 2)
  .map((one) => one.textContent.trim())"""
SMALLER = """(least) => [...document.querySelectorAll("main button, main a.button, main summary")]
  .filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < least - 0.5)
  .map((one) => one.textContent.trim())"""


def fits(page: Page, code: str) -> None:
    """The page is of that language, no wider than the phone, with whole labels on targets of 48 pixels."""
    assert page.locator("html").get_attribute("lang") == LANGUAGES[code].page
    assert page.evaluate("document.documentElement.scrollWidth") <= SMALL["width"]
    assert page.evaluate(CUT) == []
    assert page.evaluate(SMALLER, LEAST_TARGET) == []


def in_language(open_page: OpenPage, code: str) -> Page:
    """A small phone on the first page, with its language chosen."""
    page = open_page("/language")
    page.set_viewport_size(SMALL)  # type: ignore[arg-type]
    page.locator(f'button[name="language"][value="{code}"]').click()
    page.wait_for_url(lambda address: not address.endswith("/language"))
    return page


@pytest.mark.parametrize("code", LANGUAGES)
def test_the_live_screen_fits(open_page: OpenPage, code: str) -> None:
    page = in_language(open_page, code)
    page.locator("article.card form button.primary").first.click()
    page.wait_for_url("**/live/*")
    page.locator(".music").click()
    expect(page.locator(".clock-face")).to_be_visible()
    taps = page.locator(".pad .taps").first.locator
    for slip in ('button[value$=" lost-2"]', 'button[value*=" fell-"]'):
        place = page.locator(".pad h2").inner_text()
        fits(page, code)
        size = page.locator(".line .say").evaluate("one => parseFloat(getComputedStyle(one).fontSize)")
        assert size >= LEAST_HEADLINE
        buttons = page.locator(".pad .taps").first.bounding_box()
        foot = page.locator(".foot").bounding_box()
        assert buttons is not None
        assert foot is not None
        assert buttons["y"] + buttons["height"] <= foot["y"], "a usual tap lies under the foot"
        taps(slip).first.click()
        expect(page.locator(".pad h2")).not_to_have_text(place)
    assert faults(page) == []
    page.locator(".hurt").click()
    expect(page.locator(".stop")).to_be_visible()
    fits(page, code)


@pytest.mark.parametrize("code", [one.code for one in LANGUAGES.values() if not one.terms_only])
def test_trainer_and_card_fit(open_page: OpenPage, address: str, code: str) -> None:
    page = in_language(open_page, code)
    page.goto(f"{address}/layouts/1/trainer/call")
    expect(page.locator(".answers")).to_be_attached(timeout=60_000)
    fits(page, code)
    page.locator(".answers button").last.click()
    expect(page.locator(".verdict-mark")).to_be_attached(timeout=60_000)
    fits(page, code)
    page.goto(f"{address}/layouts/1/card?swaps=2")
    expect(page.locator(".keeps")).to_be_attached(timeout=60_000)
    fits(page, code)
    assert faults(page) == []
