"""Forms beside the live screen on a link that goes: what was typed stays, what was sent arrives once, and a stop stops.

Used to be: a plain form without the connection led to the browser's own error page, and what it held was gone.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import log, start_run_through
from tests.browser.test_goes_on_alone import log as log_of, log_kept, ready

pytestmark = pytest.mark.browser


def on_page(open_page: OpenPage, path: str) -> tuple[Page, str]:
    """A program with one pass logged, at one of its pages."""
    page = open_page(cut_off=True)
    live = start_run_through(page)
    log(page, "tail lost")
    page.goto(f"{live}/{path}")
    return page, live


@pytest.mark.parametrize("path", ["aim", "passes"])
def test_somebody_hurt_stops_a_page_of_forms_at_once(open_page: OpenPage, path: str) -> None:
    page, live = on_page(open_page, path)
    page.context.set_offline(True)
    page.get_by_role("button", name="Hurt / hit head").first.click()
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    page.context.set_offline(False)
    expect(page.get_by_text("Lift the stop (an adult only)")).to_be_visible()
    assert [entry["kind"] for entry in log_of(page, live)] == ["pass skated", "stopped"]


def test_a_stop_on_another_phone_shows_on_the_page_of_the_aim(open_page: OpenPage) -> None:
    page, live = on_page(open_page, "aim")
    page.wait_for_function("() => window.recoupHearing === true")
    other = open_page("/live/" + live.rsplit("/", 1)[1])
    other.get_by_role("button", name="Hurt / hit head").click()
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()


def test_a_correction_without_the_connection_is_kept_and_arrives_once(open_page: OpenPage) -> None:
    page, live = on_page(open_page, "passes")
    page.locator("summary", has_text="Pass 1 was something else").click()
    page.get_by_label("What it really was").select_option(label="the code below")
    page.get_by_label("A code, as skated").fill("3Lz<+2T")
    page.context.set_offline(True)
    page.get_by_role("button", name="Correct pass 1").click()
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet")
    expect(page.get_by_label("A code, as skated")).to_have_value("3Lz<+2T")
    page.context.set_offline(False)
    page.wait_for_url(live)
    expect(page.locator(".latest")).to_contain_text("3Lz<+2T")
    assert [entry["kind"] for entry in log_of(page, live)] == ["pass skated", "corrected"]
    assert log_kept(page) == []


def test_a_correction_that_cannot_be_read_says_so_and_stays_typed(open_page: OpenPage) -> None:
    page, live = on_page(open_page, "passes")
    page.locator("summary", has_text="Pass 1 was something else").click()
    page.get_by_label("What it really was").select_option(label="the code below")
    page.get_by_label("A code, as skated").fill("3Lz+9T")
    page.get_by_role("button", name="Correct pass 1").click()
    expect(page.locator("#unsaved")).to_contain_text("cannot read '3Lz+9T' at '9T'")
    expect(page.get_by_label("A code, as skated")).to_have_value("3Lz+9T")
    assert page.url == f"{live}/passes"


def test_an_aim_that_cannot_be_read_says_so_and_one_that_can_is_set_once_the_link_is_back(
    open_page: OpenPage,
) -> None:
    page, live = on_page(open_page, "aim")
    page.get_by_label("best chance to reach a total").check()
    page.get_by_label("That total").fill("many")
    page.get_by_role("button", name="Set the aim").click()
    expect(page.locator("#board > .notice")).to_contain_text("'many' given")
    expect(page.get_by_label("That total")).to_have_value("many")
    page.get_by_label("That total").fill("95.50")
    page.context.set_offline(True)
    page.get_by_role("button", name="Set the aim").click()
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet")
    expect(page.get_by_label("That total")).to_have_value("95.50")
    page.context.set_offline(False)
    page.wait_for_function("() => document.querySelector('input[name=points]')?.defaultValue === '95.50'")
    assert [entry["kind"] for entry in log_of(page, live)] == ["pass skated", "aim set"]


def test_a_code_nobody_can_read_typed_without_the_connection_is_said_when_it_is_back(
    open_page: OpenPage,
) -> None:
    """Used to be: the page took it as logged, the laptop did not, and nobody was told."""
    page = open_page(cut_off=True)
    live = start_run_through(page)
    ready(page)
    page.context.set_offline(True)
    page.locator(".pad summary").filter(has_text="Type a code").click()
    page.get_by_label("As skated").fill("3Lz+9T")
    page.get_by_role("button", name="Log this code").click()
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    page.context.set_offline(False)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    expect(page.locator("#unsaved")).to_contain_text("cannot read '3Lz+9T' at '9T'")
    expect(page.locator(".pad h2")).to_contain_text("Pass 1 of")
    assert log_of(page, live) == []
