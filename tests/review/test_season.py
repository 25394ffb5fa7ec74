"""A season's counts, each worked out by hand on small invented programs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest

from app.chances import record
from app.live.program import Limits, Setting
from app.planner.slips import Kind
from app.review.season.choices import Choice, after_a_miss, quality, real_decisions
from app.review.season.forecasts import Forecast, as_tried, brier, forecasts, landing, parts
from app.review.season.marks import marks_by, marks_of
from app.review.season.passes import sheet_passes
from app.review.season.rehearsals import effect, situation_of
from app.review.season.shares import ENOUGH, Share, difference, share_of
from app.review.season.units import grouped, losses, lost_units
from tests.review.season_programs import START, element, program, sheet_of, state_of
from tests.review.test_decisions import KNOWN, LIMITS, PLAN as DECIDED, PassSkated, Reading, fold


def test_the_interval_of_a_difference_is_newcombes(monkeypatch: pytest.MonkeyPatch) -> None:
    """His example (a), method 10: 56/70 less 48/80 is 0.2, at 95 % from 0.0524 to 0.3339 (Statist. Med. 17, 1998)."""
    monkeypatch.setattr(record, "Z90", 1.959964)
    found = difference(Share(48, 80), Share(56, 70))
    assert found is not None
    assert found.chance == pytest.approx(0.2)
    assert (found.low, found.high) == (pytest.approx(0.0524, abs=5e-5), pytest.approx(0.3339, abs=5e-5))


def test_nothing_is_a_rate_of_too_few() -> None:
    assert not Share(4, ENOUGH - 1).enough
    assert Share(0, ENOUGH).enough
    assert Share().estimate is None
    assert difference(Share(), Share(5, 10)) is None
    assert share_of([True, False, True]) == Share(2, 3)


WAYS: tuple[tuple[str | None, ...], ...] = (
    ("3Lz+3T", "3Lz", "2Lz", "3Lz fell", None),
    ("3F", "3F+2T>3F+2T", "3F+2T>3F", "2F"),
    ("3S+2T", "3S", "3S fell", "2S"),
    ("2A", "2A+2T>2A+2T", "1A", None),
)
"""What may come of each of the four passes."""


def test_a_lost_tail_put_on_a_later_solo_jump_is_won_back() -> None:
    (kept,) = lost_units(program("3Lz", "3F", "3S+2T", "2A"))
    assert (kept.number, kept.kind, kept.jump) == (1, Kind.TAIL_LOST, "3T")
    assert (kept.had_place, kept.won_back) == (True, False)
    (back,) = lost_units(program("3Lz fell", "3F+2T>3F+2T", "3S+2T", "2A"))
    assert (back.kind, back.jump, back.won_back) == (Kind.FELL, "3Lz", True)
    assert lost_units(program("3Lz+3T", "3F", "3S+2T", "2A")) == ()


def test_each_added_unit_wins_back_one_and_the_earliest() -> None:
    first, second = lost_units(program("2Lz", None, "3S", "2A+2T>2A+2T"))
    assert (first.number, first.kind, first.won_back) == (1, Kind.POPPED, True)
    assert (second.number, second.won_back) == (3, False)
    both = lost_units(program("3Lz", "3F+2T>3F+2T", "3S", "2A+2T>2A+2T"))
    assert [one.won_back for one in both] == [True, True]


def test_a_unit_whose_tail_counts_for_nothing_wins_nothing_back() -> None:
    """The third 2T has no value (a double at most twice: ISU rules 2025/26), so the unit is not won back."""
    plan_kept = program("3Lz", "3F+2T>3F+2T", "3S+2T", "2A+2T>2A+2T")
    assert [one.ruled for one in plan_kept.passes][-1] == "2A+2T*"
    lost = lost_units(program("3Lz+3T", "3F+2T>3F+2T", "3S+2T", "2A+2T>2A+2T"))
    assert lost == ()
    late = program("3Lz+2T", "3F+2T>3F+2T", "3S", "2A+2T>2A+2T")
    assert [(one.number, one.won_back) for one in lost_units(late)] == [(3, False)]


def test_something_else_tried_is_no_failure_and_a_shortened_tail_is_no_loss() -> None:
    (given_up,) = lost_units(program("3Lz>3Lz", "3F", "3S+2T", "2A"))
    assert (given_up.kind, situation_of(given_up)) == (None, None)
    assert lost_units(program("3Lz+2T", "3F", "3S+2T", "2A")) == ()


def test_the_last_place_can_win_nothing_back() -> None:
    lost = lost_units(
        replace(program("3Lz+3T", "3F", "3S", "2A"), passes=program("3Lz+3T", "3F", "3S", "2A").passes[:3])
    )
    assert [(one.number, one.had_place) for one in lost] == [(3, False)]
    assert losses(lost).won_back == Share(0, 0)
    assert losses(lost).lost == 1


@pytest.mark.parametrize("seed", range(150))
def test_as_many_are_won_back_as_can_be(seed: int) -> None:
    """Against the most pairs of a loss and a later gain there are, by looking at every way to pair them."""
    random = Random(seed)
    came = [random.choice(ways) for ways in WAYS]
    one = program(*came)
    lost = [n for n, seen in enumerate(one.passes) if seen.is_unit_planned and not seen.is_unit]
    gained = [n for n, seen in enumerate(one.passes) if seen.is_unit and not seen.is_unit_planned]

    def most(gains: Sequence[int], open_losses: frozenset[int]) -> int:
        if not gains:
            return 0
        first, *rest = gains
        pairs = [1 + most(rest, open_losses - {loss}) for loss in open_losses if loss < first]
        return max([most(rest, open_losses), *pairs])

    found = lost_units(one)
    assert [seen.number for seen in found] == [n + 1 for n in lost]
    assert sum(seen.won_back for seen in found) == most(gained, frozenset(lost))


def test_losses_by_pass() -> None:
    lost = [
        *lost_units(program("3Lz", "3F", "3S", "2A")),
        *lost_units(program("2Lz", "3F+2T>3F+2T", "3S+2T", "2A")),
    ]
    found = grouped(lost, lambda one: one.number)
    assert (found[1].lost, found[1].won_back) == (2, Share(1, 2))
    assert (found[3].lost, found[3].won_back) == (1, Share(0, 1))


def test_before_and_after_the_first_rehearsal_of_that_situation() -> None:
    """Rehearsed on day 3: the loss of day 1 is before, that of day 5 after, another layout's is neither."""
    lost = [
        *lost_units(program("3Lz", "3F", "3S+2T", "2A", day=1)),
        *lost_units(program("3Lz", "3F+2T>3F+2T", "3S+2T", "2A", day=5)),
        *lost_units(program("3Lz", "3F", "3S+2T", "2A", day=6, key="other")),
        *lost_units(program("2Lz", "3F", "3S+2T", "2A", day=7)),
    ]
    first = {("plan", 1, "tail lost", "3T"): START + timedelta(days=3)}
    found = effect(lost, first)
    assert (found.before, found.after, found.never) == (Share(0, 1), Share(1, 1), Share(0, 2))
    assert found.gap is None
    many = effect(lost * ENOUGH, first)
    assert many.gap is not None
    assert many.gap.chance == 1.0
    assert many.gap.low > 0


