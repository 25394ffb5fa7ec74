"""No connection: the open page logs and advises to the end, and everything arrives once, in order."""

from __future__ import annotations

import json
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import start_run_through

pytestmark = pytest.mark.browser

TAPS = (
    "tail lost",
    "as planned",
    "fell",
    "popped",
    "as planned",
    "with an error",
    "as planned",
    "as planned",
)
"""What happens on pass 1, 2, …; where a pad has no such button, the pass went as planned."""
KEPT = "Object.keys(localStorage).filter((key) => key.startsWith('recoup.tap.'))"
"""The keys of what waits in the browser."""


def ready(page: Page) -> None:
    """Wait until the page holds the policy for where the program stands."""
    page.wait_for_function(
        """() => {
            const board = document.getElementById('board');
            const kept = JSON.parse(localStorage.getItem(`recoup.place.${board.dataset.program}`) ?? 'null');
            const logged = Number(document.querySelector('#board .undo')?.textContent.match(/\\d+/)?.[0] ?? 0);
            return kept !== null && kept.at.place === logged;
        }""",
        timeout=60_000,
    )


def passes(page: Page) -> int:
    """How many passes the program has."""
    return int(page.locator(".pad h2").inner_text().split(" of ")[1].split()[0])


def tap(page: Page, number: int) -> str:
    """Tap what happens on that pass; gives the value of the button."""
    pad = page.locator(".pad")
    expect(pad.locator("h2")).to_contain_text(f"Pass {number} of")
    buttons = pad.locator(".taps").first.locator("button")
    wanted = buttons.filter(has=page.get_by_text(TAPS[number - 1], exact=True))
    button = wanted.first if wanted.count() else buttons.first
    value = str(button.get_attribute("value"))
    button.click()
    return value


def log(page: Page, live: str) -> list[dict[str, Any]]:
    """The log of the program, from the laptop."""
    text = page.request.get(f"{live}/log?after=0").text()
    found: list[dict[str, Any]] = json.loads(text)
    return found


def texts(page: Page) -> dict[str, str]:
    """What the board says, apart from the drawing and the strip."""
    parts = {"line": ".line", "why": ".col-why", "pad": ".pad h2", "left": ".left", "foot": ".foot"}
    return {
        name: " ".join(page.locator(f"#board {where}").all_inner_texts()) for name, where in parts.items()
    }


@pytest.mark.parametrize("before", range(6))
def test_cut_at_every_point_the_program_is_logged_to_the_end(open_page: OpenPage, before: int) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    count, sent = passes(page), []
    for number in range(1, count + 1):
        if number == before + 1:
            ready(page)
            page.context.set_offline(True)
        sent.append(tap(page, number))
        if number > before and number < count:
            expect(page.locator(".offline")).to_contain_text(f"{number - before} tap")
            expect(page.locator(".pad h2")).to_contain_text(f"Pass {number + 1} of")
    if before < count:
        expect(page.get_by_role("heading", name="All passes logged")).to_be_visible()
        assert len(log_kept(page)) == count - before
        page.context.set_offline(False)
    expect(page.locator(".offline")).to_have_count(0)
    page.wait_for_function(f"() => {KEPT}.length === 0")
    entries = log(page, live)
    assert [entry["payload"]["number"] for entry in entries] == list(range(1, count + 1))
    assert [entry["payload"]["tried"] for entry in entries] == [one.partition(" ")[0] for one in sent]
    assert len({entry["id"] for entry in entries}) == count


def log_kept(page: Page) -> list[Any]:
    """What waits in the browser."""
    found: list[Any] = page.evaluate(KEPT)
    return found


