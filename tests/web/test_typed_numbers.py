"""A comma is a decimal mark in every field that takes a number with decimals; what is kept is the same as with "
"a point."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from app.rulebook.editions import edition
from app.rulebook.own import changed
from app.web.rendering import TEMPLATES
from app.web.routes.aim import _points
from app.web.tongue import COOKIE
from app.web.views.making import read_grade
from app.web.views.rulebook_own import read_values

WOMEN = "isu/2025-26/senior/women/free"
WITH_DECIMALS = {"threshold", "goe", "points", "components"}
"""Fields of the templates for numbers with decimals, each tried below; numbers of a rulebook are `own.html`'s."""


def test_a_planned_grade() -> None:
    assert read_grade("1,5", "goe") == read_grade("1.5", "goe") == 1.5


def test_points_to_reach() -> None:
    assert _points("points", "62,40") == _points("points", "62.40") == 62.4


def test_base_values_of_ones_own() -> None:
    assert read_values("3Lz 6,10\n3Lz < 4,80") == {("3Lz", "clean"): 610, ("3Lz", "<"): 480}


@pytest.mark.parametrize("typed", ["1,50", "1.50"])
def test_numbers_of_an_own_rulebook(typed: str) -> None:
    draft = changed(edition(WOMEN), {"falls.each.0": "0,50", "components.list.0.factor": typed})
    assert draft.faults == {}
    assert draft.edition is not None
    assert draft.edition.rules.falls.each[0] == 50
    assert draft.edition.rules.components.list[0].factor == 1.5


def test_a_number_sent_back_as_it_was_shown_is_no_change() -> None:
    """A German reader sees 1,00 in the field; sending the form must not make it a number of their own."""
    shown = f"{edition(WOMEN).rules.falls.each[0] / 100:.2f}".replace(".", ",")
    assert changed(edition(WOMEN), {"falls.each.0": shown}).changed == ()


def test_the_smallest_gain_is_typed_and_shown_with_a_comma(demo_laptop: TestClient) -> None:
    demo_laptop.cookies.set(COOKIE, "de")
    sent = {"threshold": "0,7", "most_changes": "2", "trained_attempts": "10", "trained_within_days": "60"}
    assert demo_laptop.post("/skaters/1/limits", data=sent).status_code in (200, 303)
    assert (
        'name="threshold" inputmode="decimal" autocomplete="off" value="0,7"'
        in demo_laptop.get("/skaters/1").text
    )
    demo_laptop.cookies.set(COOKIE, "en")
    assert 'value="0.7"' in demo_laptop.get("/skaters/1").text


def test_no_field_for_decimals_refuses_a_comma() -> None:
    """`type="number"` lets the browser decide which mark it takes; where decimals are meant the field is a text."""
    found = set()
    for file in TEMPLATES.rglob("*.html"):
        for field in re.findall(r"<input[^>]*>", file.read_text(encoding="utf-8")):
            name = re.search(r'name="([^"]+)"', field)
            if 'inputmode="decimal"' in field and name is not None:
                found.add(name[1])
            assert not ('type="number"' in field and "step=" in field), f"{file.name}: {field}"
    assert found == WITH_DECIMALS