def test_real_decisions_come_after_a_miss_and_have_something_to_choose() -> None:
    assert after_a_miss(state_of("3Lz", "3F", "3S+2T", "2A")) == {1, 2, 3}
    assert after_a_miss(state_of("3Lz+3T", "3F", "3S+2T", "2A")) == frozenset()
    lost = PassSkated(1, "3Lz+3T", "tail lost", (Reading("3Lz"),))
    kept = PassSkated(2, "2A", "so", (Reading("2A"),))
    (one,), unweighed = real_decisions(fold(DECIDED, [lost, kept]), KNOWN, KNOWN, LIMITS)
    assert unweighed == 0
    assert (one.number, one.right) == (2, False)
    assert one.short_of == pytest.approx(1.04, abs=0.005)
    only = {code: kept for code, kept in KNOWN.items() if code != "2A+2T"}
    assert real_decisions(fold(DECIDED, [lost, kept]), only, KNOWN, LIMITS) == ((), 0)
    untrained = PassSkated(2, "2A+2T", "so", (Reading("2A+2T"),))
    assert real_decisions(fold(DECIDED, [lost, untrained]), only, KNOWN, LIMITS) == ((), 1)


def test_quality_stands_apart_from_luck() -> None:
    lost = PassSkated(1, "3Lz+3T", "tail lost", (Reading("3Lz"),))
    chosen = []
    for tried, came in (("2A+2T", "2A+2T"), ("2A+2T", "2A"), ("2A", "2A"), ("2A", "1A")):
        state = fold(DECIDED, [lost, PassSkated(2, tried, "so", (Reading(came),))])
        (one,), _ = real_decisions(state, KNOWN, KNOWN, LIMITS)
        chosen.append(Choice(1, START, Setting.RUN_THROUGH, one))
    found = quality(chosen)
    assert (found.right_and_came, found.right_and_missed) == (1, 1)
    assert (found.short_and_came, found.short_and_missed) == (1, 1)
    assert found.right == Share(2, 4)
    # 2 x 1.04: what came of it changes nothing about what was given away.
    assert found.away == pytest.approx(2.08, abs=0.01)