def test_the_page_alone_says_what_the_laptop_says(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    start_run_through(page)
    count = passes(page)
    for number in range(1, count):
        ready(page)
        page.context.set_offline(True)
        tap(page, number)
        expect(page.locator(".offline")).to_be_visible()
        expect(page.locator(".pad h2")).to_contain_text(f"Pass {number + 1} of")
        alone = texts(page)
        assert alone["left"]
        assert "⟦" not in page.locator("#board").inner_html()
        page.context.set_offline(False)
        expect(page.locator("#board[data-local]")).to_have_count(0)
        assert alone == texts(page), f"after pass {number}"


def test_undo_and_hurt_work_alone(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    ready(page)
    page.context.set_offline(True)
    tap(page, 1)
    tap(page, 2)
    page.get_by_role("button", name="Undo 2").click()
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    page.get_by_role("button", name="Hurt / hit head").click()
    expect(page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    page.context.set_offline(False)
    expect(page.get_by_text("Lift the stop (an adult only)")).to_be_visible()
    kinds = sorted(entry["kind"] for entry in log(page, live))
    assert kinds == ["pass skated", "pass skated", "stopped", "undone"]


def test_what_the_policy_does_not_hold_is_logged_without_guessing(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    ready(page)
    page.context.set_offline(True)
    page.locator(".pad summary").filter(has_text="Type a code").click()
    page.get_by_label("As skated").fill("1T+1T+1T")
    page.get_by_role("button", name="Log this code").click()
    expect(page.locator(".line")).to_contain_text("Logged; advice when back")
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    assert page.locator(".points, .left").count() == 0
    assert "⟦" not in page.locator("#board").inner_html()
    tap(page, 2)
    page.context.set_offline(False)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    assert [entry["payload"]["number"] for entry in log(page, live)] == [1, 2]


def test_the_link_goes_before_the_page_is_told_where_the_program_stands(open_page: OpenPage) -> None:
    """Used to be: the tap counted from one pass too early, so the pad asked for the same pass again."""
    page = open_page(cut_off=True)
    live = start_run_through(page)
    ready(page)
    page.route("**/policy/here", lambda route: route.abort())
    tap(page, 1)
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    page.context.set_offline(True)
    tap(page, 2)
    expect(page.locator(".offline")).to_contain_text("1 tap")
    expect(page.locator(".pad h2")).to_contain_text("Pass 3 of")
    expect(page.locator(".left")).to_be_visible()
    page.unroute("**/policy/here")
    page.context.set_offline(False)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    assert [entry["payload"]["number"] for entry in log(page, live)] == [1, 2]


def test_another_phone_was_faster_and_the_link_goes(open_page: OpenPage) -> None:
    """The laptop's board is further than the place this page was told: it logs on from the board, without guessing."""
    page, other = open_page(cut_off=True), open_page()
    live = start_run_through(page)
    ready(page)
    page.route("**/policy/here", lambda route: route.abort())
    other.goto(live)
    tap(other, 1)
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    page.context.set_offline(True)
    tap(page, 2)
    expect(page.locator(".pad h2")).to_contain_text("Pass 3 of")
    expect(page.locator(".line")).to_contain_text("Logged; advice when back")
    page.unroute("**/policy/here")
    page.context.set_offline(False)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    assert [entry["payload"]["number"] for entry in log(page, live)] == [1, 2]


def test_a_board_asked_for_before_the_link_went_does_not_bring_the_past_back(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    start_run_through(page)
    ready(page)
    page.route("**/pass", lambda route: route.abort())
    held: list[Route] = []
    page.route("**/news?seen=0", lambda route: held.append(route))
    page.evaluate("() => { htmx.ajax('GET', `${location.pathname}/news?seen=0`, '#board'); }")
    tap(page, 1)
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    before = page.url
    held[0].fulfill(body='<div id="board"><p>Of the past</p></div>', content_type="text/html")
    page.wait_for_timeout(300)
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of")
    assert page.url == before
    page.unroute("**/pass")
    expect(page.locator(".offline")).to_have_count(0)


def test_started_music_and_a_total_to_reach_say_what_they_are_alone(open_page: OpenPage) -> None:
    page = open_page(cut_off=True)
    live = start_run_through(page)
    page.goto(f"{live}/aim")
    page.get_by_label("best chance to reach a total").check()
    page.get_by_label("That total").fill("95.50")
    page.get_by_role("button", name="Set the aim").click()
    expect(page.locator(".spread-mark")).to_be_attached(timeout=30_000)
    page.goto(live)
    ready(page)
    page.context.set_offline(True)
    page.get_by_role("button", name="Music starts now").click()
    expect(page.locator(".clock-now")).to_contain_text("0:0")
    tap(page, 1)
    expect(page.locator(".line")).to_contain_text("A total to reach is beyond this phone alone")
    page.context.set_offline(False)
    expect(page.locator("#board[data-local]")).to_have_count(0)
    assert [entry["kind"] for entry in log(page, live)][-2:] == ["music started", "pass skated"]
