"""Jumps by day and week, counted by hand. Every number is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from app.practice.load import (
    DayLoad,
    SkatedProgram,
    Where,
    jumps_in,
    load_of,
    turns_of,
    weeks_of,
)
from app.storage.records import AttemptRecord, DrillRecord, SheetRecord
from app.web.sheet_log import sending_name

MONDAY = date(2026, 11, 2)
NOON = datetime(2026, 11, 2, 12, tzinfo=UTC)


def attempts(
    code: str, place: str = "alone", fate: str = "clean", count: int = 1, day: int = 0
) -> AttemptRecord:
    return AttemptRecord(1, "sending", code, "", MONDAY + timedelta(days=day), place, fate, count)


def drill(*codes: str, day: int = 0) -> DrillRecord:
    on = MONDAY + timedelta(days=day)
    return DrillRecord(1, "sending", on, "program", 1, "tail lost", "3T", codes)


def program(*codes: str, place: str = "run-through", day: int = 0) -> SkatedProgram:
    return SkatedProgram(MONDAY + timedelta(days=day), place, codes)


def day_of(*parts: AttemptRecord | DrillRecord | SkatedProgram) -> dict[tuple[str, Where], int]:
    """The jumps of the one day these are on."""
    found = load_of(
        [one for one in parts if isinstance(one, AttemptRecord)],
        [one for one in parts if isinstance(one, DrillRecord)],
        [one for one in parts if isinstance(one, SkatedProgram)],
    )
    (day,) = found.values()
    return dict(day.jumps)


@pytest.mark.parametrize(
    ("code", "fate", "came"),
    [
        ("3Lz+3T", "clean", {"3Lz": 1, "3T": 1}),
        ("3Lz+3T", "fall", {"3Lz": 1, "3T": 1}),
        ("3Lz+3T", "tail not tried", {"3Lz": 1}),
        ("3Lz+3T", "tail shortened", {"3Lz": 1, "2T": 1}),
        ("3Lz+3T", "popped by one", {"2Lz": 1}),
        ("3Lz", "popped to a single", {"1Lz": 1}),
        ("3Lz", "<<", {"3Lz": 1}),
        ("3F+Eu+3S", "clean", {"3F": 1, "Eu": 1, "3S": 1}),
    ],
)
def test_an_attempt_counts_as_it_came_out(code: str, fate: str, came: dict[str, int]) -> None:
    assert day_of(attempts(code, fate=fate)) == {(name, Where.PRACTICE): n for name, n in came.items()}


def test_each_place_counts_where_it_belongs() -> None:
    found = day_of(
        attempts("2A", "alone", count=5),
        attempts("2A", "in program", count=2),
        attempts("2A", "drill", count=1),
        attempts("2A", "competition", count=1),
        drill("1Lz", "1S+1T"),
    )
    assert found == {
        ("2A", Where.PRACTICE): 7,
        ("2A", Where.DRILL): 1,
        ("2A", Where.COMPETITION): 1,
        ("1Lz", Where.DRILL): 1,
        ("1S", Where.DRILL): 1,
        ("1T", Where.DRILL): 1,
    }


def test_a_program_that_stands_in_the_own_log_too_counts_once() -> None:
    """The live program had 3Lz+3T and 2A; the own log has the same run-through, and two more 2A from another one."""
    live = program("3Lz+3T", "2A")
    log = [attempts("3Lz+3T", "run-through"), attempts("2A", "run-through", count=3)]
    assert day_of(live, *log) == {
        ("3Lz", Where.PRACTICE): 1,
        ("3T", Where.PRACTICE): 1,
        ("2A", Where.PRACTICE): 3,
    }
    # Jumps made alone on the same day are others, and so are those of two programs.
    assert day_of(live, attempts("2A", "alone", count=3)) == {
        ("3Lz", Where.PRACTICE): 1,
        ("3T", Where.PRACTICE): 1,
        ("2A", Where.PRACTICE): 4,
    }
    assert day_of(program("2A"), program("2A")) == {("2A", Where.PRACTICE): 2}
    assert day_of(program("2A", place="competition"), attempts("2A", "run-through")) == {
        ("2A", Where.COMPETITION): 1,
        ("2A", Where.PRACTICE): 1,
    }


def test_what_an_official_sheet_brought_into_the_log_is_the_program() -> None:
    """The panel saw 3Lz+2T where the boards had 3Lz+3T: the boards count; without a live log the sheet does."""
    called = [
        replace(attempts("3Lz+2T", "competition"), sending=f"{sending_name(sheet)}1")
        for sheet in (SheetRecord("", {}, NOON, program_id=4), SheetRecord("", {}, NOON, program_id=5))
    ]
    live = replace(program("3Lz+3T", place="competition"), id=4)
    nothing = replace(program(place="competition"), id=5)
    assert day_of(live, nothing, called[0]) == {("3Lz", Where.COMPETITION): 1, ("3T", Where.COMPETITION): 1}
    assert day_of(nothing, called[1]) == {("3Lz", Where.COMPETITION): 1, ("2T", Where.COMPETITION): 1}


def test_a_jump_that_opened_without_a_turn_is_none() -> None:
    assert jumps_in("Lz") == ()
    assert jumps_in("3Lz<+2T") == ("3Lz", "2T")
    assert [turns_of(name) for name in ("1A", "2A", "3T", "4Lz", "5T", "Eu")] == [1, 2, 3, 4, 4, 1]


def test_weeks_add_up_and_know_the_days_without_a_jump() -> None:
    load = load_of(
        [attempts("3Lz+2T", count=4, day=-7), attempts("2A", count=3, day=-5), attempts("1A", day=0)],
        [],
        [program("4T", "2A", place="competition", day=1)],
    )
    today = MONDAY + timedelta(days=3)  # a Thursday
    before, now = weeks_of(load, min(load), today, 2)
    assert (before.start, now.start) == (MONDAY - timedelta(weeks=1), MONDAY)
    # Monday and Wednesday of the first week; Monday and Tuesday of the second, of which four days have passed.
    assert (before.total, before.free) == (4 * 2 + 3, 5)
    assert (now.total, now.free) == (1 + 2, 2)
    assert before.by_turns == {3: 4, 2: 4 + 3}
    assert now.by_where == {Where.PRACTICE: 1, Where.COMPETITION: 2}
    assert now.by_name == {"1A": 1, "4T": 1, "2A": 1}


def test_days_before_the_first_entry_are_not_free() -> None:
    load = {MONDAY: DayLoad(MONDAY, {("2A", Where.PRACTICE): 1})}
    before, now = weeks_of(load, MONDAY, MONDAY + timedelta(days=6), 2)
    assert (before.free, now.free) == (0, 6)
    assert all(week.free == 0 for week in weeks_of({}, None, MONDAY, 3))


def test_weeks_can_be_turned_back() -> None:
    (week,) = weeks_of({}, None, MONDAY + timedelta(days=3), 1, back=4)
    assert week.start == MONDAY - timedelta(weeks=4)
