"""Which season a day belongs to: 1 July to 30 June, as rulebooks are named (from memory: ISU General Regulations)."""

from __future__ import annotations

from datetime import date

FIRST_MONTH = 7


def season_of(day: date) -> str:
    """The season of a day: `2026-27`."""
    first = day.year if day.month >= FIRST_MONTH else day.year - 1
    return f"{first}-{(first + 1) % 100:02d}"


def days_of(season: str) -> tuple[date, date]:
    """First day of a season and of the one after it. Raises ValueError for what is no season."""
    first = int(season[:4])
    if season != season_of(date(first, FIRST_MONTH, 1)):
        raise ValueError(season)
    return date(first, FIRST_MONTH, 1), date(first + 1, FIRST_MONTH, 1)
