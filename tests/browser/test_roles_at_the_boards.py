"""Coach, logger and viewer through the phones' door, each in a browser of its own: who sees and who may do what."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage, PhoneDoorway
from tests.browser.screens import make_day, start_run_through
from tests.browser.test_goes_on_alone import ready, tap

pytestmark = pytest.mark.browser

OF_THE_COACH = re.compile(
    "Hide advice|Show advice|Put a pass right|What is enough|Planned and skated|Look at the program"
)
ADVICE = ".points, .left, .col-why, .line.keep, .line.swap, .swap-first"


def opened(phone: Page, door: PhoneDoorway, live: str) -> Page:
    """That program on that phone."""
    phone.goto(door.address + live[live.index("/live/") :])
    expect(phone.locator("#board")).to_be_visible()
    return phone


def test_a_coach_a_logger_and_a_viewer_share_a_program(open_page: OpenPage, phone_door: PhoneDoorway) -> None:
    live = start_run_through(open_page())
    coach, logger, viewer = (
        opened(phone_door.pair(role, f"the {role}"), phone_door, live)
        for role in ("coach", "logger", "viewer")
    )
    expect(coach.locator(".line .say")).to_contain_text("Keep the plan")
    expect(coach.get_by_role("button", name=OF_THE_COACH)).not_to_have_count(0)

    expect(logger.locator(".line")).to_contain_text("This phone logs. The coach sees advice.")
    assert logger.locator(ADVICE).count() == 0
    assert logger.locator("a, button").filter(has_text=OF_THE_COACH).count() == 0

    expect(viewer.locator(".line .say")).to_contain_text("Keep the plan")
    assert viewer.locator(".pad, .undo, .redo, .music").count() == 0
    assert viewer.locator("a, button").filter(has_text=OF_THE_COACH).count() == 0

    tap(logger, 1)
    for phone in (coach, logger, viewer):
        expect(phone.locator(".latest")).to_contain_text("Pass 1: tail lost (3Lz)")
    expect(coach.locator(".line.swap")).to_be_visible()
    expect(viewer.locator(".line.swap")).to_be_visible()
    assert logger.locator(ADVICE).count() == 0

    viewer.get_by_role("button", name="Hurt / hit head").click()
    for phone in (coach, logger, viewer):
        expect(phone.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    expect(coach.get_by_text("Lift the stop (an adult only)")).to_be_visible()
    for phone in (logger, viewer):
        expect(phone.locator("#board .notice", has_text="The coach lifts the stop")).to_be_visible()
        assert phone.get_by_role("button", name="Lift the stop").count() == 0


def test_a_viewer_cannot_log_whatever_its_browser_sends(
    open_page: OpenPage, phone_door: PhoneDoorway
) -> None:
    live = start_run_through(open_page())
    viewer = opened(phone_door.pair("viewer", "a viewer"), phone_door, live)
    status = viewer.evaluate(
        """async () => (await fetch(`${location.pathname}/pass`, { method: 'POST',
             body: new URLSearchParams({ number: '1', tap: 'left out', event_id: 'forged' }) })).status"""
    )
    assert status == 403
    assert open_page().request.get(f"{live}/log?after=0").json() == []


def test_a_logger_without_the_link_logs_on_and_sees_no_advice(
    open_page: OpenPage, phone_door: PhoneDoorway
) -> None:
    """Over plain http, as a phone at the boards has it: the open page goes on by itself."""
    laptop = open_page()
    live = start_run_through(laptop)
    logger = opened(phone_door.pair("logger", "a logger"), phone_door, live)
    expect(logger.locator("#awake")).to_contain_text("it does not start again without the laptop")
    ready(logger)
    logger.context.set_offline(True)
    for number in (1, 2):
        tap(logger, number)
        expect(logger.locator(".offline")).to_contain_text(f"{number} tap")
    expect(logger.locator(".line .say")).to_contain_text("Logging only")
    assert logger.locator(ADVICE).count() == 0
    logger.context.set_offline(False)
    expect(laptop.locator(".latest")).to_contain_text("Pass 2: as planned")
    expect(logger.locator("#board[data-local]")).to_have_count(0)


def test_a_layout_chosen_in_the_warm_up_reaches_a_phone_that_was_without_the_link(
    open_page: OpenPage, address: str, phone_door: PhoneDoorway
) -> None:
    laptop = open_page()
    path = make_day(laptop, address, "Invented Cup without a link")
    laptop.locator(".starts > li").first.get_by_role("button", name="Live screen").click()
    laptop.wait_for_url("**/live/*")
    live = laptop.url
    logger = opened(phone_door.pair("logger", "at the boards"), phone_door, live)
    expect(logger.locator(".pad h2")).to_contain_text("3Lz+3T")
    logger.context.set_offline(True)
    laptop.goto(address + path)
    laptop.get_by_role("link", name="Warm-up: A or B").first.click()
    laptop.get_by_role("button", name="Skate B").click()
    expect(laptop.locator("#layouts li.now h2")).to_contain_text("B")
    expect(logger.locator(".pad h2")).to_contain_text("3Lz+3T")
    logger.context.set_offline(False)
    expect(logger.locator(".pad h2")).to_contain_text("3Lz+2T", timeout=30_000)
    tap(logger, 1)
    expect(logger.locator(".latest")).to_contain_text("Pass 1: tail lost (3Lz)")
