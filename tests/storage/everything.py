"""An invented skater with something in every table there is, made through the stores, as the app would."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from zlib import crc32

from app import engine
from app.live.events import Cleared, PassSkated, Reading, Stopped, Undone, to_record
from app.live.rehearsal import Callable, Rehearsal
from app.review.official import sheet_json
from app.review.sheet_import import read_text
from app.storage.records import (
    AttemptRecord,
    CallOutRecord,
    DrillRecord,
    HandedRecord,
    LayoutItem,
    LayoutRecord,
    LiveProgramRecord,
    OutcomeRecord,
    SheetRecord,
    TrainedRecord,
    VariantRecord,
)
from app.storage.stores import Stores

NOON = datetime(2026, 11, 20, 12, tzinfo=UTC)
WOMEN = "isu/2026-27/senior/women/free"
SHEET = "1 Mira EXAMPLE AAA 4 24.90 23.30 0.00 0.00\n1 3Lz 5.90 0.00 0 0 0 0 0 5.90\n2 3F+2T 6.60 0.00 0 0 0 0 0 6.60\n"
"""Invented; base values as published."""
ITEMS = (LayoutItem("jump", "3Lz", 20, 0.0, ("3Lz", "2Lz", None)), LayoutItem("spin", "CCoSp4", 60))


def fill(stores: Stores, name: str, book: str = "Club cup") -> int:
    """A skater of that name with rows in every table a skater can have; free text says the name as well."""
    skater = stores.skaters.add(name).id
    trained = TrainedRecord(
        skater, "3Lz", f"entry of {name}", True, 12, 9, (OutcomeRecord("3Lz", 1.0),), date(2026, 11, 1)
    )
    trained = stores.skaters.save_trained(replace(trained, cue=f"cue of {name}"))
    sending = f"sent-{crc32(name.encode()):08x}"
    stores.attempts.append(
        [AttemptRecord(skater, sending, "3Lz", "", NOON.date(), "alone", "clean", 3)], NOON
    )
    stores.call_outs.append(
        CallOutRecord(skater, f"call-{sending}", "p" * 32, 1, "pop", "3Lz", "2Lz", "2Lz", 2.5, 3, NOON)
    )
    stores.drills.append(
        DrillRecord(
            skater, f"drill-{sending}", NOON.date(), "p" * 32, 1, "tail lost", "3T", ("1Lz", "1S+1T")
        ),
        NOON,
    )
    own = stores.rulebooks.add(engine.edition(WOMEN), book, NOON)
    layouts = [
        stores.layouts.save(
            LayoutRecord(skater, f"{letter} of {name}", one, engine.edition(one).fingerprint, ITEMS)
        )
        for letter, one in (("A", WOMEN), ("B", own.name))
    ]
    stores.contents.add(layouts[0].id, ("3Lz", "CCoSp"), f"sheet for {name}", NOON)
    program = _program(stores, skater, name, layouts, trained)
    day = next(iter(stores.days.all()), None) or stores.days.add("Invented Cup", "competition", NOON)
    start = stores.days.add_start(day.id, skater, tuple(one.id for one in layouts))
    program = stores.live.start(program, start.id)
    for number, event in enumerate(
        (
            PassSkated(1, "3Lz", "planned", (Reading("3Lz", False),)),
            Undone(1, (f"{sending}-0",)),
            Stopped(),
            Cleared(f"mother of {name}", "a doctor's word", (f"{sending}-2",)),
        )
    ):
        kind, payload = to_record(event)
        stores.live.append(
            program.id, f"{sending}-{number}", NOON, "boards", kind, payload, device="3", role="logger"
        )
    sheet = sheet_json(read_text(SHEET).sheets[0].sheet)
    stores.sheets.add(SheetRecord(WOMEN, sheet, NOON, skater, program.id, f"sheet of {name}"))
    stores.sheets.add(SheetRecord(WOMEN, sheet, NOON, None, program.id, f"second sheet of {name}"))
    stores.handed.add(HandedRecord(NOON, "skater", skater, f"mother of {name}", "0" * 32))
    stores.devices.add(f"phone of {name}", f"hash of {sending}", NOON, "skater", False, skater)
    stores.devices.new_code(f"code of {sending}", NOON, NOON, "skater", skater)
    return skater


def _program(
    stores: Stores, skater: int, name: str, layouts: list[LayoutRecord], trained: TrainedRecord
) -> LiveProgramRecord:
    variants = tuple(
        VariantRecord(letter, one.id, one.name, one.fingerprint, one.items)
        for letter, one in zip("AB", layouts, strict=True)
    )
    return LiveProgramRecord(
        skater_id=skater,
        layout_name=layouts[0].name,
        edition=layouts[0].edition,
        fingerprint=layouts[0].fingerprint,
        items=layouts[0].items,
        trained=(trained,),
        kind="competition",
        event=f"event of {name}",
        started_at=NOON,
        layout_id=layouts[0].id,
        variants=variants,
        rehearsal=Rehearsal(7, 1, (Callable(1, "tail lost", "3T", "3Lz", 0.25),)),
    )
