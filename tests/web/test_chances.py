"""An element without entered chances is reckoned from its log and the population, never as a sure thing."""

from __future__ import annotations

import re
from dataclasses import replace

from starlette.testclient import TestClient

from app.storage.records import OutcomeRecord, TrainedRecord
from app.web.views.plans import element_of, landing_of

EDITION = "isu/2026-27/senior/women/free"


def test_a_new_element_is_never_a_sure_thing() -> None:
    """Official sheets: no jump is clean every time; 3Lz of all levels 50.5 % (first jumps, 2022/23-2025/26)."""
    found = element_of(TrainedRecord(1, "3Lz+2T", attempts=25, landed=18), EDITION)
    itself = sum(one.chance for one in found.outcomes if one.becomes == "3Lz+2T" and not one.error)
    assert 0.2 < itself < 0.7
    assert {one.becomes for one in found.outcomes} >= {"3Lz+2T", "3Lz", "2Lz"}


def test_the_page_says_how_sure_the_chance_is(demo_laptop: TestClient) -> None:
    """A range, never one number: Wilson's interval of the log and the prior (see tests/chances)."""
    demo_laptop.post("/skaters/1/elements", data={"code": "2Lo"})
    _, _, row = demo_laptop.get("/skaters/1").text.partition('<span class="code">2Lo</span>')
    said = re.sub(r"\s+", " ", row)
    low, high = re.search(r"Reckoned to land \d+ %, likely (\d+) to (\d+) %", said).groups()  # type: ignore[union-attr]
    assert int(high) - int(low) > 25  # nothing is logged yet


def test_a_pairing_never_tried_has_no_chance(demo_laptop: TestClient) -> None:
    """Statistics for a default model: "no population rate is trustworthy" for an added tail, "else mark untrained"."""
    demo_laptop.post("/skaters/1/elements", data={"code": "3Lo+2Lo"})
    page = demo_laptop.get("/skaters/1").text
    row = next(row for row in page.split("<li ") if ">3Lo+2Lo<" in row)
    assert "Not ticked as competition-ready" in row
    assert "eckoned to land" not in row
    tried = TrainedRecord(1, "3Lo+2Lo", attempts=1, landed=1)
    assert landing_of(tried, EDITION) is not None
    assert landing_of(replace(tried, attempts=0, landed=0), EDITION) is None


def test_entered_chances_win() -> None:
    entered = (OutcomeRecord("3Lz", 1.0, 2.0),)
    found = element_of(TrainedRecord(1, "3Lz", attempts=25, landed=18, outcomes=entered), EDITION)
    assert [(one.becomes, one.chance, one.goe) for one in found.outcomes] == [("3Lz", 1.0, 2.0)]


def test_too_little_is_known_of_some_jumps() -> None:
    """1T: four first jumps on all sheets; "not enough data" is an answer, and the element is not offered."""
    assert element_of(TrainedRecord(1, "1T", attempts=25, landed=25), EDITION).outcomes == ()


def test_a_childrens_edition_has_chances_too() -> None:
    book = "isu/2022-23/intermediate-novice/all/free"
    assert element_of(TrainedRecord(1, "2F+1Lo", attempts=12, landed=9), book).outcomes
