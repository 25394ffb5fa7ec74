"""The skater page: every element with its attempts, and whether it counts as trained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.chances.prior import published
from app.domain.words import entry, figure, say
from app.live.program import Limits
from app.settings import CoachSettings
from app.storage.records import AttemptRecord, LayoutRecord, SkaterRecord, TrainedRecord
from app.web.views.element_rows import ElementRow, element_row
from app.web.views.home import LayoutCard, layout_card
from app.web.views.plans import limits_of


@dataclass(frozen=True, slots=True)
class OddsRow:
    """One kind of published odds: its setting, whether it counts, and a sentence with odds, interval and sample."""

    name: str
    on: bool
    words: str


@dataclass(frozen=True, slots=True)
class NewElement:
    """The form for one more element as it was typed; `fault` says why it was not kept."""

    code: str = ""
    entry: str = ""
    attempts: str = ""
    landed: str = ""
    ready: bool = False
    fault: str = ""


NOTHING_TYPED = NewElement()


@dataclass(frozen=True, slots=True)
class SkaterView:
    """The skater page. `limits` are what the coach set, `odds` which published odds count.

    `adding`: one more element.
    """

    id: int
    name: str
    invented: bool
    rows: tuple[ElementRow, ...]
    trained_count: int
    limits: Limits
    odds: tuple[OddsRow, ...]
    layouts: tuple[LayoutCard, ...] = ()
    adding: NewElement = NOTHING_TYPED


def skater_view(
    skater: SkaterRecord,
    records: tuple[TrainedRecord, ...],
    coach: CoachSettings,
    today: date,
    edition: str,
    attempts: Sequence[AttemptRecord] = (),
    layouts: Sequence[LayoutRecord] = (),
    adding: NewElement = NOTHING_TYPED,
) -> SkaterView:
    """The skater's elements as of `today`, chances reckoned for the level of `edition`; `attempts` of late."""
    limits = limits_of(coach, edition)
    rows = tuple(element_row(record, attempts, limits, today, edition) for record in records)
    count = sum(row.trained for row in rows)
    cards = tuple(map(layout_card, layouts))
    return SkaterView(
        skater.id, skater.name, skater.invented, rows, count, limits, odds_rows(coach), cards, adding
    )


SAMPLES = {"falls": entry("%(count)s falls"), "free skates": entry("%(count)s free skates")}
LATE_ODDS = {
    "women": entry(
        "Women's triples in the second half of a free skating: the odds of a fall, a pop or a downgrade. "
        "Elite seniors %(odds)s, 95 %% interval"
    ),
    "men": entry(
        "Men's triples in the second half of a free skating: the odds of a fall, a pop or a downgrade. "
        "Elite seniors %(odds)s, 95 %% interval"
    ),
}


def odds_rows(coach: CoachSettings) -> tuple[OddsRow, ...]:
    """What the published odds say, one sentence a setting."""
    fallen = {who: _times("after fall", who) for who in ("men", "women")}
    fell = say(
        "The pass right after a fall: the odds that it is clean. Elite seniors, men %(men)s and women %(women)s; "
        "95 %% intervals",
        **fallen,
    )
    late = [_late_words(who) for who in ("women", "men")]
    return (
        OddsRow("after_fall_odds", coach.after_fall_odds, fell),
        OddsRow("second_half_odds_women", coach.second_half_odds_women, late[0]),
        OddsRow("second_half_odds_men", coach.second_half_odds_men, late[1]),
    )


def _late_words(who: str) -> str:
    said = say(LATE_ODDS[who], odds=_times("second half", who))
    if published("second half", who).established:
        return said
    return say("%(said)s; no difference was shown", said=said)


def _times(name: str, who: str) -> str:
    found = published(name, who)
    count, _, kind = found.sample.partition(" ")
    return say(
        "× %(odds)s (%(low)s to %(high)s, %(sample)s)",
        odds=figure(found.odds, 2),
        low=figure(found.low, 2),
        high=figure(found.high, 2),
        sample=say(SAMPLES[kind], count=count),
    )
