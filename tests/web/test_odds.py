"""Published odds as a coach's choice: explained with interval and sample, kept by programs already started.

Figures: open data of ISU protocols 2016-2017, elite senior free skatings (data/priors/adjustments.csv). The skater
is the invented demo.
"""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from app.settings import CoachSettings
from app.storage.database import Database
from app.storage.records import LiveProgramRecord
from app.storage.stores import open_stores
from app.web.views.plans import limits_of, program_limits, second_half_odds

LIMITS = {"threshold": "0.5", "most_changes": "2", "trained_attempts": "10", "trained_within_days": "60"}


def start(laptop: TestClient, database: Database) -> LiveProgramRecord:
    with open_stores(database) as stores:
        layout = next(
            one for one in stores.layouts.of_skater(1) if one.edition.endswith("2026-27/senior/women/free")
        )
    place = laptop.post("/live", data={"layout_id": layout.id, "kind": "run-through"}).headers["location"]
    with open_stores(database) as stores:
        return stores.live.program(int(place.rsplit("/", 1)[1]))


def test_each_choice_is_explained_with_its_odds_interval_and_sample(demo_laptop: TestClient) -> None:
    page = demo_laptop.get("/skaters/1").text
    said = html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)))
    assert "men × 0.50 (0.34 to 0.70, 118 falls) and women × 0.50 (0.30 to 0.83, 57 falls)" in said
    assert re.search(r"Women's triples in the second half .* × 1.80 \(1.16 to 2.78, 218 free skates\)", said)
    assert re.search(
        r"Men's triples .* × 1.04 \(0.58 to 1.86, 218 free skates\), .*no difference was shown", said
    )
    ticked = re.findall(r'name="(\w+_odds\w*)" value="yes" checked', page)
    assert ticked == ["after_fall_odds", "second_half_odds_women"]


def test_a_program_keeps_the_odds_it_was_started_with(demo_laptop: TestClient, database: Database) -> None:
    before = start(demo_laptop, database)
    assert (before.after_fall_odds, before.second_half_odds) == (True, True)
    demo_laptop.post("/skaters/1/limits", data=LIMITS)  # no box ticked
    after = start(demo_laptop, database)
    assert (after.after_fall_odds, after.second_half_odds) == (False, False)
    with open_stores(database) as stores:
        coach, kept = stores.settings.coach(), stores.live.program(before.id)
    assert coach.after_fall_odds is coach.second_half_odds_women is False
    assert program_limits(kept, coach).after_fall_odds is program_limits(kept, coach).second_half_odds is True


@pytest.mark.parametrize(
    ("edition", "on"),
    [
        ("isu/2026-27/senior/women/free", True),
        ("isu/2026-27/junior/men/free", False),
        ("isu/2022-23/intermediate-novice/all/free", False),  # no sample covers a mixed field
    ],
)
def test_the_second_half_goes_by_discipline(edition: str, on: bool) -> None:
    coach = CoachSettings()
    assert second_half_odds(coach, edition) is limits_of(coach, edition).second_half_odds is on
