"""The pages of the practice log: elements to tap, how an attempt ended, what a pasted table was read as.

They count. They set no target and praise nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.domain.notation import parse_jump_element
from app.domain.words import listed, say, say_many
from app.practice.endings import FATE_WORDS, came_of, fates_for
from app.storage.records import PLACES, AttemptRecord, SkaterRecord, TrainedRecord
from app.web.views.home import day_words

FIRST_JUMPS = {
    "A": say("Axel"),
    "Lz": say("Lutz"),
    "F": say("Flip"),
    "Lo": say("Loop"),
    "S": say("Salchow"),
    "T": say("Toe loop"),
}
"""The groups of the page, by the take-off of the first jump."""
PLACE_WORDS = {
    "alone": say("the element alone"),
    "drill": say("in a rehearsal drill"),
    "in program": say("in a part of the program"),
    "run-through": say("in a run-through"),
    "competition": say("in competition"),
}


@dataclass(frozen=True, slots=True)
class PlaceChoice:
    """A place to choose: its name, in words, and whether it is the one chosen."""

    name: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class FateButton:
    """One way the attempt may have ended: its name, in words, and what then came of the element."""

    fate: str
    word: str
    code: str
    wide: bool


@dataclass(frozen=True, slots=True)
class ElementButton:
    """An element to tap, with its entry where the skater trains several; how an attempt may end, for the next tap."""

    id: int
    code: str
    entry: str
    whole_entry: str
    fates: tuple[FateButton, ...]


@dataclass(frozen=True, slots=True)
class ElementGroup:
    """The elements that begin with one jump."""

    title: str
    elements: tuple[ElementButton, ...]


@dataclass(frozen=True, slots=True)
class LastLogged:
    """The last sending in words, and its number for undoing it."""

    words: str
    sending: str


@dataclass(frozen=True, slots=True)
class LogView:
    """The page of elements. `day` as the form sends it; `counted`: attempts of that day, in words."""

    id: int
    name: str
    day: str
    day_words: str
    place: str
    place_words: str
    places: tuple[PlaceChoice, ...]
    groups: tuple[ElementGroup, ...]
    last: LastLogged | None
    counted: str


@dataclass(frozen=True, slots=True)
class EndingView:
    """The page of endings for one element; `sending` is the number that makes a second sending count once.

    `layout`: the rehearsal sheet to go back to, 0: none.
    """

    id: int
    name: str
    code: str
    entry: str
    element_id: int
    day: str
    day_words: str
    place: str
    place_words: str
    sending: str
    fates: tuple[FateButton, ...]
    layout: int = 0


def log_view(
    skater: SkaterRecord,
    trained: Sequence[TrainedRecord],
    when: tuple[date, str],
    last: Sequence[AttemptRecord],
    of_day: Sequence[AttemptRecord],
) -> LogView:
    """The elements of a skater to tap on; `when` is day and place, `of_day` what that day counts so far."""
    day, place = when
    count = sum(one.count for one in of_day if one.day == day)
    return LogView(
        id=skater.id,
        name=skater.name,
        day=day.isoformat(),
        day_words=day_words(day),
        place=place,
        place_words=PLACE_WORDS[place],
        places=place_choices(place),
        groups=_groups(trained),
        last=LastLogged(last_words(last), last[0].sending) if last else None,
        counted=say_many(
            "%(count)s attempt counted on this day", "%(count)s attempts counted on this day", count
        ),
    )


def ending_view(
    skater: SkaterRecord, element: TrainedRecord, when: tuple[date, str], sending: str, layout: int = 0
) -> EndingView:
    """The ways an attempt at this element can have ended."""
    day, place = when
    return EndingView(
        id=skater.id,
        name=skater.name,
        code=element.code,
        entry=element.entry,
        element_id=element.id,
        day=day.isoformat(),
        day_words=day_words(day),
        place=place,
        place_words=PLACE_WORDS[place],
        sending=sending,
        fates=_fates(element.code),
        layout=layout,
    )


def place_choices(chosen: str) -> tuple[PlaceChoice, ...]:
    """Every place, one of them chosen."""
    return tuple(PlaceChoice(one, PLACE_WORDS[one], one == chosen) for one in PLACES)


def last_words(last: Sequence[AttemptRecord]) -> str:
    """The last sending: "3Lz+3T, fell", or how many lines of a table."""
    if len(last) > 1:
        return say("a table of %(count)s lines", count=len(last))
    (one,) = last
    ended = listed((one.code, FATE_WORDS[one.fate]))
    return say("%(ended)s (%(count)s times)", ended=ended, count=one.count) if one.count > 1 else ended


def _fates(code: str) -> tuple[FateButton, ...]:
    return tuple(
        FateButton(fate, FATE_WORDS[fate], came_of(code, fate), fate == "clean") for fate in fates_for(code)
    )


def _groups(trained: Sequence[TrainedRecord]) -> tuple[ElementGroup, ...]:
    codes = [one.code for one in trained]
    found: dict[str, list[ElementButton]] = {title: [] for title in FIRST_JUMPS.values()}
    for one in trained:
        first = parse_jump_element(one.code).jumps[0].takeoff
        entry = one.entry if codes.count(one.code) > 1 else ""
        found.setdefault(FIRST_JUMPS.get(first, first), []).append(
            ElementButton(one.id, one.code, entry, one.entry, _fates(one.code))
        )
    return tuple(ElementGroup(title, tuple(buttons)) for title, buttons in found.items() if buttons)
