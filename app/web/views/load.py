"""The page of jumps by day and week: two pictures, the same in words, by kind, and cautions with their sources.

It counts. Nothing on it says how many jumps are right, because nobody knows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from app.domain.words import listed, say, say_many, sentences
from app.practice.load import DayLoad, WeekLoad, Where, turns_of, weeks_of
from app.practice.weeks import first_day
from app.storage.records import SkaterRecord
from app.web.load_picture import TURN_WORDS, draw_calendar, draw_weeks, turn_words
from app.web.views.home import day_words

WEEKS = 8
"""Weeks on one page."""
MOST_BACK = 520
"""Weeks that the page can be turned back."""
TAKEOFFS = ("T", "S", "Lo", "F", "Lz", "A", "Eu")
PLACES: Mapping[Where, str] = {
    Where.COMPETITION: say("in competition"),
    Where.PRACTICE: say("in practice"),
    Where.DRILL: say("in rehearsal drills"),
}


@dataclass(frozen=True, slots=True)
class Caution:
    """Something known about load. `source` where it stands, `sure` how sure it is."""

    says: str
    source: str
    sure: str


CAUTIONS = (
    Caution(
        say("How many jumps are too many is not known: there are no data for a limit in figure skating."),
        "Skating magazine, medical column, August/September 2012; a survey of British elite skaters, JSAMS Plus 2025",
        say("second-hand"),
    ),
    Caution(
        say(
            "Pain: stop, and have it looked at before more jumps. Of 864 injuries of skaters aged 9 to 19 in one "
            "clinic, about two in three came from overuse; about one in nine was a bone stress injury."
        ),
        "Pediatric and Adolescent Figure Skating Injuries: A 15-Year Retrospective Review, Clin J Sport Med 2021. "
        "That pain is a reason to stop is common practice, no source",
        say("read, the abstract"),
    ),
    Caution(
        say(
            "Growth: training asks most of the bones in phases of rapid growth, and younger skaters show more injuries "
            "of growth plates. Ask before the number or the turns of jumps go up."
        ),
        "Bone stress injuries in adolescent athletes, a review, Sports 2021, 9, 52; female skaters by age, OJSM 2026",
        say("read, the abstract; second-hand"),
    ),
    Caution(
        say(
            "Several sessions a day: in a survey of 164 skaters, those who trained twelve times a week or more had had "
            "a stress fracture more often, 33 instead of 18 in 100. It is a finding about a group, no limit."
        ),
        "Distribution and risk factors for stress fractures in competitive figure skaters",
        say("read, the abstract"),
    ),
    Caution(
        say(
            "Days off: for children and adolescents in any sport, paediatricians advise at least one day a week "
            "without it and some months a year away from it."
        ),
        "American Academy of Pediatrics, clinical reports on overuse injuries, 2007 and 2024",
        say("second-hand"),
    ),
)


@dataclass(frozen=True, slots=True)
class KindRow:
    """Jumps of one number of turns, by take-off, in the order of `TAKEOFFS`; empty where there is none."""

    turns: str
    counts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LoadView:
    """The page. `span`: the weeks shown, in words; `earlier`, `later`: weeks back for the links, -1: there is none.

    `weeks`: each week in a sentence, the latest first.
    """

    id: int
    name: str
    span: str
    calendar: Markup
    bars: Markup
    weeks: tuple[str, ...]
    takeoffs: tuple[str, ...]
    kinds: tuple[KindRow, ...]
    places: str
    earlier: int
    later: int
    cautions: tuple[Caution, ...]
    by_hand: str
    """On attempts entered as a number: they are on no day. Empty where there are none."""


def load_view(
    skater: SkaterRecord,
    load: Mapping[date, DayLoad],
    first: date | None,
    when: tuple[date, int],
    by_hand: int,
) -> LoadView:
    """Jumps of `WEEKS` weeks. `when`: today, and how many weeks ago they end; `first`: day of the first entry."""
    today, back = when
    weeks = weeks_of(load, first, today, WEEKS, back)
    more = first is not None and first < weeks[0].start
    return LoadView(
        id=skater.id,
        name=skater.name,
        span=say(
            "%(first)s to %(last)s",
            first=day_words(weeks[0].start),
            last=day_words(min(weeks[-1].days[-1].day, today)),
        ),
        calendar=draw_calendar(weeks, today, first),
        bars=draw_weeks(weeks),
        weeks=tuple(_week(one) for one in reversed(weeks)),
        takeoffs=TAKEOFFS,
        kinds=_kinds(weeks),
        places=_places(weeks),
        earlier=back + WEEKS if more else -1,
        later=max(back - WEEKS, 0) if back else -1,
        cautions=CAUTIONS,
        by_hand=_by_hand(by_hand) if by_hand else "",
    )


def first_shown(today: date, back: int) -> date:
    """The Monday with which the weeks of a page begin."""
    return first_day(today, WEEKS + back)


def _week(week: WeekLoad) -> str:
    """One week in a sentence or two."""
    if not week.total:
        return say("Week of %(day)s: no jump is logged.", day=day_words(week.start))
    whole = say_many(
        "Week of %(day)s: %(count)s jump; %(turns)s; %(places)s.",
        "Week of %(day)s: %(count)s jumps; %(turns)s; %(places)s.",
        week.total,
        day=day_words(week.start),
        turns=turn_words(week),
        places=_where_words(week.by_where),
    )
    free = say_many(
        "%(count)s day without a logged jump.", "%(count)s days without a logged jump.", week.free
    )
    return sentences(whole, free)


def _by_hand(count: int) -> str:
    return say_many(
        "%(count)s attempt was entered as a number. It belongs to no day and stands in no picture.",
        "%(count)s attempts were entered as a number. They belong to no day and stand in no picture.",
        count,
    )


def _places(weeks: Sequence[WeekLoad]) -> str:
    found: dict[Where, int] = {}
    for week in weeks:
        for where, count in week.by_where.items():
            found[where] = found.get(where, 0) + count
    return say("In these weeks: %(places)s.", places=_where_words(found)) if found else ""


def _where_words(counts: Mapping[Where, int]) -> str:
    return listed(
        say("%(count)s %(where)s", count=counts[where], where=word)
        for where, word in PLACES.items()
        if counts.get(where)
    )


def _kinds(weeks: Sequence[WeekLoad]) -> tuple[KindRow, ...]:
    """A row for each number of turns that there is, singles first."""
    found: dict[tuple[int, str], int] = {}
    for week in weeks:
        for name, count in week.by_name.items():
            key = turns_of(name), name.lstrip("0123456789")
            found[key] = found.get(key, 0) + count
    return tuple(
        KindRow(word, tuple(str(found.get((turns, takeoff), "")) for takeoff in TAKEOFFS))
        for turns, word in TURN_WORDS.items()
        if any((turns, takeoff) in found for takeoff in TAKEOFFS)
    )
