"""Putting the invented demo into an empty database: every file of data/demo, one skater each.

    {"skater": {"name", "invented"},
     "elements": [{"code", "entry", "cue", "ready", "attempts", "landed", "days_ago", "outcomes": […],
                   "log": [[days_ago, place, fate, count], …]}, …],
     "layouts": [{"name", "edition",
                  "items": [{"kind", "code", "start", "goe", "options", "entry", "slack"}, …]}, …]}

`days_ago` counts back from the day of seeding, so that the demo's practice log is always recent. `attempts` and
`landed` hold every attempt, `log` those that are known one by one.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from app.chances.record import LANDED
from app.errors import RulebookError
from app.storage import rows
from app.storage.records import AttemptRecord, LayoutRecord, TrainedRecord
from app.storage.stores import Stores

FingerprintOf = Callable[[str], str]


def plant(stores: Stores, folder: Path, today: date, fingerprint_of: FingerprintOf) -> int:
    """Seed when there is no skater yet; how many skaters were added. Raises RulebookError naming the file."""
    return 0 if stores.skaters.all() else plant_skaters(stores, folder, today, fingerprint_of)


def plant_skaters(stores: Stores, folder: Path, today: date, fingerprint_of: FingerprintOf) -> int:
    """Seed every skater of `folder`; how many were added. Raises RulebookError naming the file."""
    files = sorted(folder.glob("*.json"))
    for file in files:
        try:
            _plant_one(stores, json.loads(file.read_text(encoding="utf-8")), today, fingerprint_of)
        except (KeyError, TypeError, ValueError) as error:
            raise RulebookError(f"{folder.name}/{file.name}", f"{type(error).__name__}: {error}") from error
    return len(files)


def _plant_one(stores: Stores, demo: Mapping[str, Any], today: date, fingerprint_of: FingerprintOf) -> None:
    skater = stores.skaters.add(demo["skater"]["name"], invented=bool(demo["skater"]["invented"]))
    attempts: list[AttemptRecord] = []
    for element in demo["elements"]:
        mine = _log(skater.id, element, today, len(attempts))
        stores.skaters.save_trained(_trained(skater.id, element, today, mine))
        attempts += mine
    if attempts:
        # Logged the day before: nothing a coach has tapped, so nothing to undo.
        stores.attempts.append(attempts, datetime.combine(today - timedelta(days=1), time(), UTC))
    for layout in demo["layouts"]:
        edition = layout["edition"]
        items = rows.items_from_json(layout["items"])
        stores.layouts.save(LayoutRecord(skater.id, layout["name"], edition, fingerprint_of(edition), items))


def _log(skater_id: int, element: Mapping[str, Any], today: date, first_line: int) -> list[AttemptRecord]:
    """The logged attempts of one element; all of a skater are one sending, counted through."""
    sending, code, entry = f"demo-{skater_id}", element["code"], element["entry"]
    return [
        AttemptRecord(skater_id, sending, code, entry, today - timedelta(ago), place, fate, count, line)
        for line, (ago, place, fate, count) in enumerate(element["log"], start=first_line)
    ]


def _trained(
    skater_id: int, element: Mapping[str, Any], today: date, log: Sequence[AttemptRecord]
) -> TrainedRecord:
    """The element with the number its log starts from: every attempt less those in the log."""
    return TrainedRecord(
        skater_id=skater_id,
        code=element["code"],
        entry=element["entry"],
        ready=element["ready"],
        attempts=element["attempts"] - sum(one.count for one in log),
        landed=element["landed"] - sum(one.count for one in log if one.fate in LANDED),
        outcomes=rows.outcomes(element["outcomes"]),
        last_logged=today - timedelta(days=element["days_ago"]),
        cue=element["cue"],
    )
