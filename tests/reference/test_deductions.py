"""Deductions: falls by level, and what else comes off.

Sources: official sheets 2018/19 to 2025/26 (seniors two falls -2, three -4, four -6; juniors one to five
falls -1 to -5; other deductions printed beside them); the fifth senior fall from U.S. technical panel
slides 2026; ISU Novice 0.5 a fall from ISU Communication 2396.
"""

from __future__ import annotations

import pytest

from app import engine

SENIOR = {0: 0, 1: -1, 2: -2, 3: -4, 4: -6, 5: -9}
JUNIOR = {0: 0, 1: -1, 2: -2, 3: -3, 4: -4, 5: -5}
NOVICE = {0: 0, 1: -0.5, 2: -1, 3: -1.5}
TABLE = [
    *(("isu/2025-26/senior/women/free", n, off) for n, off in SENIOR.items()),
    *(("isu/2022-23/senior/men/short", n, off) for n, off in SENIOR.items()),
    *(("isu/2026-27/senior/men/free", n, off) for n, off in SENIOR.items()),
    *(("isu/2025-26/junior/men/free", n, off) for n, off in JUNIOR.items()),
    *(("isu/2026-27/junior/women/short", n, off) for n, off in JUNIOR.items()),
    *(("isu/2022-23/intermediate-novice/all/free", n, off) for n, off in NOVICE.items()),
]


@pytest.mark.parametrize(("edition", "falls", "deductions"), TABLE)
def test_falls(edition: str, falls: int, deductions: float) -> None:
    answer = engine.score({"edition": edition, "elements": [{"code": "2A"}], "falls": falls}).as_json()
    assert answer["deductions"] == deductions
    assert answer["total"] == pytest.approx(3.30 + deductions)


def test_a_fall_on_a_starred_element_is_still_deducted() -> None:
    """Official sheet p02463 as quoted in the fact sheet: Lo* with a fall."""
    request = {
        "edition": "isu/2023-24/senior/women/short",
        "elements": [{"code": "Lo", "error": True}],
        "falls": 1,
    }
    answer = engine.score(request).as_json()
    assert answer["elements"][0]["code"] == "Lo*"
    assert answer["deductions"] == -1.0


def test_other_deductions_are_added_to_those_for_falls() -> None:
    """A time violation (-1) beside one fall (-1), as on sheets p00423 and p02568."""
    request = {"edition": "isu/2022-23/senior/men/free", "elements": [], "falls": 1, "other_deductions": -1}
    assert engine.score(request).as_json()["deductions"] == -2.0


def test_two_quads_in_a_short_program_combination_are_one_too_many() -> None:
    """Senior men: 2+3, 3+3, 4+2, 4+3 (handbook 2025/26). Which of the two goes is written nowhere."""
    elements = [{"code": code} for code in ("4T+4S", "3A", "3Lz")]
    answer = engine.score({"edition": "isu/2025-26/senior/men/short", "elements": elements}).as_json()
    assert answer["elements"][0]["code"] in ("4T*+4S", "4T+4S*")
