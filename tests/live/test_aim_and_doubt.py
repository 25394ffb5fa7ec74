"""A total to reach, and whether a doubtful call matters. Elements, gains and chances are invented."""

from __future__ import annotations

from datetime import date

import pytest

from app import engine
from app.live.advice import Choice, Swap
from app.live.aim import LEAST_GAIN, Elsewhere, choose_for, needed, words
from app.live.doubt import doubt_words, ways
from app.live.events import AimSet, PassSkated, Reading
from app.live.fold import fold
from app.live.line import Ground, line_of, percent
from app.live.program import KnownElement, Limits, Outcome
from tests.live.test_line import PLAN

UNSURE = PassSkated(1, "3Lz+3T", "?", (Reading("3Lz+2T", chance=0.5), Reading("3Lz+3T<<", chance=0.5)))
ELEMENT = KnownElement("3F+3T", True, 25, 18, date(2026, 11, 20), (Outcome("3F+3T", 1.0),))


def test_what_is_needed_is_the_total_less_everything_else() -> None:
    """62.40 - 28.50 - 11.00 - 10.10 - 0.53 + 1.00 = 13.27."""
    elsewhere = Elsewhere(components=28.5, others=11.0, skated=10.1, skated_goe=0.53, deductions=-1.0)
    assert needed(AimSet("reach", 62.4, 28.5), elsewhere) == pytest.approx(13.27)


def test_the_latest_aim_counts_and_the_first_is_most_points() -> None:
    assert fold(PLAN, []).aim.kind == "expected"
    state = fold(PLAN, [AimSet("reach", 62.4, 28.5), AimSet("floor", 50.0, 28.5)])
    assert words(state.aim) == "not to fall below 50.00"


def test_a_swap_for_a_total_needs_a_chance_worth_a_change() -> None:
    small = Swap(2, "3F", "3F+3T", LEAST_GAIN - 0.001, 0.42)
    large = Swap(2, "3F", "3F+3T", LEAST_GAIN, 0.43)
    state = fold(PLAN, [AimSet("reach", 62.4)])
    assert choose_for((small,), state, {"3F+3T": ELEMENT}, Limits()).swap is None
    assert choose_for((large,), state, {"3F+3T": ELEMENT}, Limits()).swap == large
    assert choose_for((large,), state, {}, Limits()).swap is None, "never trained, never offered"


def ground(aim: str = "", doubt: str = "") -> Ground:
    edition = engine.edition(PLAN.edition)
    return Ground(fold(PLAN, []), edition, {"3F+3T": ELEMENT}, Limits(), {}, {}, aim, 0.41, doubt)


def test_the_line_tells_chances_where_a_total_is_aimed_at() -> None:
    swap = Swap(2, "3F", "3F+3T", 0.07, 0.48)
    line = line_of(Choice(swap, 0.07), ground("to reach 62.40"))
    assert (line.headline, line.gain) == ("Pass 2: 3F+3T", "41 % → 48 % to reach 62.40")
    kept = line_of(Choice(None, 0.01), ground("to reach 62.40"))
    assert kept.gain == "41 % to reach 62.40"
    assert "adds only 1 % to that chance" in kept.why


@pytest.mark.parametrize(
    ("chance", "said"),
    [(0.0, "0 %"), (0.004, "under 1 %"), (0.415, "42 %"), (0.996, "over 99 %"), (1.0, "100 %")],
)
def test_no_chance_is_called_certain_that_is_not(chance: float, said: str) -> None:
    assert percent(chance) == said


def test_each_way_a_doubtful_call_may_go_is_a_certain_state() -> None:
    state = fold(PLAN, [UNSURE])
    found = ways(state)
    assert [(one.said, one.chance) for one in found] == [("3Lz+2T", 0.5), ("3Lz+3T<<", 0.5)]
    for way in found:
        (entry,) = way.state.logged
        assert isinstance(entry, PassSkated)
        assert [(one.code, one.chance) for one in entry.readings] == [(way.said, 1.0)]
    assert ways(fold(PLAN, [])) == ()


def test_too_many_ways_are_not_told_apart() -> None:
    """Four passes in doubt, two readings each, are sixteen ways."""
    log = [PassSkated(n, row.code, "?", UNSURE.readings) for n, row in enumerate(PLAN.passes, start=1)]
    assert len(ways(fold(PLAN, log[:3]))) == 8
    assert ways(fold(PLAN, log)) == ()


def test_the_doubt_is_said_to_matter_only_where_the_advice_differs() -> None:
    first, second = ways(fold(PLAN, [UNSURE]))
    swap = Swap(3, "3Lo+2T", "3Lo+3T", 1.2)
    keep, change = Choice(None, 0.1), Choice(swap, 1.2)
    same = doubt_words(keep, [(first, keep), (second, keep)])
    assert same == "The doubt does not matter: the advice is the same either way."
    apart = doubt_words(keep, [(first, keep), (second, change)])
    assert "If called 3Lz+2T: keep the plan. If called 3Lz+3T<<: 3Lo+3T on pass 3." in apart
    assert doubt_words(keep, []) == ""


def test_the_line_carries_the_word_on_the_doubt() -> None:
    line = line_of(Choice(None, 0.0), ground(doubt="The doubt does not matter."))
    assert line.why.endswith("The doubt does not matter.")
