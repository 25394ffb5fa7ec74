"""The page of one season: what was lost and won back, choices apart from luck, calls and grades, chances checked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.chances.record import LANDED
from app.live.program import Setting
from app.review.season.shares import Share
from app.storage.records import PLACES, SkaterRecord
from app.web.season_source import Facts
from app.web.views.log import PLACE_WORDS
from app.web.views.season_counts import (
    ChancesView,
    ChoicesView,
    EffectView,
    LossesView,
    Row,
    chances_view,
    choices_view,
    effect_view,
    losses_view,
    share_words,
)
from app.web.views.season_marks import MarksView, marks_view


@dataclass(frozen=True, slots=True)
class SeasonChoice:
    """A season to look at: its name, in words, and whether it is the one shown."""

    name: str
    words: str
    shown: bool


@dataclass(frozen=True, slots=True)
class SeasonView:
    """The whole page. `counted`: which programs count; `left_out`: which not, and why. Parts are None where empty."""

    skater_id: int
    skater: str
    season: str
    seasons: tuple[SeasonChoice, ...]
    counted: str
    left_out: str
    losses: LossesView | None
    effect: EffectView
    choices: ChoicesView | None
    marks: MarksView | None
    chances: ChancesView | None
    own: tuple[Row, ...]


def season_view(skater: SkaterRecord, season: str, seasons: Sequence[str], facts: Facts) -> SeasonView:
    """The page of a season worked out."""
    return SeasonView(
        skater_id=skater.id,
        skater=skater.name,
        season=season_words(season),
        seasons=tuple(SeasonChoice(one, season_words(one), one == season) for one in seasons),
        counted=_counted(facts),
        left_out=_left_out(facts),
        losses=losses_view(facts),
        effect=effect_view(facts),
        choices=choices_view(facts),
        marks=marks_view(facts),
        chances=chances_view(facts),
        own=_own(facts),
    )


def season_words(season: str) -> str:
    """A season as people write it: `2026/27`."""
    return season.replace("-", "/")


def _counted(facts: Facts) -> str:
    """Which programs count."""
    if not facts.programs and not facts.alone:
        return ""
    competitions = sum(one.setting is Setting.COMPETITION for one in facts.programs)
    sheets = sum(one.judged for one in facts.programs)
    said = (
        f"{len(facts.programs)} programs count: {competitions} in competition, "
        f"{len(facts.programs) - competitions} run-throughs. {sheets} of them have an official sheet."
    )
    return f"{said} Sheets that belong to no logged program: {len(facts.alone)}." if facts.alone else said


def _left_out(facts: Facts) -> str:
    found = (
        (facts.stopped, "stopped because someone was hurt"),
        (facts.unfinished, "not logged to the end"),
        (facts.refused, "skated under a rulebook that refuses a pass of it"),
    )
    said = "; ".join(f"{count} {why}" for count, why in found if count)
    return f"Left out: {said}." if said else ""


def _own(facts: Facts) -> tuple[Row, ...]:
    """The season's part of the own log, by place."""
    rows = []
    for place in PLACES:
        here = [one for one in facts.own if one.place == place]
        tried = sum(one.count for one in here)
        landed = sum(one.count for one in here if one.fate in LANDED)
        if tried:
            rows.append(Row(PLACE_WORDS[place].capitalize(), (share_words(Share(landed, tried)),)))
    return tuple(rows)
