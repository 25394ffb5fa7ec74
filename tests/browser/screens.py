"""Every screen the app has, and every state the live screen can be in, walked one after the other."""

from __future__ import annotations

from collections.abc import Iterator

from playwright.sync_api import Locator, Page, expect

FREE = "ISU 2026/27, senior women, free skating"
WOMEN = "isu/2026-27/senior/women/free"
SHORT = "ISU 2026/27, senior women, short program"


def start_run_through(page: Page, layout: str = FREE) -> str:
    """From the first page into a run-through; its address."""
    page.locator("details.more-layouts").evaluate_all("all => all.forEach(one => { one.open = true; })")
    card = page.locator("article.card").filter(has_text=layout).first
    card.get_by_role("button", name="Start a run-through").click()
    page.wait_for_url("**/live/*")
    return page.url


def start_competition(page: Page, event: str) -> str:
    """From the first page into a competition program; its address."""
    card = page.locator("article.card").filter(has_text=FREE).first
    card.get_by_text("Start a competition program").click()
    card.get_by_label("Event, for your own list").fill(event)
    card.get_by_role("button", name="Start, logging only").click()
    page.wait_for_url("**/live/*")
    return page.url


def log(page: Page, word: str) -> None:
    """Tap the button of the planned element whose last word that is, and wait for the next pass."""
    head = page.locator(".pad h2, .quiet-line h1").first
    before = head.inner_text()
    tap_of(page, word).click()
    expect(head).not_to_have_text(before)


def tap_of(page: Page, word: str) -> Locator:
    """The button of the planned element whose last word that is."""
    buttons = page.locator(".pad .taps").first.locator("button")
    return buttons.filter(has=page.get_by_text(word, exact=True)).first


def make_day(page: Page, address: str, name: str) -> str:
    """A day with two starts of the invented skater: one with layouts A and B, one with A alone; its path."""
    page.goto(f"{address}/skaters/1/layouts/new?copy=3")
    page.get_by_label("Name").fill(f"Safer, for {name}")
    passes = page.locator("textarea")
    passes.fill(passes.input_value().replace("3Lz+3T", "3Lz+2T"))
    page.locator("main form button").first.click()
    page.wait_for_url("**/layouts/*")
    page.goto(f"{address}/day")
    page.get_by_label("Name, for your own list").fill(name)
    page.get_by_label("Run-throughs").check()
    page.get_by_role("button", name="Make this day").click()
    page.wait_for_url("**/order")
    path = page.url.removeprefix(address).removesuffix("/order")
    add = page.locator("main > form")
    for layouts in (("seven passes", f"Safer, for {name}"), ("Free skating, ISU 2026",)):
        for field, wanted in zip(("a", "b"), layouts, strict=False):
            value = (
                add.locator(f"select[name={field}] option")
                .filter(has_text=wanted)
                .first.get_attribute("value")
            )
            add.locator(f"select[name={field}]").select_option(value)
        add.get_by_role("button", name="Add at the end").click()
        page.wait_for_load_state()
    page.goto(address + path)
    return path


def every_day_state(page: Page, address: str) -> Iterator[str]:
    """A competition day, its order, and the warm-up before and after the choice."""
    page.goto(f"{address}/day")
    yield "days"
    path = make_day(page, address, "Invented Cup to look at")
    yield "a day"
    page.goto(f"{address}{path}/order")
    yield "start order"
    page.goto(address + path)
    page.get_by_role("link", name="Warm-up: A or B").first.click()
    expect(page.locator(".figures").first).to_be_visible(timeout=60_000)
    yield "warm-up, to choose"
    page.get_by_role("button", name="Skate B").click()
    expect(page.locator("#layouts li.now h2")).to_contain_text("B")
    yield "warm-up, chosen"
    page.get_by_role("link", name="Live screen").click()
    log(page, "as planned")
    yield "live, on a day"
    page.goto(f"{address}/")
    yield "first page, a program under way"


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
    page.goto(f"{address}/skaters/1/view")
    yield "the skater's own page"
    page.goto(f"{address}/layouts/1/tally")
    expect(page.locator(".tally")).to_be_attached(timeout=60_000)
    yield "a sheet for the pocket"
    page.goto(f"{address}/skaters/1/content")
    page.get_by_role("button", name="Keep it as handed in today").click()
    expect(page.get_by_text("Handed in on").first).to_be_visible()
    yield "content sheet"
    page.goto(f"{address}/layouts/1/tally/enter")
    yield "a filled sheet, to be entered"
    page.goto(f"{address}/layouts/1/sturdier")
    yield "sturdier layouts, asked"
    page.goto(f"{address}/layouts/1/sturdier?ask=yes&most=2&stays=1&axel=1:10")
    expect(page.locator("svg.range").first).to_be_attached(timeout=60_000)
    yield "sturdier layouts, answered"
    page.goto(f"{address}/layouts/1/trainer")
    expect(page.locator("svg.standing")).to_be_attached(timeout=60_000)
    yield "call-out trainer"
    page.get_by_role("link", name="Call one").click()
    expect(page.locator(".answers")).to_be_attached(timeout=60_000)
    yield "call-out trainer, a call"
    page.locator(".answers button").last.click()
    expect(page.locator(".verdict-mark")).to_be_attached(timeout=60_000)
    yield "call-out trainer, an answer weighed"
    page.goto(f"{address}/skaters/1/trainer")
    yield "call-out trainer, which program"
    page.goto(f"{address}/how-we-know")
    yield "how we know"
    yield from every_rehearsal_screen(page, address)
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
    yield from every_rulebook_screen(page, address)
    page.goto(f"{address}/language")
    yield "language"
    page.goto(f"{address}/words?of=ko")
    yield "words of the trade"
    page.goto(f"{address}/phones")
    yield "phones"
    page.goto(f"{address}/alone")
    expect(page.get_by_role("heading", name="Without the laptop")).to_be_visible()
    yield "without the laptop"
    page.goto(f"{address}/backups")
    page.get_by_role("button", name="Make a copy now").click()
    yield "copies"
    page.get_by_role("link", name="Look into it").first.click()
    yield "a copy, before it is brought back"
    page.goto(f"{address}/live")
    yield "programs"
    yield from every_data_screen(page, address)
    yield from every_sheet_screen(page, address)
    page.goto(f"{address}/skaters/1/season")
    expect(page.locator("svg.season").first).to_be_attached(timeout=60_000)
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    yield "season"
    page.goto(f"{address}/layouts/999")
    yield "nothing there"
    yield from every_day_state(page, address)
    yield from every_live_state(page, address)


