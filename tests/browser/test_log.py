"""The practice log on a phone: two taps an attempt, undo by one, without scripts too. The skater is invented."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PHONE, OpenPage

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_an_attempt_takes_two_taps_and_undo_one(open_page: OpenPage, scripts: bool) -> None:
    page = open_page("/skaters/1/log", scripts=scripts)
    assert page.viewport_size == PHONE
    counted = page.get_by_text("counted on this day")
    before = counted.inner_text()
    page.get_by_role("link", name=re.compile(r"^3Lz\+3T")).tap()
    page.get_by_role("button", name=re.compile("fell$")).tap()
    expect(page.get_by_role("status")).to_have_text("Last: 3Lz+3T, fell")
    assert counted.inner_text() != before
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
    for _ in range(2):
        page.get_by_role("link", name="2A", exact=True).tap()
        expect(page.get_by_text("in a run-through")).to_be_visible()
        page.get_by_role("button", name="landed clean").tap()
    expect(page.get_by_role("status")).to_have_text("Last: 2A, landed clean")
    counted = page.get_by_text("counted on this day")
    for _ in range(2):
        before = counted.inner_text()
        page.get_by_role("button", name="Undo").tap()
        expect(counted).not_to_have_text(before)


def test_a_pasted_table_is_read_and_asked_about(open_page: OpenPage) -> None:
    page = open_page("/skaters/1/log/table")
    page.get_by_label("Paste the table").fill("date,element,result\n03/04/2026,2A,clean")
    page.get_by_role("button", name="Show what is understood").tap()
    expect(page.get_by_text("Lines understood: 0")).to_be_visible()
    page.get_by_role("button", name="The day first").tap()
    expect(page.get_by_text("Lines understood: 1")).to_be_visible()
