"""The pages for a practice log that is pasted or sent as a file: the form, and what was understood of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from app.practice.endings import FATE_WORDS
from app.practice.log_table import COLUMNS, MOST_LINES, TableReading, Unread
from app.storage.records import AttemptRecord, SkaterRecord, TrainedRecord
from app.web.views.home import day_words
from app.web.views.log import PLACE_WORDS, PlaceChoice, place_choices


@dataclass(frozen=True, slots=True)
class TableView:
    """The form for a table. `fault` says why what was sent could not be read; what was typed is kept."""

    id: int
    name: str
    text: str
    columns: str
    most_lines: int
    places: tuple[PlaceChoice, ...]
    fault: str


@dataclass(frozen=True, slots=True)
class ReadLine:
    """A line as understood. `known`: the same line is in the log already; `new`: the element is not in the list yet."""

    number: int
    day: str
    code: str
    entry: str
    place: str
    ended: str
    count: int
    known: bool
    new: bool


@dataclass(frozen=True, slots=True)
class PreviewView:
    """What was understood of a table, line by line, and every line that was not. Nothing is stored yet."""

    id: int
    name: str
    text: str
    delimiter: str
    order: str
    place: str
    sending: str
    lines: tuple[ReadLine, ...]
    unread: tuple[Unread, ...]
    asked: bool
    known_count: int
    attempts: int


def table_view(skater: SkaterRecord, text: str = "", place: str = "alone", fault: str = "") -> TableView:
    """The form, empty or with what was sent."""
    columns = ", ".join(COLUMNS)
    return TableView(skater.id, skater.name, text, columns, MOST_LINES, place_choices(place), fault)


def preview_view(
    skater: SkaterRecord,
    sent: tuple[str, str, str, str],
    sending: str,
    reading: TableReading,
    log: Sequence[AttemptRecord],
    trained: Sequence[TrainedRecord],
) -> PreviewView:
    """The preview; `sent` is text, delimiter, order of day and month, place as the form gave them."""
    text, delimiter, order, place = sent
    known = known_lines(reading, log)
    listed = {(one.code, one.entry) for one in trained}
    lines = tuple(
        ReadLine(
            number=number,
            day=day_words(one.day),
            code=one.code,
            entry=one.entry,
            place=PLACE_WORDS[one.place],
            ended=FATE_WORDS[one.fate],
            count=one.count,
            known=number in known,
            new=(one.code, one.entry) not in listed,
        )
        for number, one in reading.read
    )
    return PreviewView(
        id=skater.id,
        name=skater.name,
        text=text,
        delimiter=delimiter,
        order=order,
        place=place,
        sending=sending,
        lines=lines,
        unread=reading.unread,
        asked=reading.asked,
        known_count=len(known),
        attempts=sum(one.count for _, one in reading.read),
    )


def known_lines(reading: TableReading, log: Sequence[AttemptRecord]) -> frozenset[int]:
    """Numbers of the lines that stand in the log already, each line of the log answering for one of the table."""
    left = Counter(_same(one) for one in log)
    found = set()
    for number, one in reading.read:
        if left[_same(one)] > 0:
            left[_same(one)] -= 1
            found.add(number)
    return frozenset(found)


def _same(one: AttemptRecord) -> tuple[object, ...]:
    return (one.code, one.entry, one.day, one.place, one.fate, one.count)
