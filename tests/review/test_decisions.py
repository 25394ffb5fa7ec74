"""Decisions judged by what was known, not by what came of it.

Worked by hand: 2A is worth 3.30, a tail of 2T 1.30 (published values 2026/27); landed eight times in ten it adds 1.04
on average. The skater, the chances and the plan are invented.
"""

from __future__ import annotations

from datetime import date

import pytest

from app.live.events import PassLeftOut, PassSkated, Reading
from app.live.fold import fold
from app.live.program import KnownElement, Limits, Outcome, Plan, PlannedPass, Setting
from app.review.decisions import Decision, decisions, mattered_most

PLAN = Plan(
    "isu/2026-27/senior/women/free",
    Setting.RUN_THROUGH,
    "",
    (PlannedPass("3Lz+3T", 20, False), PlannedPass("2A", 60, False, ("2A+2T",))),
)


def element(code: str, *ends: tuple[str, float]) -> KnownElement:
    """An element with these ways of ending, grades at 0."""
    outcomes = tuple(Outcome(becomes, chance) for becomes, chance in ends)
    return KnownElement(code, True, 20, 16, date(2026, 11, 1), outcomes)


KNOWN = {
    one.code: one
    for one in (
        element("3Lz+3T", ("3Lz+3T", 0.6), ("3Lz", 0.4)),
        element("2A", ("2A", 1.0)),
        element("2A+2T", ("2A+2T", 0.8), ("2A", 0.2)),
    )
}
LIMITS = Limits(after_fall_odds=False, second_half_odds=False)


def judged(
    tried: str | None, came: str, *, limits: Limits = LIMITS, trained: bool = True, fell: bool = False
) -> tuple[Decision, ...]:
    """The decisions when the first pass lost its tail and this was tried on the second."""
    first = PassSkated(1, "3Lz+3T", "tail lost", (Reading("3Lz", fall=fell),))
    second = PassLeftOut(2) if tried is None else PassSkated(2, tried, "so", (Reading(came),))
    offered = KNOWN if trained else {code: one for code, one in KNOWN.items() if code != "2A+2T"}
    return decisions(fold(PLAN, [first, second]), offered, KNOWN, limits)


def test_a_trained_tail_left_out_was_short_by_its_mean_worth() -> None:
    first, second = judged("2A", "2A")
    assert first.right
    assert not first.came
    assert (second.best, second.right) == ("2A+2T", False)
    assert second.short_of == pytest.approx(1.04, abs=0.005)
    ((code, gain),) = second.open
    assert (code, gain) == ("2A+2T", pytest.approx(1.04, abs=0.005))
    assert mattered_most((first, second)) == second


def test_the_right_choice_stays_right_when_it_does_not_come_off() -> None:
    _, second = judged("2A+2T", "2A")
    assert (second.right, second.came, second.short_of) == (True, False, 0.0)
    assert mattered_most(judged("2A+2T", "2A")) is None


def test_what_comes_of_it_never_changes_the_judgement() -> None:
    lucky, unlucky = judged("2A+2T", "2A+2T")[1], judged("2A+2T", "2A")[1]
    assert (lucky.right, lucky.best, lucky.short_of) == (unlucky.right, unlucky.best, unlucky.short_of)


def test_what_is_not_trained_was_never_open() -> None:
    _, second = judged("2A", "2A", trained=False)
    assert (second.best, second.right, second.open) == ("2A", True, ())


def test_a_gain_below_the_coachs_threshold_is_no_miss() -> None:
    _, second = judged(
        "2A", "2A", limits=Limits(threshold=1.5, after_fall_odds=False, second_half_odds=False)
    )
    assert second.right
    assert second.open == ()


def test_nothing_harder_was_open_right_after_a_fall() -> None:
    _, second = judged("2A", "2A", fell=True)
    assert (second.best, second.right, second.open) == ("2A", True, ())
