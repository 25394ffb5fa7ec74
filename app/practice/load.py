"""How many jumps a skater made, by day and week: from the own log, drills, and programs logged live. Pure; it counts.

Every jump that was executed counts once, with the turns it came out with: a popped triple is a double, a tail that was
not tried is none, a tail lost with a fall counts as it was logged. An Euler counts as a single; a jump that opened
without a turn is none. A fall of the own log counts as the whole element: the log does not say on which jump.

**Not twice.** What an official sheet put into the own log for a program logged live is that program: it is left out of
the log. Somebody may also write a run-through or a competition into the own log by hand. So on a day with a program
logged live, the jumps that the own log has from the same kind of place are taken for the same ones: of each jump the
larger number counts.

No number here is a limit. None is published for skating; nothing is compared with one.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import TypeVar

from app.domain.notation import parse_jump_element
from app.practice.endings import came_of
from app.practice.weeks import monday
from app.storage.records import AttemptRecord, DrillRecord

MOST_TURNS = 4
"""Everything with as many turns or more is one kind."""


FED_BY_A_PROGRAM = re.compile(r"sheet-p(\d+)-")
"""How a sending begins with which the official sheet of a live program was put into the own log."""
Key = TypeVar("Key")


class Where(StrEnum):
    """Where a jump was made; the value is the word for it."""

    PRACTICE = "practice"
    DRILL = "drill"
    COMPETITION = "competition"


@dataclass(frozen=True, slots=True)
class SkatedProgram:
    """The jump elements of a program logged live, as they came out. `place` as in the own log, `id` of the program."""

    day: date
    place: str
    codes: tuple[str, ...]
    id: int = 0


@dataclass(frozen=True, slots=True)
class DayLoad:
    """The jumps of one day, by name (`3Lz`) and where they were made."""

    day: date
    jumps: Mapping[tuple[str, Where], int]

    @property
    def total(self) -> int:
        """All of them."""
        return sum(self.jumps.values())


@dataclass(frozen=True, slots=True)
class WeekLoad:
    """One week, from Monday `start`. `free`: days up to today without a logged jump, from the first logged day on."""

    start: date
    days: tuple[DayLoad, ...]
    free: int

    @property
    def total(self) -> int:
        """All jumps of the week."""
        return sum(one.total for one in self.days)

    @property
    def by_turns(self) -> Mapping[int, int]:
        """Jumps by turns, 1 to 4."""
        return _summed((turns_of(name), count) for name, _, count in self._each())

    @property
    def by_where(self) -> Mapping[Where, int]:
        """Jumps by where they were made."""
        return _summed((where, count) for _, where, count in self._each())

    @property
    def by_name(self) -> Mapping[str, int]:
        """Jumps by name."""
        return _summed((name, count) for name, _, count in self._each())

    def _each(self) -> Iterable[tuple[str, Where, int]]:
        return ((name, where, count) for day in self.days for (name, where), count in day.jumps.items())


def load_of(
    attempts: Iterable[AttemptRecord], drills: Iterable[DrillRecord], programs: Iterable[SkatedProgram]
) -> dict[date, DayLoad]:
    """The jumps of every day that has any, in order of days."""
    skated = [one for one in programs if one.codes]
    live = Counter(
        (one.day, one.place, name) for one in skated for code in one.codes for name in jumps_in(code)
    )
    log = Counter((one.day, "drill", name) for one in drills for code in one.codes for name in jumps_in(code))
    logged_live = {one.id for one in skated}
    for attempt in attempts:
        fed = FED_BY_A_PROGRAM.match(attempt.sending)
        if fed is None or int(fed[1]) not in logged_live:
            for name in jumps_in(came_of(attempt.code, attempt.fate)):
                log[attempt.day, attempt.place, name] += attempt.count
    found: dict[date, Counter[tuple[str, Where]]] = {}
    for (day, place, name), count in (log | live).items():  # of each jump in one place the larger number
        found.setdefault(day, Counter())[name, where_of(place)] += count
    return {day: DayLoad(day, found[day]) for day in sorted(found)}


def where_of(place: str) -> Where:
    """Where a place of the own log is."""
    if place == "competition":
        return Where.COMPETITION
    return Where.DRILL if place == "drill" else Where.PRACTICE


def weeks_of(
    load: Mapping[date, DayLoad], first: date | None, today: date, weeks: int, back: int = 0
) -> tuple[WeekLoad, ...]:
    """So many weeks in order, the last one that of `today` less `back` weeks; empty ones included.

    `first`: the day of the first entry, before which no day counts as free.
    """
    last = monday(today) - timedelta(weeks=back)
    found = []
    for place in range(weeks):
        start = last - timedelta(weeks=weeks - 1 - place)
        days = tuple(start + timedelta(days=number) for number in range(7))
        free = sum(first is not None and first <= day <= today and day not in load for day in days)
        found.append(WeekLoad(start, tuple(load.get(day, DayLoad(day, {})) for day in days), free))
    return tuple(found)


def jumps_in(code: str) -> tuple[str, ...]:
    """The jumps of an element that left the ice, by name; an Euler is `Eu`."""
    jumps = parse_jump_element(code).jumps
    return tuple(jump.name for jump in jumps if jump.is_euler or jump.revolutions)


def turns_of(name: str) -> int:
    """Turns of a jump by its name: 1 to 4, an Euler 1. An Axel is counted by the number in its name."""
    first = name[0]
    return min(int(first), MOST_TURNS) if first.isdigit() else 1


def _summed(pairs: Iterable[tuple[Key, int]]) -> dict[Key, int]:
    found: dict[Key, int] = {}
    for key, count in pairs:
        found[key] = found.get(key, 0) + count
    return found
