"""The season page over the invented season of the demo skater; its counts are worked out by hand from the file's taps.

Pass 1 of the free skating and of the short program is 3Lz+3T, pass 5 of the free skating 3F+2T+2Lo. In competition:
lost and never made up (50 days before), popped and made up by 3S+2T (34), lost and made up by 3S+3T (5), fallen and
made up by 3F+2T (35, short program): 4 lost, 3 won back. In run-throughs: 58, 45 and 17 days before stayed lost; 54,
41, 28 and 24 were won back: 7 lost, 4 won back. The lost tail of pass 1 was rehearsed first 40 days before: before it
0 of 2 (58, 50), after it 2 of 3 (28, 5, not 17), and 5 of the 6 others.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from xml.etree import ElementTree

import pytest
from fastapi import FastAPI
from markupsafe import Markup
from starlette.testclient import TestClient

from app.main import DEMO, _fingerprint_of
from app.review.audit import audit
from app.review.official import sheet_from_json
from app.review.season.forecasts import Part
from app.review.season.shares import Share
from app.review.season.years import days_of, season_of
from app.storage import seed
from app.storage.stores import Stores, open_stores
from app.web.demo_season import plant_season
from app.web.season_picture import LossRow, Panel, draw_losses, draw_panels, draw_parts
from app.web.season_source import Source, gather, work
from app.web.views.season_counts import share_words
from tests.conftest import Knock
from tests.web.test_sheet_skate import words
from tests.web.test_trainer import page_of

TODAY = date(2026, 11, 28)
PAGE = "/skaters/1/season?season=2026-27"


@pytest.fixture
def seeded(web_app: FastAPI) -> Iterator[Stores]:
    """The demo skater and the invented season, as of one fixed day."""
    with open_stores(web_app.state.database) as stores:
        assert seed.plant(stores, DEMO, TODAY, _fingerprint_of) == 1
        assert plant_season(stores, DEMO / "seasons", TODAY) == 15
        yield stores


@pytest.fixture
def laptop_in_season(web_app: FastAPI, seeded: Stores, knock: Knock) -> TestClient:
    return knock(web_app)


def test_the_demo_season_is_planted_once(seeded: Stores) -> None:
    assert plant_season(seeded, DEMO / "seasons", TODAY) == 0


def test_every_sheet_of_the_demo_season_is_right(seeded: Stores) -> None:
    """The audit finds nothing: figures, stars, sums and falls of the invented sheets follow the rulebook."""
    found = seeded.sheets.of_skater(1)
    assert len(found) == 6
    for one in found:
        assert one.program_id is not None
        assert audit(one.edition, sheet_from_json(one.sheet)).findings == ()


def test_a_demo_program_keeps_elements_logged_before_it(seeded: Stores) -> None:
    for program in seeded.live.recent(1):
        days = {one.last_logged for one in program.trained if one.last_logged}
        assert max(days) < program.started_at.date()


def test_lost_and_won_back_apart_by_setting(laptop_in_season: TestClient) -> None:
    said = words(page_of(laptop_in_season, PAGE))
    assert "15 programs count: 6 in competition, 9 run-throughs. 6 of them have an official sheet." in said
    assert "In competition: 4 lost. Won back: 3 of 4." in said
    assert "In run-throughs: 7 lost. Won back: 4 of 7." in said
    assert "Pass 1 4 lost, 3 back 4 lost, 2 back" in said
    assert "Pass 5 – 3 lost, 2 back" in said


def test_before_and_after_rehearsing_are_counts_and_no_proof(laptop_in_season: TestClient) -> None:
    said = words(page_of(laptop_in_season, PAGE))
    assert "Before the first rehearsal of that failure 0 of 2" in said
    assert "After it 2 of 3" in said
    assert "Failures never rehearsed 5 of 6" in said
    assert "Fewer than 10 before or after: no difference is named." in said
    assert "This is no proof." in said


def test_calls_and_misses_are_those_of_the_file(laptop_in_season: TestClient) -> None:
    """On the sheets q is on 3F+2T+2Lo and 3S+3T, < on 3Lz+3T and 3Lo, e and ! on two flips each."""
    page = page_of(laptop_in_season, PAGE)
    texts = [html.unescape(one) for one in re.findall(r"<text[^>]*>([^<]*)</text>", page)]
    for wanted in ("Quarter q: 2", "Under-rotated <: 2", "Wrong edge e: 2", "Unclear edge !: 2", "Popped: 3"):
        assert wanted in texts
    assert "Fell: 4" in texts


def test_a_lucky_or_unlucky_end_is_kept_apart_from_the_choice(laptop_in_season: TestClient) -> None:
    said = words(page_of(laptop_in_season, PAGE))
    assert "3S+3T was right; it did not come off." in said
    assert "that was bad luck, and the choice stays right" in said
    assert "What came of it plays no part." in said
    # The first run-through lost a tail and kept the rest as planned, though 3S+3T was the best at pass 6.
    assert "1 October 2026, Free skating, pass 6: 3S," in said
    assert "1 October 2026, Free skating, pass 2" not in said
    assert "times more the plan was kept, rightly, and it came." in said


def test_forecasts_say_what_they_rest_on(laptop_in_season: TestClient) -> None:
    """In competition 3 free skatings of 6 passes and 3 short programs of 3: 27 attempts; 9 run-throughs of 6: 54."""
    said = words(page_of(laptop_in_season, PAGE))
    assert re.search(r"In competition 27 0\.\d\d 0\.\d\d In run-throughs 54 0\.\d\d 0\.\d\d All 81", said)
    assert "as each program kept them at its start" in said


def test_a_stopped_program_is_left_out(laptop_in_season: TestClient, seeded: Stores) -> None:
    program = seeded.live.recent(1, limit=1)[0]
    assert laptop_in_season.post(f"/live/{program.id}/hurt", data={"event_id": "hurt-1"}).status_code == 303
    said = words(page_of(laptop_in_season, PAGE))
    assert "14 programs count" in said
    assert "Left out because someone was hurt: 1." in said


def test_an_empty_season_and_an_unknown_one(demo_laptop: TestClient) -> None:
    said = words(page_of(demo_laptop, "/skaters/1/season"))
    assert "Nothing of this season is logged to the end yet" in said
    assert demo_laptop.get("/skaters/1/season?season=1999-00").status_code == 422
    assert demo_laptop.get("/skaters/9/season").status_code == 404


def test_an_unfinished_program_without_a_sheet_does_not_count(seeded: Stores) -> None:
    source = gather(seeded, 1, "2026-27")
    live, _ = source.programs[0]
    cut = replace(live, log=live.log[:3])
    found = work(Source(((cut, None),), (), {}, ()), lambda share, said: None)
    assert (found.programs, found.unfinished) == ((), 1)


def test_a_season_is_from_july_to_june() -> None:
    assert season_of(date(2026, 6, 30)) == "2025-26"
    assert season_of(date(2026, 7, 1)) == "2026-27"
    assert season_of(date(2099, 12, 31)) == "2099-00"
    assert days_of("2026-27") == (date(2026, 7, 1), date(2027, 7, 1))
    with pytest.raises(ValueError, match="2026-28"):
        days_of("2026-28")


def test_a_percentage_only_of_enough() -> None:
    assert share_words(Share(4, 9)) == "4 of 9"
    # Wilson's interval of 12 of 20 at 90 %: 0.419 to 0.757 (his formula of 1927, by hand).
    assert share_words(Share(12, 20)) == "12 of 20, 60 % (42 to 76 %)"


def read(drawn: Markup) -> ElementTree.Element:
    """A picture read back as XML."""
    return ElementTree.fromstring(str(drawn))


def described(root: ElementTree.Element) -> str:
    return next(root.iter("desc")).text or ""


def test_a_panel_draws_a_bar_a_program_and_says_what_is_not_known() -> None:
    panel = Panel("Falls & more", "3", (2.0, 0.0, None, 1.0))
    root = read(draw_panels("k", "Title", [panel], [True, False, True, False]))
    bars = [(one.get("class"), float(one.get("height", "0"))) for one in root.iter("rect")]
    assert [kind for kind, _ in bars] == ["filled", "open"]
    assert bars[0][1] == pytest.approx(2 * bars[1][1])
    assert [one.get("class") for one in root.iter("path")].count("unknown") == 1
    assert described(root) == "Falls & more: 3"


def test_a_loss_has_shape_and_filling_of_its_own() -> None:
    row = LossRow("Pass 1", ((True, True, True), (False, True, False), (False, False, False)))
    root = read(draw_losses([row]))
    assert [one.get("class") for one in root.iter("rect")] == ["filled"]
    assert [one.get("class") for one in root.iter("circle")] == ["open", "open"]
    assert len(list(root.iter("path"))) == 1
    assert described(root) == "Pass 1: 3 lost, 1 won back."


def test_few_forecasts_have_no_band() -> None:
    few, many = Part(0.6, 0.8, 9, 0.7, 5), Part(0.8, 1.0, 40, 0.9, 36)
    root = read(draw_parts([few, many]))
    assert [one.get("class") for one in root.iter("circle")] == ["open", "filled"]
    assert len(list(root.iter("rect"))) == 1
