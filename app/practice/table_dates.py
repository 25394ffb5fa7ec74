"""Dates as people write them in a table, read only where they can mean one day."""

from __future__ import annotations

import re
from calendar import month_name
from datetime import date, timedelta
from typing import Literal

from app.domain.words import either, say
from app.errors import InputError

DayOrder = Literal["", "day first", "month first"]
"""How 03/04/2026 is to be read; empty: not said, then it is asked."""
WRITTEN = "2026-11-25, 25.11.2026 or 25/11/2026"
MONTHS = tuple(month_name)
EARLIEST = date(2000, 1, 1)
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})", re.ASCII)
_DOTS = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})", re.ASCII)
_SLASHES = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})", re.ASCII)


class AmbiguousDay(InputError):
    """A date that can mean two days."""


def read_day(text: str, today: date, order: DayOrder = "") -> date:
    """A day from its text. Raises AmbiguousDay when it reads two ways, InputError when it reads none.

    Year-month-day, and day.month.year with points, mean one day. With strokes the day is the number above 12, or
    both are the same; else `order` decides.
    """
    if found := _ISO.fullmatch(text):
        year, month, day = (int(part) for part in found.groups())
    elif found := _DOTS.fullmatch(text):
        day, month, year = (int(part) for part in found.groups())
    elif found := _SLASHES.fullmatch(text):
        first, second, year = (int(part) for part in found.groups())
        day, month = _day_and_month(text, first, second, order)
    else:
        raise InputError(
            say("date"),
            say("%(given)s given; expected a day such as %(written)s", given=repr(text), written=WRITTEN),
        )
    return _real(text, year, month, day, today)


def _day_and_month(text: str, first: int, second: int, order: DayOrder) -> tuple[int, int]:
    if first == second or max(first, second) > 12:
        return (second, first) if second > 12 else (first, second)
    if order == "":
        readings = either(f"{one} {MONTHS[other]}" for one, other in ((first, second), (second, first)))
        raise AmbiguousDay(
            say("date"),
            say(
                "%(given)s given; it may be %(readings)s: say which number comes first",
                given=repr(text),
                readings=readings,
            ),
        )
    return (first, second) if order == "day first" else (second, first)


def _real(text: str, year: int, month: int, day: int, today: date) -> date:
    try:
        found = date(year, month, day)
    except ValueError:
        raise InputError(
            say("date"), say("%(given)s given; there is no such day", given=repr(text))
        ) from None
    # One day of grace: the laptop and the rink may differ in their clocks.
    if not EARLIEST <= found <= today + timedelta(days=1):
        raise InputError(
            say("date"),
            say(
                "%(given)s given; expected a day from %(year)s to today", given=repr(text), year=EARLIEST.year
            ),
        )
    return found
