"""Opening a live program: what is kept as it is now, so that nothing changed later touches a program under way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

from app import engine
from app.domain.words import say
from app.errors import InputError
from app.live.warm_up import LETTERS
from app.storage.missing import NotStored
from app.storage.records import (
    DayRecord,
    LayoutRecord,
    LiveProgramRecord,
    ProgramKind,
    StartRecord,
    VariantRecord,
)
from app.storage.stores import Stores
from app.web.views.plans import second_half_odds


def fresh(
    stores: Stores, layouts: Sequence[LayoutRecord], kind: ProgramKind, event: str
) -> LiveProgramRecord:
    """A program from layouts (A first, then what may be chosen), trained elements and limits as they are now."""
    layout, coach = layouts[0], stores.settings.coach()
    return LiveProgramRecord(
        skater_id=layout.skater_id,
        layout_id=layout.id,
        layout_name=layout.name,
        edition=layout.edition,
        fingerprint=engine.edition(layout.edition).fingerprint,
        items=layout.items,
        trained=stores.skaters.trained(layout.skater_id),
        kind=kind,
        started_at=datetime.now(UTC),
        event=event,
        threshold=coach.threshold,
        most_changes=coach.most_changes,
        harder_after_fall=coach.harder_after_fall,
        after_fall_odds=coach.after_fall_odds,
        second_half_odds=second_half_odds(coach, layout.edition),
        variants=tuple(map(_variant, LETTERS, layouts)) if len(layouts) > 1 else (),
    )


def _variant(letter: str, layout: LayoutRecord) -> VariantRecord:
    fingerprint = engine.edition(layout.edition).fingerprint
    return VariantRecord(letter, layout.id, layout.name, fingerprint, layout.items)


def agreed(stores: Stores, start: StartRecord) -> tuple[LayoutRecord, ...]:
    """The layouts agreed for a start, A first; one that was removed meanwhile is left out."""
    found = []
    for layout_id in start.layout_ids:
        try:
            found.append(stores.layouts.get(layout_id))
        except NotStored:
            continue
    return tuple(found)


def for_start(stores: Stores, day: DayRecord, start: StartRecord) -> LiveProgramRecord:
    """A program of that start as it would be opened now. Raises InputError when no agreed layout is left."""
    layouts = agreed(stores, start)
    if not layouts:
        raise InputError(
            say("layouts"), say("none of the agreed layouts is stored any more; agree on another one")
        )
    record = fresh(stores, layouts, day.kind, day.name)
    confirmed = stores.days.confirmed(day.id) if day.kind == "competition" else None
    return replace(record, advice_confirmed_at=confirmed)


def open_start(stores: Stores, day: DayRecord, start: StartRecord) -> LiveProgramRecord:
    """The live program of a start; opened now if nobody has."""
    if start.program_id is not None:
        return stores.live.program(start.program_id)
    return stores.live.start(for_start(stores, day, start), start.id)
