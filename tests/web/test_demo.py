"""The invented demo: legal layouts, plausible chances, an untrained temptation. It is invented; the rules are not."""

from __future__ import annotations

import json
from math import isclose
from statistics import mean
from typing import Any

import pytest

from app import engine
from app.domain.elements import JumpElement
from app.settings import PROJECT

DEMO: dict[str, Any] = json.loads((PROJECT / "data/demo/skater.json").read_text(encoding="utf-8"))
ELEMENTS = {one["code"]: one for one in DEMO["elements"]}
LAYOUTS = {one["name"]: one for one in DEMO["layouts"]}
SOLO_TRIPLES = ("3Lz", "3F", "3Lo", "3S", "3T")


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_layout_counts_in_full_and_fills_its_boxes(name: str) -> None:
    layout = LAYOUTS[name]
    edition = engine.edition(layout["edition"])
    items = [
        engine.Performed(one["code"], one["start"] >= edition.half_way_seconds) for one in layout["items"]
    ]
    review = engine.review(edition, items)
    assert [line.rulings for line in review.lines if line.rulings] == []
    assert review.warnings == ()
    assert sum(one["kind"] == "jump" for one in layout["items"]) == edition.boxes
    starts = [one["start"] for one in layout["items"]]
    assert starts == sorted(starts)
    assert starts[-1] < 2 * edition.half_way_seconds


def test_the_layout_of_2026_27_has_six_passes_and_two_units() -> None:
    # Senior free skating 2026/27: six jump elements, two of them combinations or sequences (press agency report on
    # the ISU Congress, 14 June 2024; technical panel slides of a national federation, 2026).
    codes = [one["code"] for one in LAYOUTS["Free skating"]["items"] if one["kind"] == "jump"]
    assert len(codes) == 6
    assert sum("+" in code for code in codes) == 2


@pytest.mark.parametrize("code", ELEMENTS)
def test_the_chances_of_every_element_sum_to_one_and_can_be_read(code: str) -> None:
    outcomes = ELEMENTS[code]["outcomes"]
    assert isclose(sum(one["chance"] for one in outcomes), 1.0)
    assert isinstance(engine.parse(code), JumpElement)
    assert all(isinstance(engine.parse(one["becomes"]), JumpElement) for one in outcomes)
    assert 0 < ELEMENTS[code]["landed"] <= ELEMENTS[code]["attempts"]


def test_solo_triples_succeed_about_as_often_as_in_published_counts() -> None:
    # Women, six Grand Prix events of 2021: 164 of 252 solo triples without a minus, a lower call or fewer turns (65 %).
    clean = [ELEMENTS[code]["outcomes"][0]["chance"] for code in SOLO_TRIPLES]
    assert mean(clean) == pytest.approx(164 / 252, abs=0.06)


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_layout_holds_an_untrained_pairing_worth_more_on_paper(name: str) -> None:
    layout = LAYOUTS[name]
    edition = engine.edition(layout["edition"])
    tempting = []
    for item in layout["items"]:
        for code in item["options"]:
            if not ELEMENTS[code]["ready"]:
                planned, other = engine.would_count(edition, [], [item["code"], code])
                tempting.append(other.base_value > planned.base_value)
    assert any(tempting)


def test_nobody_and_nothing_in_it_is_real() -> None:
    assert DEMO["skater"]["invented"] is True
    assert "invented" in DEMO["skater"]["name"]
