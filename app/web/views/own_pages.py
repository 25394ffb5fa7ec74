"""What one skater sees of their own: today's layout in large type, their own words, the ways to card, trainer, paper.

Nothing about anybody else stands here, and no points.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from app import engine
from app.live.program import KnownElement, clock
from app.storage.records import LayoutRecord, SkaterRecord, TrainedRecord
from app.storage.stores import Stores
from app.web import opening
from app.web.views import plans
from app.web.views.home import edition_words
from app.web.views.pictures import layout_picture


@dataclass(frozen=True, slots=True)
class OwnRow:
    """One element of the program. `number` of the pass, empty for spins and steps; `cue`: the skater's own words."""

    number: str
    code: str
    when: str
    cue: str


@dataclass(frozen=True, slots=True)
class OwnWords:
    """An element the skater may have words of their own for; `entry` where it is noted."""

    id: int
    code: str
    entry: str
    cue: str


@dataclass(frozen=True, slots=True)
class OwnLink:
    """Another layout of the skater."""

    id: int
    name: str


@dataclass(frozen=True, slots=True)
class OwnView:
    """The skater's page. `layout_id` is 0 where there is no layout yet; `today`: what makes this one today's.

    `swaps`: trained elements that this layout may change to, `planned`: its other elements; `letter`: A, B or C on a
    day with several.
    """

    skater_id: int
    skater: str
    layout_id: int
    layout: str
    edition: str
    today: str
    rows: tuple[OwnRow, ...]
    drawing: Markup
    swaps: tuple[OwnWords, ...]
    planned: tuple[OwnWords, ...]
    others: tuple[OwnLink, ...]
    is_own_phone: bool


def layout_of_today(stores: Stores, skater_id: int, day: date) -> tuple[LayoutRecord | None, str]:
    """The layout to show first, with why: that of a start today, else of the latest program, else the first one."""
    for found in stores.days.all():
        if found.made_at.date() != day:
            continue
        for start in stores.days.starts(found.id):
            if start.skater_id != skater_id or start.withdrawn:
                continue
            agreed = opening.agreed(stores, start)
            if start.program_id is not None:
                record = stores.live.program(start.program_id)
                chosen = plans.as_chosen(record, stores.live.events(record.id)).layout_id
                agreed = tuple(one for one in agreed if one.id == chosen) or agreed
            if agreed:
                return agreed[0], found.name
    layouts = stores.layouts.of_skater(skater_id)
    latest = next((one.layout_id for one in stores.live.recent(skater_id, limit=1)), None)
    return next((one for one in layouts if one.id == latest), layouts[0] if layouts else None), ""


def own_view(
    skater: SkaterRecord,
    layout: LayoutRecord | None,
    today: str,
    layouts: Sequence[LayoutRecord],
    records: Sequence[TrainedRecord],
    offered: Mapping[str, KnownElement],
    is_own_phone: bool,
) -> OwnView:
    """The page of one skater; `records` are all of theirs, `offered` the trained ones by code."""
    cues = _cues(records)
    options, codes = _codes(layout, offered)
    return OwnView(
        skater_id=skater.id,
        skater=skater.name,
        layout_id=layout.id if layout else 0,
        layout=layout.name if layout else "",
        edition=edition_words(layout.edition) if layout else "",
        today=today,
        rows=tuple(_rows(layout, cues)) if layout else (),
        drawing=_drawing(layout) if layout else Markup(),
        swaps=_words(records, options),
        planned=_words(records, [code for code in codes if code not in options]),
        others=tuple(OwnLink(one.id, one.name) for one in layouts if layout is None or one.id != layout.id),
        is_own_phone=is_own_phone,
    )


def _cues(records: Iterable[TrainedRecord]) -> dict[str, str]:
    """The words for each element; the first entry that has some."""
    found: dict[str, str] = {}
    for one in records:
        if one.cue:
            found.setdefault(one.code, one.cue)
    return found


def _rows(layout: LayoutRecord, cues: Mapping[str, str]) -> Iterable[OwnRow]:
    number = 0
    for item in layout.items:
        number += item.kind == "jump"
        shown = str(number) if item.kind == "jump" else ""
        yield OwnRow(shown, item.code, clock(item.start), cues.get(item.code, ""))


def _codes(layout: LayoutRecord | None, offered: Mapping[str, KnownElement]) -> tuple[list[str], list[str]]:
    """The trained swaps of a layout, and its planned jump passes, each once."""
    items = [one for one in layout.items if one.kind == "jump"] if layout else []
    swaps = [
        code
        for item in items
        for code in item.options
        if code is not None and code in offered and code != item.code
    ]
    return list(dict.fromkeys(swaps)), list(dict.fromkeys(item.code for item in items))


def _words(records: Sequence[TrainedRecord], codes: Sequence[str]) -> tuple[OwnWords, ...]:
    return tuple(
        OwnWords(one.id, one.code, one.entry, one.cue)
        for code in codes
        for one in records
        if one.code == code
    )


def _drawing(layout: LayoutRecord) -> Markup:
    edition = engine.edition(layout.edition)
    passes = plans.passes_of(layout.items, edition)
    return layout_picture(layout.name, edition, passes, plans.marks_of(layout.items), {})
