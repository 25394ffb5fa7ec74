"""A practice log as a table: read from what a coach pastes, written so that it reads back the same.

    date,element,entry,place,result,count
    2026-11-23,3Lz+3T,long back outside edge,alone,clean,4

Columns by their header in any order; parted by comma, semicolon or tab. What cannot be read for sure is not
guessed: a line is understood, or it is left out with the reason, or (a date such as 03/04/2026) asked about.
Nothing is stored here.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final

from app.domain.notation import parse_jump_element
from app.domain.said import said_of
from app.domain.words import listed, say
from app.errors import InputError
from app.practice.endings import FATE_WORDS, fates_for
from app.practice.table_dates import AmbiguousDay, DayOrder, read_day
from app.storage.records import PLACES, AttemptRecord

COLUMNS: Final = ("date", "element", "entry", "place", "result", "count")
HEADERS: Final[Mapping[str, str]] = {
    **{name: name for name in COLUMNS},
    **{"day": "date", "jump": "element", "code": "element", "where": "place", "fate": "result"},
    **{"outcome": "result", "number": "count", "times": "count", "attempts": "count"},
}
"""Column headings that are understood, by the column they mean."""
NEEDED: Final = ("date", "element", "result")
DELIMITERS: Final = {"comma": ",", "semicolon": ";", "tab": "\t"}
MOST_BYTES = 200_000
MOST_LINES = 2_000
MOST_COUNT = 500
"""Attempts in one line; more than anybody makes at one element in a day is a slip of the pen (no source)."""
MOST_ENTRY_LETTERS = 80
RESULTS: Final[Mapping[str, str]] = {
    **{fate: fate for fate in FATE_WORDS},
    **{words: fate for fate, words in FATE_WORDS.items()},
    **{"e": "edge", "!": "edge", "fell": "fall", "popped": "popped by one", "tail lost": "tail not tried"},
}
GUARDED = ("=", "+", "-", "@", "'")
"""A spreadsheet takes a cell that begins so for a formula; it is written behind an apostrophe."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that was left out: its number in the table, what stands there, why. `asked`: its date reads two ways."""

    number: int
    text: str
    why: str
    asked: bool = False


@dataclass(frozen=True, slots=True)
class TableReading:
    """What was understood of a table: the attempts with their line numbers, and every line that was not."""

    read: tuple[tuple[int, AttemptRecord], ...]
    unread: tuple[Unread, ...]

    @property
    def asked(self) -> bool:
        """Whether some date can be read two ways."""
        return any(one.asked for one in self.unread)


@dataclass(frozen=True, slots=True)
class TableFacts:
    """What the table itself does not say: whose log, which sending, today, the order of day and month, the place.

    `entries`: those the skater trains, by element; a line without an entry means the only one there is.
    """

    skater_id: int
    sending: str
    today: date
    order: DayOrder = ""
    place: str = "alone"
    delimiter: str = ""
    entries: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def read_table(text: str, facts: TableFacts) -> TableReading:
    """Read a pasted table. Raises InputError when it is too large, or its header is not understood."""
    if len(text.encode()) > MOST_BYTES:
        raise InputError(
            say("table"),
            say(
                "%(given)s bytes given; expected at most %(most)s",
                given=len(text.encode()),
                most=MOST_BYTES,
            ),
        )
    lines = text.splitlines()
    first = next((place for place, line in enumerate(lines) if line.strip()), None)
    if first is None:
        raise InputError(
            say("table"), say("nothing given; expected a table with %(needed)s", needed=listed(NEEDED))
        )
    if len(lines) - first - 1 > MOST_LINES:
        raise InputError(
            say("table"),
            say(
                "%(given)s lines given; expected at most %(most)s",
                given=len(lines) - first - 1,
                most=MOST_LINES,
            ),
        )
    delimiter = DELIMITERS.get(facts.delimiter) or delimiter_of(lines[first])
    columns = _columns(_split(lines[first], delimiter))
    read: list[tuple[int, AttemptRecord]] = []
    unread: list[Unread] = []
    for place, line in enumerate(lines[first + 1 :], start=first + 1):
        if not line.strip().strip(delimiter):
            continue
        try:
            cells = _cells(line, delimiter, columns)
            read.append((place + 1, _attempt(cells, facts, len(read))))
        except InputError as error:
            unread.append(Unread(place + 1, line[:120], said_of(error), isinstance(error, AmbiguousDay)))
    return TableReading(tuple(read), tuple(unread))


def delimiter_of(header: str) -> str:
    """The delimiter by which the header shows most of the known columns; the comma when none does."""
    return max(DELIMITERS.values(), key=lambda one: sum(_means(cell) != "" for cell in header.split(one)))


