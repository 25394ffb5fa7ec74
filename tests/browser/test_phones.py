"""In a real browser: letting a phone in from the button to its first page, and the API page under our own policy."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Page, expect

from app.web.phone_door import own_addresses

pytestmark = pytest.mark.browser
OpenPage = Callable[..., Page]


def test_a_phone_is_let_in_and_removed(open_page: OpenPage, chromium: Browser) -> None:
    if not own_addresses():
        pytest.skip("this machine is in no network: no phone could reach it")
    laptop = open_page("/phones")
    laptop.get_by_role("button", name="Let phones in").click()
    code = laptop.locator(".code").inner_text()
    address = laptop.locator(".address").first.inner_text()
    expect(laptop.get_by_role("img", name="QR code")).to_be_visible()

    phone = chromium.new_context(viewport={"width": 360, "height": 740}).new_page()
    phone.goto(f"{address}/")
    expect(phone).to_have_url(f"{address}/pair")
    phone.get_by_label("Code on the laptop's screen").fill("AAAA-AAAA")
    phone.get_by_role("button", name="Pair").click()
    expect(phone.get_by_role("alert")).to_contain_text("look at the laptop")
    phone.get_by_label("Code on the laptop's screen").fill(code.lower())
    phone.get_by_label("A name for this phone").fill("boards")
    phone.get_by_role("button", name="Pair").click()
    expect(phone).to_have_url(f"{address}/")

    laptop.reload()
    laptop.get_by_role("button", name="Remove boards").click()
    phone.reload()
    expect(phone).to_have_url(f"{address}/pair")
    laptop.get_by_role("button", name="Shut phones out").click()
    expect(laptop.get_by_role("button", name="Let phones in")).to_be_visible()
    phone.context.close()


def test_the_api_page_is_drawn_from_local_files(open_page: OpenPage) -> None:
    page = open_page("/api/docs")  # an error in the console, a refused style among them, fails the test
    expect(page.locator("#operations-engine-score_api_score_post")).to_be_visible()
    expect(page.locator("#operations-engine-advise_api_advise_post")).to_be_visible()
