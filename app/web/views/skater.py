"""The skater page: every element with its attempts, and whether it counts as trained."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from app.live.program import Limits, why_untrained
from app.storage.records import SkaterRecord, TrainedRecord
from app.web.views.home import day_words
from app.web.views.plans import element_of, landing_of


@dataclass(frozen=True, slots=True)
class ElementRow:
    """One element. `trained`: may be advised; else `why_not` says what is missing. `cue`: the skater's own words."""

    id: int
    code: str
    entry: str
    cue: str
    ready: bool
    attempts: int
    landed: int
    last: str
    trained: bool
    why_not: str
    reckoned: str
    """How often it is reckoned to land, with a range; empty where the chances were entered or are not known."""


@dataclass(frozen=True, slots=True)
class SkaterView:
    """The skater page. `limits` are what the coach set."""

    id: int
    name: str
    invented: bool
    rows: tuple[ElementRow, ...]
    trained_count: int
    limits: Limits


def skater_view(
    skater: SkaterRecord,
    records: tuple[TrainedRecord, ...],
    limits: Limits,
    today: date,
    edition: str,
) -> SkaterView:
    """The skater's elements as of `today`, chances reckoned for the level of `edition`."""
    rows = tuple(_row(record, limits, today, edition) for record in records)
    count = sum(row.trained for row in rows)
    return SkaterView(skater.id, skater.name, skater.invented, rows, count, limits)


def _row(record: TrainedRecord, limits: Limits, today: date, edition: str) -> ElementRow:
    why = why_untrained(element_of(record, edition), limits, today)
    last = day_words(record.last_logged) if record.last_logged else "never"
    return ElementRow(
        id=record.id,
        code=record.code,
        entry=record.entry,
        cue=record.cue,
        ready=record.ready,
        attempts=record.attempts,
        landed=record.landed,
        last=last,
        trained=why is None,
        why_not=why or "",
        reckoned=_reckoned(record, edition),
    )


def _reckoned(record: TrainedRecord, edition: str) -> str:
    landing = None if record.outcomes else landing_of(record, edition)
    if landing is None:
        return ""
    chance, low, high = (round(100 * part) for part in (landing.chance, landing.low, landing.high))
    return f"reckoned to land {chance} %, likely {low} to {high} %"