def write_table(attempts: Iterable[AttemptRecord]) -> str:
    """The log as CSV, one line an entry, in an order and a form that read back the same."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for one in attempts:
        entry = f"'{one.entry}" if one.entry.startswith(GUARDED) else one.entry
        writer.writerow((one.day.isoformat(), one.code, entry, one.place, one.fate, one.count))
    return out.getvalue()


def _means(heading: str) -> str:
    return HEADERS.get(heading.strip().strip('"').lower(), "")


def _columns(header: Sequence[str]) -> dict[str, int]:
    found: dict[str, int] = {}
    for place, heading in enumerate(header):
        name = _means(heading)
        if name in found:
            raise InputError(
                say("table"), say("the column %(name)s stands there twice; expected it once", name=name)
            )
        if name:
            found[name] = place
    missing = [name for name in NEEDED if name not in found]
    if missing:
        given = ", ".join(cell.strip() for cell in header)[:80]
        raise InputError(
            say("table"),
            say(
                "first line %(given)s: no column %(missing)s; expected %(columns)s",
                given=repr(given),
                missing=" or ".join(missing),
                columns=listed(COLUMNS),
            ),
        )
    return found


def _cells(line: str, delimiter: str, columns: Mapping[str, int]) -> dict[str, str]:
    cells = _split(line, delimiter)
    return {name: cells[at].strip() if at < len(cells) else "" for name, at in columns.items()}


def _split(line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=delimiter, strict=True))
    except (csv.Error, StopIteration):
        raise InputError(
            say("line"), say("cannot be split; expected cells on one line, quotation marks closed")
        ) from None


def _attempt(cells: Mapping[str, str], facts: TableFacts, line: int) -> AttemptRecord:
    code = read_code(cells["element"])
    return AttemptRecord(
        skater_id=facts.skater_id,
        sending=facts.sending,
        code=code,
        entry=_entry(cells.get("entry", ""), facts.entries.get(code, ())),
        day=read_day(cells["date"], facts.today, facts.order),
        place=_place(cells.get("place", "") or facts.place),
        fate=read_fate(cells["result"], code),
        count=_count(cells.get("count", "") or "1"),
        line=line,
    )


def read_code(text: str) -> str:
    """An element as planned: without calls, stars and marks. Raises InputError."""
    if not text:
        raise InputError(say("element"), say("nothing given; expected a jump pass such as 3Lz+3T"))
    element = parse_jump_element(text)
    called = any(jump.edge or jump.rotation or jump.starred for jump in element.jumps)
    if (
        called
        or element.repeat
        or any(jump.revolutions is None and not jump.is_euler for jump in element.jumps)
    ):
        raise InputError(
            say("element"),
            say(
                "%(given)s given; expected the element as tried, its call goes to the result",
                given=repr(text),
            ),
        )
    return str(element)


def read_fate(text: str, code: str) -> str:
    """How the attempt ended. Raises InputError when unknown, or when the element cannot end so."""
    fate = RESULTS.get(" ".join(text.lower().split()))
    possible = fates_for(code)
    if fate is None:
        raise InputError(
            say("result"),
            say(
                "%(given)s given; expected one of: %(expected)s", given=repr(text), expected=listed(possible)
            ),
        )
    if fate not in possible:
        raise InputError(
            say("result"),
            say(
                "%(given)s given; %(code)s cannot end so: expected %(expected)s",
                given=repr(text),
                code=code,
                expected=listed(possible),
            ),
        )
    return fate


def _place(text: str) -> str:
    place = " ".join(text.lower().split())
    if place not in PLACES:
        raise InputError(
            say("place"),
            say("%(given)s given; expected one of: %(expected)s", given=repr(text), expected=listed(PLACES)),
        )
    return place


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 4 and 1 <= int(text) <= MOST_COUNT):
        raise InputError(
            say("count"),
            say(
                "%(given)s given; expected a whole number from 1 to %(most_count)s",
                given=repr(text),
                most_count=MOST_COUNT,
            ),
        )
    return int(text)


def _entry(text: str, trained: Sequence[str]) -> str:
    if not text and trained and "" not in trained:
        if len(trained) > 1:
            raise InputError(
                say("entry"), say("nothing given; expected one of: %(trained)s", trained="; ".join(trained))
            )
        return trained[0]
    bare = text[1:] if text.startswith("'") and text[1:].startswith(GUARDED) else text
    found = " ".join(bare.split())
    if len(found) > MOST_ENTRY_LETTERS:
        raise InputError(
            say("entry"),
            say(
                "%(given)s letters given; expected at most %(most)s",
                given=len(found),
                most=MOST_ENTRY_LETTERS,
            ),
        )
    return found
