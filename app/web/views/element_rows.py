"""One row of the skater page: an element's record, what it is reckoned to land, and its last weeks as a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from app.domain.words import say
from app.live.program import Limits, why_untrained
from app.practice.counts import for_programs
from app.practice.weeks import by_week
from app.storage.records import AttemptRecord, TrainedRecord
from app.web.sparkline import sparkline
from app.web.views.home import day_words
from app.web.views.plans import element_of, landing_of


@dataclass(frozen=True, slots=True)
class ElementRow:
    """One element. `trained`: may be advised; else `why_not` says what is missing. `cue`: the skater's own words.

    `attempts` and `landed` count everything; `before` and `landed_before` only what was entered as a number.
    """

    id: int
    code: str
    entry: str
    cue: str
    ready: bool
    attempts: int
    landed: int
    before: int
    landed_before: int
    last: str
    trained: bool
    why_not: str
    reckoned: str
    """How often it is reckoned to land, with a range and what that rests on; empty where too little is known."""
    entered: bool
    """Advice uses chances that were entered by hand, not the reckoned one."""
    weeks: str
    picture: Markup


def element_row(
    record: TrainedRecord, attempts: Sequence[AttemptRecord], limits: Limits, today: date, edition: str
) -> ElementRow:
    """The row of one element as of `today`; `attempts` are those of the whole skater in the last weeks."""
    why = why_untrained(element_of(record, edition), limits, today)
    mine = [one for one in attempts if (one.code, one.entry) == (record.code, record.entry)]
    weeks = by_week(mine, today)
    tried, landed = sum(week.attempts for week in weeks), sum(week.landed for week in weeks)
    return ElementRow(
        id=record.id,
        code=record.code,
        entry=record.entry,
        cue=record.cue,
        ready=record.ready,
        attempts=record.attempts,
        landed=record.landed,
        before=record.attempts - record.log.attempts,
        landed_before=record.landed - record.log.landed,
        last=day_words(record.last_logged) if record.last_logged else say("never"),
        trained=why is None,
        why_not=why or "",
        reckoned=_reckoned(record, edition),
        entered=bool(record.outcomes),
        weeks=say(
            "Last %(count)s weeks: %(landed)s of %(tried)s landed",
            count=len(weeks),
            landed=landed,
            tried=tried,
        )
        if tried
        else "",
        picture=sparkline(f"weeks-{record.id}", record.code, weeks),
    )


def _reckoned(record: TrainedRecord, edition: str) -> str:
    landing = landing_of(record, edition)
    if landing is None:
        return ""
    chance, low, high = (round(100 * part) for part in (landing.chance, landing.low, landing.high))
    return say(
        "reckoned to land %(chance)s %%, likely %(low)s to %(high)s %% (%(why)s)",
        chance=chance,
        low=low,
        high=high,
        why=for_programs(record).words,
    )
