"""Two phones on one program while everything goes wrong that may, drawn by a seed.

Requests and answers are lost, late or double, a door is away, the link is cut, pages are loaded again, frozen and
woken, the processor is slow. Afterwards every tap that a phone took is in the log, each once, nothing waits, and both
screens say what the laptop says. RECOUP_HARD_TIMES=FROM-TO draws other seeds than the usual ones.
"""

from __future__ import annotations

import json
import os
import random
from contextlib import suppress

import pytest
from playwright.sync_api import CDPSession, Error, Page, expect

from tests.browser.conftest import OpenPage
from tests.browser.screens import start_run_through
from tests.browser.test_goes_on_alone import KEPT, log, texts

pytestmark = pytest.mark.browser

STEPS = 24
USUAL = range(1, 2)
WEATHER = """
(() => {
  const real = window.fetch.bind(window);
  const sleep = (most, signal) => new Promise((done, refuse) => {
    setTimeout(done, Math.random() * most);
    signal?.addEventListener('abort', () => refuse(signal.reason));
  });
  window.fetch = async (address, how = {}) => {
    if (localStorage.getItem('weather') !== 'bad') return real(address, how);
    const lot = Math.random();
    if (lot < 0.12) throw new TypeError('Failed to fetch: lost on the way there');
    if (lot < 0.24) { await real(address, how); throw new TypeError('Failed to fetch: lost on the way back'); }
    if (lot < 0.30) return new Response('away', { status: 503 });
    if (lot < 0.40) real(address, how).catch(() => {});
    if (lot < 0.60) await sleep(1500, how.signal);
    const answer = await real(address, how);
    if (lot > 0.50 && lot < 0.75) await sleep(1500, how.signal);
    return answer;
  };
  const put = Storage.prototype.setItem;
  Storage.prototype.setItem = function (key, value) {
    put.call(this, key, value);
    if (!key.startsWith('recoup.tap.')) return;
    const { id, action } = JSON.parse(value);
    put.call(localStorage, `made.${id}`, action);
  };
})();
"""
"""The weather on the line, and a note of every tap that the page took."""


def seeds() -> range:
    """The usual seeds, or those asked for."""
    first, _, last = os.environ.get("RECOUP_HARD_TIMES", "").partition("-")
    return range(int(first), int(last or first) + 1) if first else USUAL


class Phone:
    """One of the two, with what may happen to it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.line: CDPSession = page.context.new_cdp_session(page)
        self.stopped = False

    def weather(self, kind: str) -> None:
        """Bad or fair."""
        self.page.evaluate("kind => localStorage.setItem('weather', kind)", kind)

    def tap(self, draw: random.Random) -> None:
        """Any button that is on the glass, apart from the stop."""
        buttons = self.page.locator("#board :is(.taps > button, .undo, .redo, .music)").filter(visible=True)
        count = buttons.count()
        if count:
            with suppress(Error):  # it went away under the finger
                buttons.nth(draw.randrange(count)).click(timeout=700)

    def reload(self, draw: random.Random) -> None:
        """As somebody does who trusts a screen no more."""
        self.page.reload(wait_until="commit")

    def cut(self, draw: random.Random) -> None:
        """No link for a moment."""
        self.page.context.set_offline(True)
        self.tap(draw)
        self.page.wait_for_timeout(draw.randrange(3000))
        self.tap(draw)
        self.page.context.set_offline(False)

    def sleep(self, draw: random.Random) -> None:
        """The phone freezes the page, and wakes it."""
        self.line.send("Page.setWebLifecycleState", {"state": "frozen"})
        self.page.wait_for_timeout(draw.randrange(1500))
        self.line.send("Page.setWebLifecycleState", {"state": "active"})

    def slow(self, draw: random.Random) -> None:
        """The processor has much else to do."""
        self.line.send("Emulation.setCPUThrottlingRate", {"rate": draw.choice([1, 4, 8])})

    def hurt(self) -> None:
        """From here on the stop shows, whatever comes."""
        self.page.get_by_role("button", name="Hurt / hit head").click()
        self.stopped = True
        self.shows_the_stop()

    def shows_the_stop(self) -> None:
        """If it was said."""
        if self.stopped:
            expect(self.page.get_by_role("heading", name="Stop. Get help.")).to_be_visible()
            assert self.page.locator(".pad").count() == 0

    def made(self) -> dict[str, str]:
        """Every tap that it took: actions by id."""
        text: str = self.page.evaluate(
            "JSON.stringify(Object.entries(localStorage).filter(([key]) => key.startsWith('made.')))"
        )
        return {key.removeprefix("made."): action for key, action in json.loads(text)}


@pytest.mark.parametrize("seed", seeds())
def test_whatever_happens_every_tap_arrives_once_and_both_screens_say_what_the_laptop_says(
    open_page: OpenPage, seed: int
) -> None:
    draw = random.Random(seed)
    one = open_page(cut_off=True)
    live = start_run_through(one)
    other = open_page("/", cut_off=True)
    phones = [Phone(one), Phone(other)]
    for phone in phones:
        phone.page.add_init_script(WEATHER)
        phone.page.goto(live)
        phone.weather("bad")
    for step in range(STEPS):
        phone = draw.choice(phones)
        what = draw.choices(
            [phone.tap, phone.reload, phone.cut, phone.sleep, phone.slow], weights=[10, 2, 2, 1, 1]
        )[0]
        what(draw)
        if step == STEPS - 4 and seed % 2:
            phone.hurt()
        phone.page.wait_for_timeout(draw.randrange(600))
        for each in phones:
            each.shows_the_stop()
    for phone in phones:
        phone.line.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        phone.weather("fair")
        phone.page.wait_for_function(f"() => {KEPT}.length === 0", timeout=60_000)
        expect(phone.page.locator("#board[data-local]")).to_have_count(0)
    entries = log(one, live)
    made = {name: action for phone in phones for name, action in phone.made().items()}
    assert sorted(entry["id"] for entry in entries) == sorted(made), f"seed {seed}: {made}"
    truth = open_page(live[live.index("/live/") :])
    for phone in phones:
        expect(phone.page.locator("#board")).to_have_attribute("data-seen", str(len(entries)))
        assert texts(phone.page) == texts(truth), f"seed {seed}"
