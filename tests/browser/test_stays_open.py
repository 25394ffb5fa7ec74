"""What somebody has opened on the live screen stays open when another screen's tap brings a new board."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import start_run_through

pytestmark = pytest.mark.browser


def test_an_opened_part_stays_open_when_the_board_is_fetched_anew(open_page: OpenPage, address: str) -> None:
    """Used to be: the part snapped shut under the finger."""
    page = open_page()
    page.goto(f"{address}/")
    live = start_run_through(page)
    part = page.locator("details").filter(has=page.locator("summary", has_text="Type a code"))
    part.locator("summary").click()
    expect(part).to_have_attribute("open", "")
    seen = page.locator("#board").get_attribute("data-seen")
    other = open_page()
    other.goto(live)
    other.get_by_role("button", name="Music starts now").click()
    expect(page.locator("#board")).not_to_have_attribute("data-seen", seen or "", timeout=10_000)
    expect(part).to_have_attribute("open", "")
