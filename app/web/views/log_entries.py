"""Every entry of a practice log, so that one can be taken out, or back in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from app.practice.endings import FATE_WORDS
from app.storage.records import EntryRecord, SkaterRecord
from app.web.views.home import day_words
from app.web.views.log import PLACE_WORDS


@dataclass(frozen=True, slots=True)
class EntryView:
    """One entry; `left_out`: it does not count."""

    id: int
    code: str
    entry: str
    ended: str
    place: str
    count: int
    left_out: bool


@dataclass(frozen=True, slots=True)
class EntriesView:
    """Some entries by day, the latest first, from number `start` on.

    `earlier`: where those before go on, 0 = nowhere.
    """

    id: int
    name: str
    days: tuple[tuple[str, tuple[EntryView, ...]], ...]
    start: int
    earlier: int


def entries_view(skater: SkaterRecord, found: Sequence[EntryRecord], start: int, most: int) -> EntriesView:
    """The view; `found` holds one more than `most` where there are more."""
    shown = groupby(found[:most], key=lambda one: one.attempt.day)
    days = tuple((day_words(day), tuple(map(_entry, entries))) for day, entries in shown)
    return EntriesView(skater.id, skater.name, days, start, start + most if len(found) > most else 0)


def _entry(one: EntryRecord) -> EntryView:
    return EntryView(
        one.id,
        one.attempt.code,
        one.attempt.entry,
        FATE_WORDS[one.attempt.fate],
        PLACE_WORDS[one.attempt.place],
        one.attempt.count,
        one.left_out,
    )