def every_rehearsal_screen(page: Page, address: str) -> Iterator[str]:
    """The rehearsal sheet, on the screen and on paper, a failure called, what became of it, and the jumps counted."""
    page.goto(f"{address}/layouts/1/rehearse")
    start = page.get_by_role("button", name="Start the rehearsal")
    expect(start).to_be_attached(timeout=60_000)
    yield "rehearsal sheet"
    page.goto(f"{address}/layouts/1/rehearse/print")
    yield "rehearsal sheet to print"
    for seed in range(30):
        page.goto(f"{address}/layouts/1/rehearse")
        page.get_by_label("Draw number").fill(str(seed))
        start.click()
        page.wait_for_url("**/live/*")
        if page.locator(".line.called").count():
            break
    yield "live, a failure is called"
    page.locator(".as-called button").click()
    expect(page.locator(".line.swap")).to_be_attached()
    page.goto(f"{page.url}/review")
    yield "review of a rehearsal"
    page.goto(f"{address}/skaters/1/load")
    yield "jumps by day and week"


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
    page.goto(f"{address}/")
    live = start_run_through(page, "ISU 2025/26, senior women, free skating")
    log(page, "tail lost")
    for _ in range(6):
        log(page, "as planned")
    page.goto(f"{live}/review")
    page.get_by_role("link", name="Add the official sheet").click()
    page.get_by_label("or paste the text").fill(SHEET)
    page.get_by_role("button", name="Show what is understood").click()
    page.get_by_role("button", name="Keep and check this sheet").click()
    page.get_by_role("link", name="Planned, skated, called").click()
    expect(page.locator("svg.waterfall")).to_be_attached()
    yield "planned, skated, called"


def every_data_screen(page: Page, address: str) -> Iterator[str]:
    """What is kept, who sees it, and the questions before something is deleted. Nothing is."""
    for path, name in (
        ("/privacy", "what Recoup keeps of a skater"),
        ("/data", "your data"),
        ("/data/skaters/1", "who sees a skater"),
        ("/data/skaters/1/delete", "a skater, before deleting"),
        ("/data/layouts/1/delete", "a layout, before deleting"),
        ("/data/rulebooks", "own rulebooks"),
        ("/skaters/1/log/entries", "every entry of the log"),
    ):
        page.goto(address + path)
        yield name


def every_rulebook_screen(page: Page, address: str) -> Iterator[str]:
    """Choosing, reading and comparing rulebooks; one of one's own, first wrong, then kept; its news on a layout."""
    page.goto(f"{address}/rulebooks?season=2026-27&level=senior")
    yield "rulebooks to choose from"
    page.goto(f"{address}/rulebooks/{WOMEN}?values=3L")
    yield "a rulebook"
    page.goto(
        f"{address}/rulebooks/differences?now={WOMEN}&before={WOMEN.replace('2026-27', '2025-26')}&layout=1"
    )
    yield "two rulebooks compared"
    page.goto(f"{address}/rulebooks/own?of={WOMEN}")
    yield "a rulebook of one's own, empty"
    title = f"Invented cup {page.evaluate('Date.now()')}"
    page.get_by_label("Its name").fill(title)
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    page.get_by_label("Jump elements that count", exact=True).fill("none")
    expect(page.get_by_text("'none' given; expected a whole number")).to_be_visible()
    page.get_by_role("button", name="Keep this rulebook").click()
    page.get_by_text("Not kept").wait_for()
    yield "a rulebook of one's own, something wrong"
    page.get_by_label("Jump elements that count", exact=True).fill("5")
    page.get_by_role("button", name="Keep this rulebook").click()
    page.wait_for_url("**/rulebooks/own/**")
    yield "a rulebook of one's own, kept"
    own = page.url.split("/rulebooks/")[1]
    page.goto(f"{address}/skaters/1/layouts/new")
    page.get_by_label("Name").fill("Invented cup")
    page.get_by_label("Rulebook").select_option(own)
    page.get_by_label("Elements in skating order").fill("0:20 3Lz+3T\n1:58 3F\n2:10 2A\n2:40 3S")
    page.get_by_role("button", name="Keep this layout").click()
    page.wait_for_url("**/layouts/*")
    layout = page.url
    page.goto(f"{address}/rulebooks/own?of={own}")
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    page.get_by_label("Percent that +REP keeps", exact=True).fill("60")
    expect(page.get_by_text("instead of 70")).to_be_visible()
    page.get_by_role("button", name="Keep this rulebook").click()
    page.wait_for_url("**/rulebooks/own/**/2/**")
    page.goto(layout)
    expect(page.get_by_text("Your rulebook has a newer version, 2.")).to_be_visible()
    yield "a layout whose rulebook has a newer version"


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
    page.goto(f"{live}/report")
    yield "one page to talk about"
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
