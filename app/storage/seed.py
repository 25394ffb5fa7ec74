"""Putting the invented demo into an empty database: every file of data/demo, one skater each.

    {"skater": {"name", "invented"},
     "elements": [{"code", "entry", "cue", "ready", "attempts", "landed", "days_ago", "outcomes": […]}, …],
     "layouts": [{"name", "edition",
                  "items": [{"kind", "code", "start", "goe", "options", "entry", "slack"}, …]}, …]}

`days_ago` counts back from the day of seeding, so that the demo's practice log is always recent.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from app.errors import RulebookError
from app.storage import rows
from app.storage.records import LayoutRecord, TrainedRecord
from app.storage.stores import Stores

FingerprintOf = Callable[[str], str]


def plant(stores: Stores, folder: Path, today: date, fingerprint_of: FingerprintOf) -> int:
    """Seed when there is no skater yet; how many skaters were added. Raises RulebookError naming the file."""
    if stores.skaters.all():
        return 0
    files = sorted(folder.glob("*.json"))
    for file in files:
        try:
            _plant_one(stores, json.loads(file.read_text(encoding="utf-8")), today, fingerprint_of)
        except (KeyError, TypeError, ValueError) as error:
            raise RulebookError(f"{folder.name}/{file.name}", f"{type(error).__name__}: {error}") from error
    return len(files)


def _plant_one(stores: Stores, demo: Mapping[str, Any], today: date, fingerprint_of: FingerprintOf) -> None:
    skater = stores.skaters.add(demo["skater"]["name"], invented=bool(demo["skater"]["invented"]))
    for element in demo["elements"]:
        stores.skaters.save_trained(_trained(skater.id, element, today))
    for layout in demo["layouts"]:
        edition = layout["edition"]
        items = rows.items_from_json(layout["items"])
        stores.layouts.save(LayoutRecord(skater.id, layout["name"], edition, fingerprint_of(edition), items))


def _trained(skater_id: int, element: Mapping[str, Any], today: date) -> TrainedRecord:
    return TrainedRecord(
        skater_id=skater_id,
        code=element["code"],
        entry=element["entry"],
        ready=element["ready"],
        attempts=element["attempts"],
        landed=element["landed"],
        outcomes=rows.outcomes(element["outcomes"]),
        last_logged=today - timedelta(days=element["days_ago"]),
        cue=element["cue"],
    )
