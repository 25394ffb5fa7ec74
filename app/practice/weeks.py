"""Attempts by calendar week, for the picture of the last weeks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from app.chances.record import LANDED
from app.storage.records import AttemptRecord

SHOWN_WEEKS = 12


@dataclass(frozen=True, slots=True)
class Week:
    """One week, from Monday `start`: logged attempts and how many of them landed as tried."""

    start: date
    attempts: int
    landed: int


def monday(day: date) -> date:
    """The Monday of the week that holds `day`."""
    return day - timedelta(days=day.weekday())


def first_day(today: date, weeks: int = SHOWN_WEEKS) -> date:
    """The Monday with which the last `weeks` weeks begin, this one included."""
    return monday(today) - timedelta(weeks=weeks - 1)


def by_week(attempts: Iterable[AttemptRecord], today: date, weeks: int = SHOWN_WEEKS) -> tuple[Week, ...]:
    """The last `weeks` weeks in order, empty ones included; attempts outside them are left aside."""
    start = first_day(today, weeks)
    tried, landed = [0] * weeks, [0] * weeks
    for one in attempts:
        place = (one.day - start).days // 7
        if 0 <= place < weeks:
            tried[place] += one.count
            landed[place] += one.count * (one.fate in LANDED)
    return tuple(Week(start + timedelta(weeks=place), tried[place], landed[place]) for place in range(weeks))
