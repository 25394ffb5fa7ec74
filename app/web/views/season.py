"""The page of one season: what was lost and won back, choices apart from luck, calls and grades, chances checked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.chances.record import LANDED
from app.domain.words import say, sentences
from app.live.program import Setting
from app.review.season.shares import ENOUGH, Share
from app.storage.records import PLACES, SkaterRecord
from app.web.season_source import Facts
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

PLACES_SAID = {
    "alone": say("The element alone"),
    "drill": say("In a rehearsal drill"),
    "in program": say("In a part of the program"),
    "run-through": say("In a run-through"),
    "competition": say("In a competition"),
}


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
    left_out: tuple[str, ...]
    losses: LossesView | None
    effect: EffectView
    choices: ChoicesView | None
    marks: MarksView | None
    chances: ChancesView | None
    own: tuple[Row, ...]
    enough: int = ENOUGH


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
    said = say(
        "%(count)s programs count: %(competitions)s in competition, %(others)s run-throughs. "
        "%(sheets)s of them have an official sheet.",
        count=len(facts.programs),
        competitions=competitions,
        others=len(facts.programs) - competitions,
        sheets=sheets,
    )
    alone = say("Sheets that belong to no logged program: %(count)s.", count=len(facts.alone))
    return sentences(said, alone) if facts.alone else said


def _left_out(facts: Facts) -> tuple[str, ...]:
    found = (
        (facts.stopped, say("Left out because someone was hurt: %(count)s.", count=facts.stopped)),
        (
            facts.unfinished,
            say("Left out because they are not logged to the end: %(count)s.", count=facts.unfinished),
        ),
        (
            facts.refused,
            say("Left out because their rulebook refuses a pass: %(count)s.", count=facts.refused),
        ),
    )
    return tuple(said for count, said in found if count)


def _own(facts: Facts) -> tuple[Row, ...]:
    """The season's part of the own log, by place."""
    rows = []
    for place in PLACES:
        here = [one for one in facts.own if one.place == place]
        tried = sum(one.count for one in here)
        landed = sum(one.count for one in here if one.fate in LANDED)
        if tried:
            rows.append(Row(PLACES_SAID[place], (share_words(Share(landed, tried)),)))
    return tuple(rows)
