"""The content sheet: planned programs in official codes, and what was handed in beside the layout of today."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest

from app import engine
from app.domain.content import Line, content_code, line_by_line
from app.domain.words import Text, say, say_many
from app.errors import UnknownEdition
from app.storage.records import ContentRecord, LayoutRecord, SkaterRecord
from app.web.languages import Day
from app.web.views.home import who_words


@dataclass(frozen=True, slots=True)
class LayoutChoice:
    """A layout that may stand in a column."""

    id: int
    name: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class HandedIn:
    """A sheet that was handed in. `differs`: how many lines are other now, in words, empty where none; `lines` all."""

    id: int
    layout: str
    says: str
    differs: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class ContentView:
    """The page. `rows`: number, short program, free skating; a column without a layout is empty.

    `handed_in`: the latest sheet of each chosen layout; `to_keep`: whether there is anything to hand in.
    """

    skater_id: int
    competitor: str
    category: str
    shorts: tuple[LayoutChoice, ...]
    frees: tuple[LayoutChoice, ...]
    short_id: int
    free_id: int
    rows: tuple[tuple[int, str, str], ...]
    handed_in: tuple[HandedIn, ...]
    to_keep: bool


def content_of(layout: LayoutRecord) -> tuple[str, ...]:
    """A layout as its content sheet lists it."""
    return tuple(content_code(item.code) for item in layout.items)


def content_view(
    skater: SkaterRecord,
    layouts: Sequence[LayoutRecord],
    short: LayoutRecord | None,
    free: LayoutRecord | None,
    kept: Sequence[tuple[LayoutRecord, ContentRecord]],
) -> ContentView:
    """The page for a short program and a free skating, either of which may be missing."""
    columns = zip_longest(content_of(short) if short else (), content_of(free) if free else (), fillvalue="")
    return ContentView(
        skater_id=skater.id,
        competitor=skater.name,
        category=_category(free or short),
        shorts=_choices([one for one in layouts if is_short(one)], short),
        frees=_choices([one for one in layouts if not is_short(one)], free),
        short_id=short.id if short else 0,
        free_id=free.id if free else 0,
        rows=tuple((n, one, other) for n, (one, other) in enumerate(columns, start=1)),
        handed_in=tuple(handed_in(layout, sheet) for layout, sheet in kept),
        to_keep=short is not None or free is not None,
    )


def handed_in(layout: LayoutRecord, sheet: ContentRecord) -> HandedIn:
    """A kept sheet beside its layout as it is now."""
    lines = line_by_line(sheet.codes, content_of(layout))
    return HandedIn(sheet.id, layout.name, _says(sheet), differs_words(lines), lines)


def differs_words(lines: Sequence[Line]) -> str:
    """How far a sheet is from the layout; empty when they agree."""
    count = sum(not one.same for one in lines)
    if not count:
        return ""
    return say_many("One line is different now.", "%(count)s lines are different now.", count)


def stale_words(layout: LayoutRecord, sheet: ContentRecord) -> str:
    """The warning on the layout page; empty where the sheet still agrees with it."""
    if not differs_words(line_by_line(sheet.codes, content_of(layout))):
        return ""
    day = Day(sheet.handed_in_at.date())
    return say("The content sheet handed in on %(day)s is no longer what this layout says.", day=day)


def is_short(layout: LayoutRecord) -> bool:
    """Whether a layout is of a short program, by the name of its rulebook."""
    return layout.edition.endswith("/short")


def _says(sheet: ContentRecord) -> Text:
    day = Day(sheet.handed_in_at.date())
    if sheet.note:
        return say("Handed in on %(day)s: %(note)s", day=day, note=sheet.note)
    return say("Handed in on %(day)s", day=day)


def _category(layout: LayoutRecord | None) -> str:
    """Level and discipline, as the form asks for them; empty where the rulebook cannot be read."""
    if layout is None:
        return ""
    try:
        edition = engine.edition(layout.edition)
    except UnknownEdition:
        return ""
    return who_words(edition)


def _choices(layouts: Sequence[LayoutRecord], chosen: LayoutRecord | None) -> tuple[LayoutChoice, ...]:
    return tuple(
        LayoutChoice(one.id, one.name, chosen is not None and one.id == chosen.id) for one in layouts
    )
