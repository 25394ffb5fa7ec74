"""In a real browser: letting a phone in from the button to its first page, and the API page under our own policy."""

from __future__ import annotations

from urllib.parse import urljoin

import pytest
from playwright.sync_api import Browser, expect

from app.web.phone_door import own_addresses
from tests.browser.conftest import OpenPage, PhoneDoorway
from tests.browser.screens import start_run_through

pytestmark = pytest.mark.browser
KEPT = """number => Object.keys(localStorage).filter(key => key.startsWith('recoup.place.')).join()
    === 'recoup.place.' + number"""
"""Whether that program is the one whose place this browser keeps."""


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


def test_what_a_removed_phone_showed_goes_from_its_screen(
    phone_door: PhoneDoorway, open_page: OpenPage
) -> None:
    # The board of a skater stayed on the screen until somebody loaded the page anew.
    program = start_run_through(open_page("/"))
    phone = phone_door.pair("viewer", "grandstand")
    phone.goto(f"{phone_door.address}/live/{number_of(program)}")
    expect(phone.locator("#board")).to_be_visible()
    phone_door.remove("grandstand")
    expect(phone).to_have_url(f"{phone_door.address}/pair", timeout=20_000)
    expect(phone.locator("#board")).to_have_count(0)


def test_a_deleted_program_goes_from_a_screen_and_from_what_the_browser_keeps(open_page: OpenPage) -> None:
    kept = open_page("/", cut_off=True)
    first = start_run_through(kept)
    kept.wait_for_function(KEPT, arg=number_of(first), timeout=60_000)
    kept.goto(urljoin(first, "/"))  # no page is open on the first one any more
    second = start_run_through(kept)
    laptop = open_page("/")
    for program in (first, second):
        laptop.goto(urljoin(program, f"/data/programs/{number_of(program)}/delete"))
        laptop.get_by_role("checkbox").first.check()
        laptop.get_by_role("button", name="Delete").click()
        expect(laptop).to_have_url(urljoin(program, "/"))
    expect(kept.locator("#board")).to_have_count(0, timeout=20_000)
    third = start_run_through(laptop)
    kept.goto(third)
    kept.wait_for_function(KEPT, arg=number_of(third), timeout=60_000)


def number_of(program: str) -> str:
    """The number at the end of a program's address."""
    return program.rsplit("/", 1)[1]


def test_the_api_page_is_drawn_from_local_files(open_page: OpenPage) -> None:
    page = open_page("/api/docs")  # an error in the console, a refused style among them, fails the test
    expect(page.locator("#operations-engine-score_api_score_post")).to_be_visible()
    expect(page.locator("#operations-engine-advise_api_advise_post")).to_be_visible()
