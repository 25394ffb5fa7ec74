"""Every screen under axe-core: no serious and no critical fault, light and dark, every `details` open.

The rules are axe-core's own (WCAG 2.0 to 2.2, levels A and AA, and its best practices); the file comes with the
package axe-playwright-python.
"""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import every_screen

pytestmark = pytest.mark.browser

GRAVE = ("serious", "critical")


def faults(page: Page) -> list[str]:
    """Serious and critical faults of the page as it stands."""
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    said = Axe().run(page).response
    assert said["passes"], "axe looked at nothing"
    grave = [one for one in said["violations"] if one["impact"] in GRAVE]
    return [f"{one['id']}: {node['html']}" for one in grave for node in one["nodes"]]


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_no_screen_has_a_serious_fault(open_page: OpenPage, address: str, dark: bool) -> None:
    page = open_page(dark=dark, cut_off=True)
    for screen in every_screen(page, address):
        assert faults(page) == [], screen


def test_the_pairing_page_has_no_serious_fault(open_page: OpenPage, address: str) -> None:
    page = open_page("/phones")
    page.get_by_role("button", name="Let phones in").click()
    expect(page.get_by_role("button", name="Shut phones out")).to_be_visible()
    assert faults(page) == []
    page.get_by_role("button", name="Shut phones out").click()


def test_axe_finds_a_fault_that_is_there(open_page: OpenPage) -> None:
    page = open_page()
    page.evaluate("document.querySelector('main').innerHTML += '<button></button>'")
    assert any("button-name" in one for one in faults(page))
