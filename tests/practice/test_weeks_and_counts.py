"""Attempts by week, and which of them the chances within a program rest on. Every number is invented."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given, strategies as st

from app.practice.counts import for_programs
from app.practice.weeks import by_week, first_day
from app.storage.records import AttemptRecord, LogCounts, TrainedRecord

TODAY = date(2026, 11, 25)  # a Wednesday, week 48 of the ISO calendar


def attempt(day: date, fate: str = "clean", count: int = 1) -> AttemptRecord:
    return AttemptRecord(1, "sending-1", "2A", "", day, "alone", fate, count)


def test_twelve_weeks_end_with_this_one() -> None:
    weeks = by_week([attempt(TODAY, count=3), attempt(TODAY, "fall")], TODAY)
    assert [week.start.isocalendar()[1] for week in weeks] == list(range(37, 49))
    assert {week.start.weekday() for week in weeks} == {0}
    assert (weeks[-1].attempts, weeks[-1].landed) == (4, 3)
    assert sum(week.attempts for week in weeks[:-1]) == 0


@given(st.lists(st.tuples(st.integers(-3, 100), st.sampled_from(["clean", "<", "fall"]), st.integers(1, 9))))
def test_weeks_are_those_of_the_iso_calendar(made: list[tuple[int, str, int]]) -> None:
    """Against the calendar of the standard library, one attempt after the other."""
    log = [attempt(TODAY - timedelta(days=ago), fate, count) for ago, fate, count in made]
    for week in by_week(log, TODAY):
        mine = [one for one in log if one.day.isocalendar()[:2] == week.start.isocalendar()[:2]]
        assert week.attempts == sum(one.count for one in mine)
        # Landed: as tried and on the feet, calls other than a downgrade allowed (README, chances).
        assert week.landed == sum(one.count for one in mine if one.fate in ("clean", "<"))
    assert first_day(TODAY) == date(2026, 9, 7)


def test_ten_attempts_in_programs_are_enough_to_rest_on_alone() -> None:
    log = LogCounts(30, 20, {"clean": 20, "fall": 10}, 10, 4, {"clean": 4, "fall": 6})
    found = for_programs(TrainedRecord(1, "2A", attempts=50, landed=40, log=log))
    assert (found.record.attempts, found.record.landed) == (10, 4)
    assert dict(found.record.fates) == {"clean": 4, "fall": 6}
    assert (found.in_programs, found.words) == (True, "from 10 attempts in programs")


def test_with_fewer_every_attempt_counts_and_the_note_says_so() -> None:
    log = LogCounts(30, 20, {"clean": 20, "fall": 10}, 9, 4, {"clean": 4, "fall": 5})
    found = for_programs(TrainedRecord(1, "2A", attempts=50, landed=40, log=log))
    assert (found.record.attempts, found.record.landed) == (50, 40)
    assert dict(found.record.fates) == {"clean": 20, "fall": 10}
    assert found.words == "practice alone, 9 of it in programs"
    assert for_programs(TrainedRecord(1, "2A", attempts=5, landed=4)).words == "practice alone"
