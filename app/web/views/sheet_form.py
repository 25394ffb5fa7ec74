"""The pages on which an official sheet is brought in: the form, and what was understood of a file."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from app.domain.points import show
from app.domain.words import listed, say, say_many
from app.review.official import OfficialSheet, sheet_json
from app.review.sheet_import import FoundSheet, SheetReading, UnreadLine
from app.storage.records import SheetRecord, SkaterRecord
from app.web.views.editions import EditionGroup, edition_groups
from app.web.views.home import day_words, edition_words
from app.web.views.plans import USUAL_EDITION


@dataclass(frozen=True, slots=True)
class Belongs:
    """What the user said of the sheet: its rulebook, whose it is, the live program, words of their own."""

    edition: str = USUAL_EDITION
    skater_id: int = 0
    program_id: int = 0
    note: str = ""


@dataclass(frozen=True, slots=True)
class SkaterChoice:
    """A skater a sheet may be kept for."""

    id: int
    name: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class KeptSheet:
    """A sheet kept earlier, in words."""

    id: int
    words: str
    about: str


@dataclass(frozen=True, slots=True)
class SheetFormView:
    """The form. `fault` says why what was sent could not be read; pasted text is kept."""

    editions: tuple[EditionGroup, ...]
    skaters: tuple[SkaterChoice, ...]
    program_id: int
    program: str
    note: str
    text: str
    fault: str
    kept: tuple[KeptSheet, ...]


@dataclass(frozen=True, slots=True)
class FoundRow:
    """One element as understood."""

    number: int
    code: str
    figures: str
    score: str


@dataclass(frozen=True, slots=True)
class FoundView:
    """One skater's sheet in a file. `who` is shown for choosing and goes nowhere."""

    who: str
    words: str
    missing: str
    rows: tuple[FoundRow, ...]
    json: str


@dataclass(frozen=True, slots=True)
class SheetReadingView:
    """What was understood of a file, and every line that was not. Nothing is stored yet."""

    belongs: Belongs
    edition: str
    found: tuple[FoundView, ...]
    doubtful: tuple[UnreadLine, ...]
    others: tuple[UnreadLine, ...]
    pages_left: int


def form_view(
    belongs: Belongs,
    skaters: Sequence[SkaterRecord],
    kept: Sequence[SheetRecord],
    program: str = "",
    text: str = "",
    fault: str = "",
) -> SheetFormView:
    """The form, empty or with what was sent; newest season first."""
    return SheetFormView(
        editions=edition_groups(belongs.edition, old=True),
        skaters=tuple(SkaterChoice(one.id, one.name, one.id == belongs.skater_id) for one in skaters),
        program_id=belongs.program_id,
        program=program,
        note=belongs.note,
        text=text,
        fault=fault,
        kept=tuple(_kept(one, skaters) for one in kept),
    )


def _kept(record: SheetRecord, skaters: Sequence[SkaterRecord]) -> KeptSheet:
    name = next((one.name for one in skaters if one.id == record.skater_id), "")
    words = record.note or name or say("Sheet")
    about = (name if record.note else "", edition_words(record.edition), day_words(record.read_at.date()))
    return KeptSheet(record.id, words, listed(filter(None, about)))


def reading_view(belongs: Belongs, reading: SheetReading, pages_left: int = 0) -> SheetReadingView:
    """The preview of a file."""
    return SheetReadingView(
        belongs=belongs,
        edition=edition_words(belongs.edition),
        found=tuple(_found(one, number) for number, one in enumerate(reading.sheets, start=1)),
        doubtful=reading.doubtful,
        others=tuple(line for line in reading.unread if not line.matters),
        pages_left=pages_left,
    )


def _found(one: FoundSheet, number: int) -> FoundView:
    sheet = one.sheet
    said = [
        say("rank %(rank)s", rank=one.rank) if one.rank else "",
        say("starting number %(start)s", start=one.start) if one.start else "",
        say_many("%(count)s element", "%(count)s elements", len(sheet.rows)),
        say("segment score %(total)s", total=show(sheet.total))
        if sheet.total is not None
        else say("no total printed"),
    ]
    return FoundView(
        who=one.who or say("Sheet %(number)s", number=number),
        words=listed(filter(None, said)),
        missing=listed(map(str, sheet.gaps)),
        rows=tuple(_row(sheet, place) for place in range(len(sheet.rows))),
        json=json.dumps(sheet_json(sheet), separators=(",", ":")),
    )


def _row(sheet: OfficialSheet, place: int) -> FoundRow:
    row = sheet.rows[place]
    marks = " ".join("-" if mark is None else str(mark) for mark in row.judges)
    base = say("%(points)s x", points=show(row.base)) if row.late else show(row.base)
    figures = say("%(base)s, GOE %(goe)s: %(marks)s", base=base, goe=show(row.goe), marks=marks)
    figures = say("%(first)s; %(last)s", first=row.info, last=figures) if row.info else figures
    return FoundRow(row.number, row.code, figures, show(row.score))
