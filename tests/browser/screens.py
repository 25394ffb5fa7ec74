"""Every screen the app has, and every state the live screen can be in, walked one after the other."""

from __future__ import annotations

from collections.abc import Iterator

from playwright.sync_api import Page, expect

FREE = "ISU 2026/27, senior women, free skating"
SHORT = "ISU 2026/27, senior women, short program"


def start_run_through(page: Page, layout: str = FREE) -> str:
    """From the first page into a run-through; its address."""
    card = page.locator("article.card").filter(has_text=layout)
    card.get_by_role("button", name="Start a run-through").click()
    page.wait_for_url("**/live/*")
    return page.url


def start_competition(page: Page, event: str) -> str:
    """From the first page into a competition program; its address."""
    card = page.locator("article.card").filter(has_text=FREE)
    card.get_by_text("Start a competition program").click()
    card.get_by_label("Event, for your own list").fill(event)
    card.get_by_role("button", name="Start, logging only").click()
    page.wait_for_url("**/live/*")
    return page.url


def log(page: Page, word: str) -> None:
    """Tap the button of the planned element whose last word that is, and wait for the next pass."""
    head = page.locator(".pad h2, .quiet-line h1").first
    before = head.inner_text()
    buttons = page.locator(".pad .taps").first.locator("button")
    buttons.filter(has=page.get_by_text(word, exact=True)).first.click()
    expect(head).not_to_have_text(before)


def every_screen(page: Page, address: str) -> Iterator[str]:
    """Opens one screen after the other on `page` and gives its name."""
    page.goto(f"{address}/")
    yield "first page"
    for number in (1, 2, 3):
        page.goto(f"{address}/layouts/{number}")
        yield f"layout {number}"
    for number in (1, 2, 3):
        page.goto(f"{address}/layouts/{number}/fragile")
        expect(page.locator("svg.fragile").first).to_be_attached(timeout=60_000)
        yield f"what a miss drags along, layout {number}"
    for number in (1, 2):
        page.goto(f"{address}/layouts/{number}/card?swaps=2")
        expect(page.locator(".keeps")).to_be_attached(timeout=60_000)
        yield f"card of layout {number}"
    page.goto(f"{address}/layouts/1/card/print?swaps=2")
    yield "card to print"
    page.goto(f"{address}/layouts/1/sturdier")
    yield "sturdier layouts, asked"
    page.goto(f"{address}/layouts/1/sturdier?ask=yes&most=2&stays=1&axel=1:10")
    expect(page.locator("svg.range").first).to_be_attached(timeout=60_000)
    yield "sturdier layouts, answered"
    page.goto(f"{address}/skaters/1")
    yield "skater"
    page.goto(f"{address}/skaters/1/log")
    yield "practice log"
    page.locator(".taps a").first.click()
    yield "practice log, how it ended"
    page.goto(f"{address}/skaters/1/log/table")
    yield "practice log as a table"
    lines = ("date,element,result", "03/04/2026,2A,clean", "2026-11-24,3A,fell", "2026-11-24,2Q,fell")
    page.get_by_label("Paste the table").fill("\n".join(lines))
    page.get_by_role("button", name="Show what is understood").click()
    expect(page.get_by_text("Nothing is stored yet")).to_be_visible()
    yield "practice log as a table, what was understood"
    page.goto(f"{address}/skaters/1/layouts/new")
    yield "new layout"
    page.goto(f"{address}/phones")
    yield "phones"
    page.goto(f"{address}/live")
    yield "programs"
    yield from every_sheet_screen(page, address)
    page.goto(f"{address}/layouts/999")
    yield "nothing there"
    yield from every_live_state(page, address)


SHEET = """1 Mira EXAMPLE AAA 4 24.90 23.30 0.00 0.00
1 3Lz 5.90 0.00 0 0 0 0 0 5.90
2 3F+2T 6.60 0.00 0 0 0 0 0 6.60
3 2A+2T 4.60 0.00 0 0 0 0 0 4.60
4 3Lo+2T 6.20 0.00 0 0 0 0 0 6.20
5 3S 4.30 many
"""
"""Invented: a star that is missing, a wrong sum, a row that cannot be read."""


def every_sheet_screen(page: Page, address: str) -> Iterator[str]:
    """An official sheet: asked for, understood, checked."""
    page.goto(f"{address}/sheets/new?skater=1")
    yield "official sheet, asked for"
    page.get_by_label("or paste the text").fill(SHEET)
    page.get_by_role("button", name="Show what is understood").click()
    expect(page.get_by_text("Lines that could not be read")).to_be_visible()
    yield "official sheet, what was understood"
    page.get_by_role("button", name="Keep and check this sheet").click()
    expect(page.get_by_role("heading", name="Rows to ask about: 2")).to_be_visible()
    yield "official sheet, rows to ask about"


def every_live_state(page: Page, address: str) -> Iterator[str]:
    """The live screen from the first pass to the review, in a competition, and stopped."""
    page.goto(f"{address}/")
    live = start_run_through(page)
    yield "live, keep the plan"
    page.get_by_role("button", name="Music starts now").click()
    expect(page.locator(".clock-face")).to_be_visible()
    log(page, "tail lost")
    yield "live, a swap"
    log(page, "fell")
    yield "live, after a fall"
    page.locator("details.breaks").evaluate("one => { one.open = true; }")
    page.get_by_role("button", name="Skater stopped, music runs").click()
    expect(page.locator(".broken")).to_be_visible()
    yield "live, skater stopped"
    page.get_by_role("button", name="Skating again").click()
    expect(page.locator(".broken")).to_have_count(0)
    page.goto(f"{live}/passes")
    yield "live, put a pass right"
    page.goto(f"{live}/big")
    yield "live, the word alone"
    page.goto(live)
    page.goto(f"{live}/aim")
    yield "what is enough, no total"
    page.get_by_label("best chance to reach a total").check()
    page.get_by_label("That total").fill("95.50")
    page.get_by_label("What the components will bring").fill("45")
    page.get_by_role("button", name="Set the aim").click()
    expect(page.locator(".spread-mark")).to_be_attached(timeout=30_000)
    yield "what is enough, a total to reach"
    page.goto(live)
    yield "live, a total to reach"
    for _ in range(4):
        log(page, "as planned")
    yield "live, all logged"
    page.goto(f"{live}/review")
    yield "review"
    page.goto(f"{address}/")
    start_run_through(page, SHORT)
    log(page, "tail lost")
    yield "live, short program"
    page.goto(f"{address}/")
    start_competition(page, f"Invented Open of {live}")
    yield "live, logging only"
    page.locator("details.allow").evaluate("one => { one.open = true; }")
    page.get_by_label("I have checked").check()
    page.get_by_role("button", name="Show advice for this event").click()
    expect(page.get_by_text("Advice on")).to_be_visible()
    yield "live, advice on in a competition"
    page.get_by_role("button", name="Hide advice").click()
    expect(page.get_by_role("button", name="Show advice again")).to_be_visible()
    yield "live, advice hidden"
    page.get_by_role("button", name="Hurt / hit head").click()
    expect(page.get_by_text("Lift the stop (an adult only)")).to_be_visible()
    yield "live, stopped"
