"""A whole free skate on a phone: at most two taps a pass, one large line, undo, stop, without scripts too.

The skater, the program and every chance are the invented demo.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import SHORT, start_run_through

pytestmark = pytest.mark.browser


@dataclass
class Phone:
    """A thumb on the live screen; counts its taps."""

    page: Page
    taps: int = 0

    def start(self, kind: str = "run-through", event: str = "") -> Phone:
        """Start the first layout of the demo."""
        card = self.page.locator("article.card").filter(has_text="ISU 2026/27, senior women, free skating")
        if kind == "competition":
            card.get_by_text("Start a competition program").click()
            card.get_by_label("Event, for your own list").fill(event)
            card.get_by_role("button", name="Start, logging only").click()
        else:
            card.get_by_role("button", name="Start a run-through").click()
        self.page.wait_for_url("**/live/*")
        return self

    def tap(self, words: str, group: str | None = None) -> Phone:
        """Tap a button of the pad, first opening the group it stands in."""
        pad = self.page.locator(".pad")
        where = pad.locator(".taps").first
        if group is not None:
            opened = pad.locator("details").filter(has_text=group)
            opened.locator("summary").click()
            self.taps += 1
            where = opened
        where.get_by_role("button", name=re.compile(rf"(^|\s){re.escape(words)}$")).first.click()
        self.taps += 1
        return self

    def at_pass(self, number: int) -> Phone:
        """Wait until the pad asks for this pass."""
        expect(self.page.locator(".pad h2")).to_contain_text(f"Pass {number} of 6")
        return self

    @property
    def line(self) -> str:
        """The large line."""
        return self.page.locator(".line .say").inner_text().strip()

    @property
    def text(self) -> str:
        """Everything on the screen."""
        return self.page.locator("body").inner_text()


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_a_whole_free_skate_takes_at_most_two_taps_a_pass(open_page: OpenPage, scripts: bool) -> None:
    phone = Phone(open_page(scripts=scripts)).start()
    steps = [
        ("tail lost", None),
        ("as planned", None),
        ("popped and fell", "Both of these"),
        ("3Lo+2T", "Something else"),
        ("3F clean or wrong edge?", "Not sure how it will be called"),
        ("not attempted", None),
    ]
    for number, (words, group) in enumerate(steps, start=1):
        phone.at_pass(number).taps = 0
        phone.tap(words, group)
        assert phone.taps <= 2
    expect(phone.page.locator(".line .say")).to_have_text("All passes logged")
    phone.page.get_by_role("link", name="Look at the program").click()
    rows = phone.page.locator(".rows > li")
    expect(rows).to_have_count(6)
    expect(rows.nth(0)).to_contain_text("Planned 3Lz+3T: tail lost")
    expect(rows.nth(5)).to_contain_text("not attempted")


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_a_lost_tail_changes_the_line_and_undo_brings_it_back(open_page: OpenPage, scripts: bool) -> None:
    phone = Phone(open_page(scripts=scripts)).start().at_pass(1)
    before = phone.line
    assert "Keep the plan" in before
    phone.tap("tail lost").at_pass(2)
    assert re.search(r"(Pass [2-6]|Now): \S+\+[23]", phone.line), phone.line
    assert re.search(r"\+\d\.\d points", phone.text)
    assert re.search(r"trained \d+ of \d+", phone.text)
    assert "lost on pass 1" in phone.text
    phone.page.get_by_role("button", name="Undo 1").click()
    phone.at_pass(1)
    assert phone.line == before


def test_the_swap_is_two_taps_away_when_its_pass_comes(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start().at_pass(1)
    phone.tap("tail lost").at_pass(2)
    named = re.search(r"Pass (\d): (\S+)", phone.line)
    assert named, phone.line
    number, code = int(named[1]), named[2]
    for earlier in range(2, number):
        phone.at_pass(earlier).tap("as planned")
    phone.at_pass(number)
    assert phone.line.endswith(f"Now: {code}")
    phone.taps = 0
    phone.tap("as planned", f"Tried the swap {code}")
    assert phone.taps == 2
    expect(phone.page.locator("svg.drawing desc")).to_contain_text(f"came as {code}")


def test_a_screen_reader_hears_the_new_line(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start().at_pass(1)
    phone.tap("tail lost").at_pass(2)
    heard = phone.page.locator("#heard")
    expect(heard).to_contain_text("Pass 1: tail lost (3Lz)")
    expect(heard).to_contain_text("points")


def test_the_line_is_the_largest_text_and_the_plan_is_drawn(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start().at_pass(1)
    sizes = phone.page.evaluate(
        """() => [...document.querySelectorAll('body *')].filter(e => e.checkVisibility()
             && [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()))
             .map(e => [parseFloat(getComputedStyle(e).fontSize), e.className])"""
    )
    line = [size for size, name in sizes if name == "say"]
    assert line[0] >= 32
    assert line[0] == max(size for size, _ in sizes)
    drawing = phone.page.locator("svg.drawing")
    assert "Pass 1 at 0:18: 3Lz+3T, next." in (drawing.locator("desc").text_content() or "")


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_hurt_stops_everything_until_an_adult_clears_it(open_page: OpenPage, scripts: bool) -> None:
    phone = Phone(open_page(scripts=scripts)).start().at_pass(1)
    phone.tap("tail lost").at_pass(2)
    phone.page.get_by_role("button", name="Hurt / hit head").click()
    expect(phone.page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    phone.page.reload()
    expect(phone.page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    said = phone.text
    for needed in ("get off the ice", "emergency number", "medical professional", "referee"):
        assert needed in said
    assert phone.page.locator(".pad, .line, svg.drawing").count() == 0
    assert not re.search(r"\d+\.\d", said), "no points while stopped"
    phone.page.get_by_text("Lift the stop (an adult only)").click()
    phone.page.get_by_label("Your name or role").fill("coach")
    phone.page.get_by_label("tapped by mistake").check()
    phone.page.get_by_role("button", name="Lift the stop").click()
    phone.at_pass(2)


def test_what_is_typed_to_lift_the_stop_stays_when_the_tap_is_answered_late(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start().at_pass(1)
    phone.tap("tail lost").at_pass(2)
    taps: list[Route] = []
    boards: list[Route] = []

    def lose_the_first_answer(route: Route) -> None:
        taps.append(route)
        if len(taps) == 1:
            route.fetch()
        else:
            route.continue_()

    def hold_boards(route: Route) -> None:
        if "hx-request" in route.request.headers:
            boards.append(route)
        else:
            route.continue_()

    # The laptop has the tap; the page, loaded again before it hears so, sends it again, then asks for the board.
    phone.page.route("**/hurt", lose_the_first_answer)
    phone.page.route(phone.page.url, hold_boards)
    phone.page.get_by_role("button", name="Hurt / hit head").click()
    expect(phone.page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
    with phone.page.expect_request(lambda one: one.url == phone.page.url and "hx-request" in one.headers):
        phone.page.goto(phone.page.url)
    phone.page.get_by_text("Lift the stop (an adult only)").click()
    phone.page.get_by_label("tapped by mistake").check()
    name = phone.page.get_by_label("Your name or role")
    name.fill("coach")
    board = phone.page.locator("#board").element_handle()
    boards[0].continue_()
    phone.page.wait_for_function("was => !was.isConnected", arg=board)
    expect(name).to_have_value("coach")
    expect(name).to_be_focused()
    expect(phone.page.get_by_label("tapped by mistake")).to_be_checked()
    phone.page.get_by_role("button", name="Lift the stop").click()
    phone.at_pass(2)


def test_a_competition_only_logs_until_the_rules_are_confirmed(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start("competition", "Invented Cup").at_pass(1)
    phone.tap("tail lost").at_pass(2)
    assert phone.line == "Logging only"
    assert "advice and points are hidden" in phone.text
    assert not re.search(r"\d+\.\d", phone.text), "no points before the confirmation"
    phone.page.get_by_text("Advice is hidden").click()
    phone.page.get_by_label("I have checked").check()
    phone.page.get_by_role("button", name="Show advice for this event").click()
    expect(phone.page.locator(".line.swap .say")).to_be_visible()


def test_confirming_once_is_enough_for_one_event(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start("competition", "Invented Trophy").at_pass(1)
    phone.page.get_by_text("Advice is hidden").click()
    phone.page.get_by_label("I have checked").check()
    phone.page.get_by_role("button", name="Show advice for this event").click()
    expect(phone.page.locator(".line.keep .say")).to_be_visible()
    phone.page.get_by_role("link", name="Leave this screen").click()
    again = Phone(phone.page).start("competition", "Invented Trophy").at_pass(1)
    expect(again.page.locator(".line.keep .say")).to_be_visible()


def test_two_quick_taps_log_one_pass(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start().at_pass(1)
    phone.page.locator(".taps .first").first.dblclick()
    phone.at_pass(2)
    phone.page.wait_for_timeout(500)
    phone.at_pass(2)


def test_another_screen_catches_up(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start().at_pass(1)
    path = "/live/" + phone.page.url.rsplit("/", 1)[1]
    laptop = Phone(open_page(path)).at_pass(1)
    phone.tap("as planned").at_pass(2)
    laptop.at_pass(2)


def test_a_lost_connection_is_said_and_the_tap_is_sent_again(open_page: OpenPage) -> None:
    phone = Phone(open_page(cut_off=True)).start().at_pass(1)
    phone.page.route("**/pass", lambda route: route.abort())
    phone.tap("tail lost")
    expect(phone.page.locator("#unsaved")).to_contain_text("Not saved yet")
    phone.page.unroute("**/pass")
    phone.at_pass(2)
    expect(phone.page.locator("#unsaved")).to_be_hidden()


def test_a_refused_tap_is_said(open_page: OpenPage) -> None:
    phone = Phone(open_page(cut_off=True)).start().at_pass(1)
    phone.page.route("**/pass", lambda route: route.fulfill(status=500, body="no"))
    phone.tap("tail lost")
    expect(phone.page.locator("#unsaved")).to_contain_text("the laptop refused it")
    phone.at_pass(1)


def test_an_untrained_pairing_is_refused_in_words_and_never_offered(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start().at_pass(1)
    assert re.search(r"Not offered: \S+ on pass \d .*Not trained: ", phone.text)
    phone.page.locator(".pad details").filter(has_text="Something else").locator("summary").click()
    offered = (
        phone.page.locator(".pad details")
        .filter(has_text="Something else")
        .locator(".code")
        .all_inner_texts()
    )
    assert "3Lo+2T" in offered
    assert not {"3F+3T", "3Lo+3T", "2A+Eu+3S"} & set(offered)


def test_a_typed_code_is_checked(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start().at_pass(1)
    phone.page.get_by_text("Type a code").click()
    phone.page.get_by_label("As skated").fill("3Lz+9T")
    phone.page.get_by_role("button", name="Log this code").click()
    expect(phone.page.get_by_role("status")).to_contain_text("cannot read '3Lz+9T' at '9T'")
    phone.at_pass(1)
    expect(phone.page.get_by_label("As skated")).to_have_value("3Lz+9T")  # to be put right, not typed anew
    phone.page.get_by_label("As skated").fill("3Lz<+2T")
    phone.page.get_by_role("button", name="Log this code").click()
    phone.at_pass(2)


def test_advice_in_a_competition_is_said_to_be_on_and_can_be_hidden(open_page: OpenPage) -> None:
    phone = Phone(open_page()).start("competition", "Invented Gala").at_pass(1)
    phone.tap("tail lost").at_pass(2)
    phone.page.get_by_text("Advice is hidden").click()
    phone.page.get_by_label("I have checked").check()
    phone.page.get_by_role("button", name="Show advice for this event").click()
    expect(phone.page.locator(".advice-state")).to_contain_text("Advice on")
    phone.page.get_by_role("button", name="Hide advice").click()
    expect(phone.page.locator(".line .say")).to_have_text("Logging only")
    assert not re.search(r"\d+\.\d", phone.text), "no points while hidden"
    phone.tap("as planned").at_pass(3)
    assert phone.line == "Logging only"
    phone.page.get_by_role("button", name="Show advice again").click()
    expect(phone.page.locator(".line.swap .say")).to_be_visible()


def test_the_skaters_own_words_are_kept_and_stand_on_the_live_line(open_page: OpenPage) -> None:
    phone = Phone(open_page("/skaters/1"))
    row = phone.page.locator("li").filter(has=phone.page.get_by_text("3S+3T", exact=True))
    row.locator("summary").click()
    row.get_by_label("The skater's own words for it").fill("  invented   words ")
    row.get_by_role("button", name="Save 3S+3T").click()
    expect(row).to_contain_text("“invented words”")
    phone.page.goto(phone.page.url.split("/skaters")[0])
    phone.start().at_pass(1).tap("tail lost").at_pass(2)
    assert phone.line.endswith("Pass 6: 3S+3T")
    expect(phone.page.locator(".line .cue")).to_have_text("“invented words”")


def test_the_combination_of_a_short_program_moves_to_the_later_jump(open_page: OpenPage) -> None:
    page = open_page()
    start_run_through(page, SHORT)
    phone = Phone(page).tap("tail lost")
    expect(page.locator(".pad h2")).to_contain_text("Pass 2 of 3")
    assert phone.line.endswith("Pass 3: 3F+2T")
    assert "The combination is still owed: a 2T after the 3F on pass 3 makes it." in phone.text
    phone.tap("popped")
    expect(page.locator(".pad h2")).to_contain_text("Pass 3 of 3")
    expect(page.locator(".gone")).to_contain_text(
        "pass 2 counts for nothing: 1A is not the required Axel jump"
    )
