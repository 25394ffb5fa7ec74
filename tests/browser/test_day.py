"""A competition day on two devices: the layout chosen on the laptop is on the phone, the next skater one tap away."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import log, make_day

pytestmark = pytest.mark.browser


def two(open_page: OpenPage, address: str) -> tuple[Page, Page, str]:
    """A day with two starts, open on two devices; its path."""
    laptop = open_page()
    path = make_day(laptop, address, "Invented Two Device Cup")
    phone = open_page(path)
    return laptop, phone, path


def test_the_layout_chosen_on_one_device_is_seen_on_the_other(open_page: OpenPage, address: str) -> None:
    laptop, phone, _ = two(open_page, address)
    laptop.get_by_role("link", name=re.compile("^Warm-up: A or B")).first.click()
    phone.get_by_role("link", name=re.compile("^Warm-up: A or B")).first.click()
    expect(phone.locator("#layouts li.now h2")).to_contain_text("A")
    laptop.get_by_role("button", name="Skate B").click()
    expect(laptop.locator("#layouts li.now h2")).to_contain_text("B")
    expect(phone.locator("#layouts li.now h2")).to_contain_text("B")


def test_an_open_live_screen_changes_to_the_chosen_layout_and_keeps_it(
    open_page: OpenPage, address: str
) -> None:
    laptop, phone, path = two(open_page, address)
    phone.get_by_role("button", name=re.compile("^Live screen")).first.click()
    phone.wait_for_url("**/live/*")
    phone.wait_for_function("() => window.recoupHearing === true")
    before = phone.locator(".pad h2").inner_text()
    laptop.reload()
    laptop.get_by_role("link", name=re.compile("^Warm-up: A or B")).first.click()
    laptop.get_by_role("button", name="Skate B").click()
    expect(phone.locator(".pad h2")).not_to_have_text(before)
    log(phone, "as planned")
    expect(laptop.locator("#layouts .now .status")).to_contain_text("being skated")
    expect(laptop.get_by_role("button", name="Skate A")).to_have_count(0)
    laptop.goto(address + path)
    expect(laptop.locator("#starts .now .status")).to_contain_text("skating")


def test_one_tap_to_the_next_skater_and_back_and_go_on_from_the_first_page(
    open_page: OpenPage, address: str
) -> None:
    phone, _, _ = two(open_page, address)
    phone.get_by_role("button", name=re.compile("^Live screen")).first.click()
    first = phone.url
    log(phone, "as planned")
    phone.get_by_role("button", name=re.compile("^Next: ")).click()
    phone.wait_for_url(lambda url: url != first)
    phone.get_by_role("link", name=re.compile("^Before: ")).click()
    phone.wait_for_url(first)
    expect(phone.locator(".pad h2")).to_contain_text("Pass 2")
    phone.goto(address + "/")
    phone.get_by_role("link", name=re.compile("^Go on: ")).first.click()
    phone.wait_for_url(first)


def test_the_day_works_without_scripts(open_page: OpenPage, address: str) -> None:
    page = open_page(scripts=False)
    make_day(page, address, "Invented Plain Cup")
    page.get_by_role("link", name=re.compile("^Warm-up: A or B")).first.click()
    page.get_by_role("button", name="Skate B").click()
    expect(page.locator("#layouts li.now h2")).to_contain_text("B")
    page.get_by_role("button", name=re.compile("^Live screen")).or_(
        page.get_by_role("link", name=re.compile("^Live screen"))
    ).first.click()
    expect(page.locator(".pad h2")).to_contain_text("Pass 1")