def test_calls_and_grades_are_the_panels_misses_are_seen_from_the_boards() -> None:
    sheet = sheet_of(("3Lz<+3Tq", -90), ("3Fe", 0), ("3S+2T*", 40), ("2A+REP", -300))
    seen = program("3Lz+3T", "3F", "3S+2T", "2A fell", sheet=sheet)
    found = marks_of(seen.passes)
    assert (found.passes, found.kept, found.judged) == (4, 3, 4)
    assert dict(found.misses) == {"fell": 1}
    assert dict(found.calls) == {"q": 1, "<": 1, "e": 1, "*": 1, "+REP": 1}
    assert (found.plus, found.zero, found.minus) == (1, 1, 2)
    assert found.called == 5
    halves = marks_by(seen.passes, lambda one: one.late)
    assert (halves[False].called, halves[True].called) == (3, 2)
    leads = marks_by(seen.passes, lambda one: one.lead)
    assert dict(leads["3Lz"].calls) == {"q": 1, "<": 1}


def test_without_a_sheet_there_are_no_calls_and_without_a_log_no_plan() -> None:
    found = marks_of(program("3Lz", "2F", None, "2A").passes)
    assert (found.judged, found.called, found.plus + found.zero + found.minus) == (0, 0, 0)
    assert dict(found.misses) == {"popped": 1, "tail lost": 1, "not attempted": 1}
    alone = sheet_passes(sheet_of(("3Lz<", -90), ("2A", -330)))
    assert [one.planned for one in alone] == [None, None]
    assert dict(marks_of(alone).misses) == {"fell": 1}


def test_landed_as_tried() -> None:
    assert as_tried("3Lz+3T", "3Lz<+3Tq", False)
    assert as_tried("3F", "3Fe", False)
    assert not as_tried("3Lz+3T", "3Lz+3T", True)
    assert not as_tried("3Lz+3T", "3Lz", False)
    assert not as_tried("3Lz", "3Lz<<", False)
    assert not as_tried("3Lz", None, False)


NO_ODDS = Limits(after_fall_odds=False, second_half_odds=False)
OWN = {
    "3Lz+3T": element("3Lz+3T", ("3Lz+3T", 0.5, False), ("3Lz+3T<", 0.2, False), ("3Lz", 0.3, True)),
    "2A": element("2A", ("2A", 0.9, False), ("1A", 0.1, False)),
}


def test_the_forecast_is_what_the_log_said_before_and_the_outcome_what_came() -> None:
    first, last = forecasts(state_of("3Lz", "3F", "3S+2T", "2A"), OWN, NO_ODDS, START)
    assert (first.code, first.said, first.landed) == ("3Lz+3T", pytest.approx(0.7), False)
    assert (last.code, last.said, last.landed) == ("2A", pytest.approx(0.9), True)
    # (0.7 - 0)^2 and (0.9 - 1)^2: their mean is 0.25.
    assert brier((one.said, one.landed) for one in (first, last)) == pytest.approx(0.25)
    assert first.others is not None
    assert 0 < first.others < 1


def test_the_odds_of_the_moment_are_part_of_the_forecast() -> None:
    """After a fall the odds of a clean pass halve (0.9 to 0.1 becomes 0.45 to 0.1: 9 of 11)."""
    odds = replace(NO_ODDS, after_fall_odds=True)
    (*_, last) = forecasts(state_of("3Lz+3T", "3F", "3S fell", "2A"), OWN, odds, START)
    assert last.said == pytest.approx(0.9 * _after_fall() / (0.9 * _after_fall() + 0.1), abs=1e-5)


def _after_fall() -> float:
    from app.chances.prior import published

    return published("after fall", "women").odds


def test_forecasts_in_five_parts() -> None:
    said = [(0.1, False), (0.75, True), (0.7, False), (1.0, True)]
    found = parts([Forecast(START, Setting.RUN_THROUGH, "2A", chance, None, came) for chance, came in said])
    assert [(one.low, one.n, one.landed) for one in found] == [(0.0, 1, 0), (0.6, 2, 1), (0.8, 1, 1)]
    assert found[1].forecast == pytest.approx(0.725)


def test_landing_of_a_certain_element_is_certain() -> None:
    from app.chances.adjust import Moment

    sure = element("2A", ("2A", 1.0, False))
    assert landing("2A", sure.outcomes, "women", Moment()) == 1.0
