"""The card of the invented demo skater: on a phone, on paper, and what may be chosen. Figures are the engine's own."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app.planner.card import Card, CardRule, CardSwap
from app.planner.card_rules import Kind
from app.storage.stores import open_stores
from app.web.views import card as views
from tests.web.test_screens import text_of

STATIC = Path(__file__).parents[2] / "static"


def card_text(client: TestClient, address: str) -> str:
    """The words of a card once it is worked out; the test fails after a minute."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        said = text_of(client, address)
        if "Back" not in said.split() or "perfect replanning would win" in said or "Keep the plan" in said:
            return said
        time.sleep(0.05)
    raise AssertionError(f"no card at {address}")


def test_the_layout_leads_to_its_card_and_the_card_to_paper(demo_laptop: TestClient) -> None:
    assert 'href="/layouts/1/card"' in demo_laptop.get("/layouts/1").text
    card_text(demo_laptop, "/layouts/1/card")
    assert (
        'href="/layouts/1/card/print?rules=4&amp;changes=2&amp;swaps=1"'
        in demo_laptop.get("/layouts/1/card").text
    )


def test_a_card_is_said_in_sentences_with_one_of_figures(demo_laptop: TestClient) -> None:
    said = card_text(demo_laptop, "/layouts/1/card")
    share = re.search(r"Keeps (\d+) % of what perfect replanning would win", said)
    assert share is not None
    assert 0 < int(share[1]) < 100
    assert re.search(r"If pass 1 [^:]* or loses its tail", said)
    keep, value, full = (
        float(one)
        for one in re.findall(r"([\d.]+) with (?:the plan kept|this card|perfect replanning)", said)
    )
    assert keep < value < full
    assert int(share[1]) == pytest.approx(100 * (value - keep) / (full - keep), abs=2)
    assert "How sure:" in said
    assert "Rests on rules of 2026/27 that were not read" in said


def test_the_short_program_has_a_card_too(demo_laptop: TestClient) -> None:
    said = card_text(demo_laptop, "/layouts/2/card")
    assert "short program" in said
    assert "perfect replanning would win" in said


def test_only_trained_elements_are_on_a_card(demo_app: FastAPI, demo_laptop: TestClient) -> None:
    with open_stores(demo_app.state.database) as stores:
        for one in stores.skaters.trained(1):
            stores.skaters.save_trained(replace(one, ready=False))
    assert "Keep the plan" in card_text(demo_laptop, "/layouts/1/card")
    assert "instead of" not in card_text(demo_laptop, "/layouts/1/card")


def test_fewer_rules_on_request(demo_laptop: TestClient) -> None:
    one = card_text(demo_laptop, "/layouts/1/card?rules=1")
    assert one.count("Comes up in") == 1
    assert "At most 1 change in one skate" in card_text(demo_laptop, "/layouts/1/card?rules=2&changes=1")


def test_paper_says_stop_when_hurt_and_carries_no_menu(demo_laptop: TestClient) -> None:
    card_text(demo_laptop, "/layouts/1/card")
    said = card_text(demo_laptop, "/layouts/1/card/print")
    assert "Hurt or hit the head: stop and get help" in said
    assert "Anything else: keep the plan" in said
    assert "<select" not in demo_laptop.get("/layouts/1/card/print").text
    # ISO 216: A6 is 105 mm by 148 mm.
    assert "@page { size: 105mm 148mm" in (STATIC / "print.css").read_text()


@pytest.mark.parametrize("wrong", ["rules=0", "rules=7", "changes=3", "changes=-1", "swaps=3", "rules=x"])
def test_what_cannot_be_chosen(demo_laptop: TestClient, wrong: str) -> None:
    answer = demo_laptop.get(f"/layouts/1/card?{wrong}")
    assert answer.status_code == 422
    assert wrong.split("=")[0] in answer.text


def test_no_change_allowed_is_said(demo_app: FastAPI, demo_laptop: TestClient) -> None:
    with open_stores(demo_app.state.database) as stores:
        stores.settings.change("most_changes", "0")
    assert "Your settings allow no change" in card_text(demo_laptop, "/layouts/1/card")


@pytest.mark.parametrize(
    ("planned", "element", "said"),
    [
        ("3Lo", "3Lo+2T", "2T on pass 4"),
        ("2A", "2A+3T", "3T on pass 4"),
        ("3F+2T", "3F+2T+2Lo", "2Lo on pass 4"),
        ("3Lz+3T", "3Lz", "3Lz alone on pass 4"),
        ("3Lz", "3F", "3F on pass 4"),
        ("3F", "3F+2A+SEQ", "3F+2A+SEQ on pass 4"),
        ("3F", None, "leave out pass 4"),
    ],
)
def test_a_swap_is_said_as_short_as_it_can_be(planned: str, element: str | None, said: str) -> None:
    assert views._say(CardSwap(4, planned, element)) == said


def rule(kind: Kind, gain: float, fires: float) -> CardRule:
    return CardRule(1, "3Lz+3T", kind, (CardSwap(3, "2A", "2A+3T"),), gain, fires, fires)


def test_failures_of_one_pass_with_the_same_swap_are_one_sentence() -> None:
    view = views._rule([rule(Kind.FALL, 0.1, 0.05), rule(Kind.TAIL_LOST, 0.2, 0.05)], {})
    assert view.when == "If pass 1 ends in a fall or loses its tail"
    assert view.worth == "Brings +3.0 points each time it is used, +0.30 a skate on average."
    assert view.chance == "Comes up in about 1 skate in 10."


def test_nothing_to_win_reads_keep_the_plan() -> None:
    nothing = Card((), 30.0, 30.0, 30.0, None, 0.0, True, 1, 4, 2, 0.5)
    assert views._keeps(nothing) == "Nothing can be won back by changing. Keep the plan."
    assert views._keeps(replace(nothing, full=31.0, share=0.0)).endswith("Keep the plan.")


def test_rules_written_as_one_sentence_are_counted_aloud(demo_laptop: TestClient) -> None:
    """Who allows four rules and sees two sentences is told why; each kind of miss of a pass is a rule."""
    alike = [rule(Kind.FALL, 0.1, 0.05), rule(Kind.TAIL_LOST, 0.2, 0.05)]
    card = Card(tuple(alike), 30.0, 30.3, 31.0, 0.3, 0.0, True, 9, 4, 2, 0.5)
    assert views._counted(card, views._alike(alike)) == (
        "Counted as 2 rules: misses of one pass with the same answer are written as one."
    )
    assert views._counted(replace(card, rules=(alike[0],)), views._alike(alike[:1])) == ""
    assert "Counted as 4 rules" in card_text(demo_laptop, "/layouts/1/card")
