"""View models of "Your data": everything out and in, who sees a skater, and deleting for good."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from app.domain.words import say, say_many
from app.security.roles import COACH, SKATER, WORDS
from app.security.tokens import is_alive
from app.storage.bring_in import BroughtIn
from app.storage.erase import Erased
from app.storage.records import DeviceRecord, HandedKind, HandedRecord, SkaterRecord

KINDS: dict[HandedKind, str] = {
    "skater": say("A file with everything about this skater"),
    "everything": say("A file with everything about everybody"),
    "attempts": say("The practice log as a table"),
    "brought in": say("Brought in from a file"),
}
SEES: dict[str, str] = {
    "coach": say("Everything about every skater, and may change it; not this page, no files, no deleting."),
    "logger": say(
        "The programs being skated and the days they belong to, and logs in them. No practice log, no layouts."
    ),
    "skater": say("This skater's own page alone: layouts, card, trainer, their words for the elements."),
    "viewer": say("The programs being skated and the days they belong to. No practice log, no layouts."),
}
WITH_ADVICE = say("Advice and points show on it, where the event allows them.")
WITHOUT_ADVICE = say("No advice and no points show on it.")
ROWS: dict[str, Callable[[int], str]] = {
    "trained_element": lambda n: say_many("%(count)s element", "%(count)s elements", n),
    "attempt": lambda n: say_many(
        "%(count)s entry of the practice log", "%(count)s entries of the practice log", n
    ),
    "layout": lambda n: say_many("%(count)s layout", "%(count)s layouts", n),
    "live_program": lambda n: say_many("%(count)s logged program", "%(count)s logged programs", n),
    "live_event": lambda n: say_many(
        "%(count)s entry of a program's log", "%(count)s entries of programs' logs", n
    ),
    "day_start": lambda n: say_many("%(count)s start on a day", "%(count)s starts on days", n),
    "device": lambda n: say_many(
        "%(count)s phone of the skater's own", "%(count)s phones of the skater's own", n
    ),
    "official_sheet": lambda n: say_many("%(count)s official sheet", "%(count)s official sheets", n),
    "call_out": lambda n: say_many("%(count)s answer in the trainer", "%(count)s answers in the trainer", n),
}
"""What a coach knows these tables as; all others are counted together."""


@dataclass(frozen=True, slots=True)
class HandedView:
    """One file: the day, what it was, to whom ("" = not said)."""

    day: date
    what: str
    given_to: str


@dataclass(frozen=True, slots=True)
class SeerView:
    """One phone that may come in: its name, its role, what that role sees, since when, last seen."""

    name: str
    role: str
    sees: str
    advice: str
    since: date
    last_seen: date | None


@dataclass(frozen=True, slots=True)
class PersonLink:
    """One skater, by name."""

    id: int
    name: str


@dataclass(frozen=True, slots=True)
class DataView:
    """The page about all data. `folder`: where they lie; `fault`: why a file did not come in, or ""."""

    folder: str
    on_server: bool
    skaters: tuple[PersonLink, ...]
    handed: tuple[HandedView, ...]
    most_megabytes: int
    fault: str = ""


@dataclass(frozen=True, slots=True)
class BroughtView:
    """What came in: the skaters, by link; those who were here already; how many rows."""

    skaters: tuple[PersonLink, ...]
    known: tuple[str, ...]
    rows: int


@dataclass(frozen=True, slots=True)
class SharingView:
    """Who can see a skater, and what was given out. `door_open`: phones can reach the laptop at this moment."""

    id: int
    name: str
    door_open: bool
    seers: tuple[SeerView, ...]
    handed: tuple[HandedView, ...]


@dataclass(frozen=True, slots=True)
class GoneView:
    """Before (`is_done` false) and after deleting a skater: what goes, and where the name stands besides."""

    id: int
    name: str
    goes: tuple[str, ...]
    copies: int
    copies_removed: tuple[str, ...]
    elsewhere: tuple[str, ...]
    is_done: bool


def person_links(skaters: Iterable[SkaterRecord]) -> tuple[PersonLink, ...]:
    """Skaters as links."""
    return tuple(PersonLink(one.id, one.name) for one in skaters)


def handed_views(handed: Iterable[HandedRecord]) -> tuple[HandedView, ...]:
    """Files, the latest first."""
    return tuple(HandedView(one.at.date(), KINDS[one.kind], one.given_to) for one in handed)


def seer_views(devices: Iterable[DeviceRecord], skater_id: int, now: datetime) -> tuple[SeerView, ...]:
    """The phones that may come in at this moment and see something of that skater."""
    return tuple(
        SeerView(
            one.name,
            WORDS[one.role],
            SEES[one.role],
            WITH_ADVICE if one.role == COACH or one.sees_advice else WITHOUT_ADVICE,
            one.paired_at.date(),
            one.last_seen.date() if one.last_seen else None,
        )
        for one in devices
        if is_alive(one.paired_at, one.last_seen, now) and (one.role != SKATER or one.skater_id == skater_id)
    )


def brought_view(report: BroughtIn) -> BroughtView:
    """What came in."""
    skaters = tuple(PersonLink(number, name) for number, name in report.skaters)
    return BroughtView(skaters, report.known, sum(report.rows.values()))


def before(
    skater: SkaterRecord, counts: Mapping[str, int], elsewhere: Iterable[tuple[str, str]], copies: int
) -> GoneView:
    """The question."""
    return GoneView(
        skater.id, skater.name, counted_words(counts), copies, (), _places(elsewhere), is_done=False
    )


def after(skater: SkaterRecord, erased: Erased, elsewhere: Iterable[tuple[str, str]]) -> GoneView:
    """What was deleted."""
    goes = counted_words(erased.rows)
    places = _places(elsewhere)
    return GoneView(skater.id, skater.name, goes, erased.copies, erased.copies_removed, places, is_done=True)


def counted_words(counts: Mapping[str, int]) -> tuple[str, ...]:
    """Rows by table, in the coach's words."""
    said = [ROWS[table](count) for table, count in counts.items() if table in ROWS]
    others = sum(count for table, count in counts.items() if table not in ROWS and table != "skater")
    if others:
        said.append(say_many("%(count)s other entry", "%(count)s other entries", others))
    return tuple(said)


def _places(elsewhere: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    return tuple(_place(table, text) for table, text in elsewhere)


def _place(table: str, text: str) -> str:
    if table == "day":
        return say("The day “%(text)s”: delete it on its own page.", text=text)
    if table == "device":
        return say("The phone “%(text)s”: remove it on the page Phones.", text=text)
    if table == "own_rulebook":
        return say("Your rulebook “%(text)s”: rename or delete it.", text=text)
    return text
