"""The assumed plan of a sheet: what is undone and what is not. Codes are invented; the rules are stated in the module.

Three plans are worked out by hand; the last test walks the official sheets the tests carry (public results).
"""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Any

import pytest

from app.legality.judge import judge_all
from app.rulebook.editions import edition
from tests.planner.card_sheets import passes_of, plan_of

SHEETS = Path(__file__).parents[1] / "reference" / "sheets.jsonl.gz"


def rows(*codes: str) -> list[dict[str, Any]]:
    """Rows of a sheet; a trailing F is a fall."""
    return [
        {
            "code": code.removesuffix(" F"),
            "info": "F" if code.endswith(" F") else "",
            "x": False,
            "base_value": 0.0,
            "goe": 0.0,
        }
        for code in codes
    ]


def plan(*codes: str, women: bool = True) -> list[str]:
    return [str(one) for one in plan_of(rows(*codes), women)]


@pytest.mark.parametrize(
    ("skated", "planned", "women"),
    [
        ("3F!<", "3F", True),
        ("3Lz+3T<< F", "3Lz+3T", True),
        ("1Lo", "3Lo", True),
        ("Lz", "3Lz", False),
        ("1A", "2A", True),
        ("1A", "3A", False),
        ("2A", "2A", False),
        ("2F+2T", "3F+2T", True),
        ("3S+1T", "3S+2T", True),
        ("3Lz+COMBO+2T*", "3Lz+2T", True),
        ("3Lz+A+SEQ", "3Lz+2A+SEQ", True),
        ("3F+SEQ+2A*", "3F+2A+SEQ", False),
        ("3Lz+1Eu+2S", "3Lz+1Eu+2S", False),
        ("3F+1Eu+2A", "3F+1Eu+2A", True),
    ],
)
def test_one_element_undone(skated: str, planned: str, women: bool) -> None:
    # Beside three units nothing is added.
    assert plan("3S+3T", "3Lo+2T", "2A+2T+2Lo", skated, women=women)[-1] == planned


def test_a_repeat_gets_its_tail_back_before_a_fall_does() -> None:
    said = plan("3Lz", "3F F", "3Lo+2T", "2A+3T", "3Lz+REP")
    assert said == ["3Lz", "3F", "3Lo+2T", "2A+3T", "3Lz+2T"]


def test_a_fallen_solo_gets_a_tail_where_a_unit_is_unused() -> None:
    # Both 2T are used: 3T.
    said = plan("3Lz F", "3F+2T", "3Lo+2T", "2A", "3S")
    assert said == ["3Lz+3T", "3F+2T", "3Lo+2T", "2A", "3S"]


def test_a_clean_solo_stays_alone() -> None:
    assert plan("3Lz", "3F+2T", "3Lo") == ["3Lz", "3F+2T", "3Lo"]


def sheets() -> list[dict[str, Any]]:
    found = [json.loads(line) for line in gzip.decompress(SHEETS.read_bytes()).splitlines()]
    seasons = ("2022/23", "2023/24", "2024/25", "2025/26")
    return [
        one
        for one in found
        if one["segment"] == "free" and one["level"] == "senior" and one["season"] in seasons
    ]


def test_every_assumed_plan_of_an_official_sheet_counts_in_full() -> None:
    planned = 0
    for sheet in sheets():
        book = edition(f"isu/{sheet['season'].replace('/', '-')}/senior/{sheet['discipline']}/free")
        passes = passes_of(sheet, book)
        if passes is None:
            continue
        planned += 1
        verdicts, _ = judge_all(book, [one.planned for one in passes])
        assert not any(one.rulings for one in verdicts)
        assert sum(one.planned.is_unit for one in passes) <= 3
        assert all(one.planned.jumps[0].takeoff == one.skated.jumps[0].takeoff for one in passes)
    assert planned >= len(sheets()) * 0.7 > 10
