"""The aim "at least": the greatest chance to reach so many points, compared exactly.

Outside facts: the contract (`>=`, exact; a grid says so and gives a bound) and chances worked by hand.
Base values as in test_advice.
"""

from __future__ import annotations

from typing import Any

import pytest

from app.engine import advise
from app.errors import InputError
from app.planner import graph, packed_target, target
from tests.planner.requests_for_tests import FREE, one_pass

SURE_OR_BOLD = {
    "2A": [{"becomes": "2A", "chance": 1}],
    "3Lz": [{"becomes": "3Lz", "chance": "0.4"}, {"becomes": "2Lz", "chance": "0.6"}],
}


def at_least(points: float | str, **more: Any) -> Any:
    """Two passes, each a sure 2A (3.30) or a bold 3Lz (5.90 in two of five, else 2Lz 2.10)."""
    request = {
        "edition": FREE,
        "passes": [{"planned": "2A", "options": ["2A", "3Lz"]}] * 2,
        "attempts": SURE_OR_BOLD,
        "aim": {"kind": "at_least", "points": points},
    }
    return advise(request | more)


def test_the_sure_thing_when_it_is_enough() -> None:
    """Two 2A are 6.60: surely reached."""
    answer = at_least(6.60)
    assert (answer.value, answer.best, answer.exact) == (1.0, "2A", True)


def test_a_hair_more_needs_the_bold_one() -> None:
    """6.61 needs a 3Lz: 2A then 3Lz (9.20) or the other way, and after a missed 3Lz a second try.

    3Lz first: 0.4, then whatever; missed (2.10): another 3Lz lands at 8.00 in 0.4 more: 0.4 + 0.6 x 0.4.
    """
    answer = at_least("6.61")
    assert answer.value == pytest.approx(0.64)
    assert answer.best == "3Lz"
    assert {o.element: o.value for o in answer.options}["2A"] == pytest.approx(0.4)
    assert answer.keep_all_value == 0.0


def test_out_of_reach() -> None:
    """Two 3Lz solo are 5.90 + 4.13 (70 %): no more than that."""
    assert at_least("10.03").value == pytest.approx(0.16)
    assert at_least("10.04").value == 0.0


def test_swaps_are_chances_too() -> None:
    (best, other) = at_least("6.61").swaps
    assert (best.value, best.gain) == (pytest.approx(0.4), pytest.approx(0.4))
    assert {best.number, other.number} == {1, 2}


def test_the_limit_on_changes_holds() -> None:
    """One change allowed: no second try after a missed 3Lz."""
    assert at_least("6.61", max_changes=1).value == pytest.approx(0.4)
    assert at_least("6.61", max_changes=0).value == 0.0


def test_points_are_compared_exactly_in_tenths_of_hundredths() -> None:
    """3F with a grade of 0.1: 5.30 + 0.053 = 5.353, not rounded."""
    graded = {"3F": [{"becomes": "3F", "chance": 1, "goe": "0.1"}]}
    reached = one_pass(["3F"], attempts=graded, aim={"kind": "at_least", "points": "5.353"})
    missed = one_pass(["3F"], attempts=graded, aim={"kind": "at_least", "points": "5.3530001"})
    assert (advise(reached).value, advise(missed).value) == (1.0, 0.0)


def test_a_change_forced_later_is_left_for_later() -> None:
    """One change allowed, and the second pass cannot keep its plan: no change now, however sure the target."""
    request = {
        "edition": FREE,
        "passes": [{"planned": "2A", "options": ["2A", "3Lz"]}, {"planned": "3T", "options": ["2A"]}],
        "attempts": SURE_OR_BOLD,
        "max_changes": 1,
        "aim": {"kind": "at_least", "points": 1},
    }
    for more in ({}, {"edition": "isu/2025-26/senior/women/short"}, {"aim": {"kind": "expected"}}):
        assert [option.element for option in advise(request | more).options] == ["2A"]


def test_a_belief_weighs_its_readings() -> None:
    """3T done or perhaps 2T: a third 2T counts only if the first reading is right; 1.30 is reached in half."""
    done = [
        {"code": "3F+2T"},
        {"any_of": [{"code": "3Lz+2T", "chance": 0.5}, {"code": "3Lz+3T<<", "chance": 0.5}]},
    ]
    request = one_pass(["2T"], done=done, aim={"kind": "at_least", "points": 1.3})
    assert advise(request).value == 0.5


def test_a_grid_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packed_target, "EXACT_SIZE", 1)
    answer = at_least("6.61")
    assert not answer.exact
    assert answer.bound is not None
    assert answer.value <= 0.64 + 1e-9 <= answer.value + answer.bound + 2e-9
    assert answer.as_json()["bound"] == answer.bound


def test_too_many_ways_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packed_target, "EXACT_SIZE", 1)
    monkeypatch.setattr(packed_target, "GRID_SIZE", 1)
    monkeypatch.setattr(graph, "MOST_STATES", 1)
    monkeypatch.setattr(graph, "SMALL", 1)
    monkeypatch.setattr(target, "EXACT_STEPS", 0)
    with pytest.raises(InputError, match="too many ways") as caught:
        at_least("6.61")
    assert caught.value.field == "aim"
