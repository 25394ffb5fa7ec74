"""The first page: skaters, their layouts, programs under way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from app import engine
from app.domain.words import listed, say
from app.errors import UnknownEdition
from app.rulebook.editions import Edition
from app.storage.records import DayRecord, LayoutRecord
from app.storage.stores import Stores
from app.web.languages import Day
from app.web.views.plans import as_chosen
from app.web.visitor import Visitor

MOST_DAYS = 3
MOST_PROGRAMS = 2
LAYOUTS_OPEN = 2
"""Layouts of a skater that stand open on the first page, the rest one tap away: it is read on a phone at the boards."""
LEVELS: dict[str, str] = {
    "senior": say("senior"),
    "junior": say("junior"),
    "advanced novice": say("advanced novice"),
    "intermediate novice": say("intermediate novice"),
    "basic novice": say("basic novice"),
}
"""Levels that have a name of their own in other languages; all others stay as their rulebook calls them."""
DISCIPLINES: dict[str, str] = {
    "women": say("women"),
    "men": say("men"),
    "girls": say("girls"),
    "boys": say("boys"),
}


@dataclass(frozen=True, slots=True)
class LayoutCard:
    """One layout: its name, its rulebook in words, its passes."""

    id: int
    name: str
    edition: str
    passes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ProgramCard:
    """One live program, by when and where."""

    id: int
    name: str
    where: str
    day: str


@dataclass(frozen=True, slots=True)
class SkaterCard:
    """One skater with layouts and the latest programs; `invented` marks the demo."""

    id: int
    name: str
    invented: bool
    layouts: tuple[LayoutCard, ...]
    programs: tuple[ProgramCard, ...]


@dataclass(frozen=True, slots=True)
class GoOnCard:
    """A program under way: whose, which layout, and how far it is, in words."""

    id: int
    skater: str
    name: str
    says: str


@dataclass(frozen=True, slots=True)
class DayLink:
    """One competition day and the day it was made."""

    id: int
    name: str
    made: str


@dataclass(frozen=True, slots=True)
class HomeView:
    """The first page. `under_way` stands first; `can_let_phones_in`: only the laptop itself may.

    The first `layouts_open` layouts of a skater stand open.
    """

    skaters: tuple[SkaterCard, ...]
    can_let_phones_in: bool
    under_way: tuple[GoOnCard, ...]
    days: tuple[DayLink, ...]
    layouts_open: int = LAYOUTS_OPEN


def home_view(stores: Stores, visitor: Visitor, under_way: tuple[GoOnCard, ...] = ()) -> HomeView:
    """Everything stored, newest programs first."""
    cards = tuple(
        SkaterCard(
            id=skater.id,
            name=skater.name,
            invented=skater.invented,
            layouts=tuple(map(layout_card, stores.layouts.of_skater(skater.id))),
            programs=tuple(
                ProgramCard(
                    record.id,
                    record.layout_name,
                    record.event or (say("rehearsal") if record.rehearsal else kind_words(record.kind)),
                    day_words(record.started_at.date()),
                )
                for record in (
                    as_chosen(one, stores.live.events(one.id) if one.variants else ())
                    for one in stores.live.recent(skater.id, limit=MOST_PROGRAMS)
                )
            ),
        )
        for skater in stores.skaters.all()
    )
    return HomeView(cards, visitor.is_laptop, under_way, day_links(stores.days.all()[:MOST_DAYS]))


def layout_card(layout: LayoutRecord) -> LayoutCard:
    """A layout for a list."""
    codes = tuple(item.code for item in layout.items if item.kind == "jump")
    return LayoutCard(layout.id, layout.name, edition_words(layout.edition), codes)


def day_links(days: Iterable[DayRecord]) -> tuple[DayLink, ...]:
    """Days as links."""
    return tuple(DayLink(one.id, one.name, day_words(one.made_at.date())) for one in days)


def edition_words(name: str) -> str:
    """An edition in words: `isu/2026-27/senior/women/free` -> "ISU 2026/27, senior women, free skating".

    One that cannot be found any more is called by its name, so that a list with it can still be read.
    """
    try:
        edition = engine.edition(name)
    except UnknownEdition:
        return say("%(name)s, a rulebook that cannot be read", name=name)
    segment = say("short program") if edition.is_short else say("free skating")
    whose = f"{edition.issuer} {edition.season.replace('-', '/')}"
    if edition.is_own:
        whose = say(
            "Own: %(title)s, version %(split)s", title=edition.title, split=edition.name.split("/")[2]
        )
    return listed((whose, who_words(edition), segment))


def who_words(edition: Edition) -> str:
    """Level and discipline in words: "senior women"."""
    level = LEVELS.get(edition.level_words, edition.level_words)
    if edition.discipline == "all":
        return level
    discipline = DISCIPLINES.get(edition.discipline, edition.discipline)
    return say("%(level)s %(discipline)s", level=level, discipline=discipline)


def kind_words(kind: str) -> str:
    """What a program is skated for."""
    return say("competition") if kind == "competition" else say("run-through")


def day_words(day: date) -> str:
    """A day as people write it: "25 November 2026"."""
    return Day(day)
