"""The invented competition day of the demo, with two skaters more, so that a stranger sees one; for a real start.

    {"name", "kind", "layouts": [{"skater", "name", "like": a layout of that skater, "instead": {code: code}}, …],
     "starts": [{"skater", "layouts": names, A first, "taps": as in the invented season, "mark"}, …]}

The skaters stand in files of their own, shaped as the demo skater's (`app.storage.seed`).
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from app.errors import RulebookError
from app.storage.records import LayoutRecord
from app.storage.seed import FingerprintOf, plant_skaters
from app.storage.stores import Stores
from app.web.demo_season import logged
from app.web.opening import open_start

Layouts = Mapping[tuple[str, str], LayoutRecord]
"""By names of skater and layout."""


def plant_day(stores: Stores, folder: Path, today: date, fingerprint_of: FingerprintOf) -> int:
    """Seed the day of `folder` when there is none yet; how many skaters start. Raises RulebookError naming the file."""
    if stores.days.all():
        return 0
    plant_skaters(stores, folder / "skaters", today, fingerprint_of)
    file = folder / "day.json"
    try:
        return _plant(stores, json.loads(file.read_text(encoding="utf-8")))
    except (KeyError, TypeError, ValueError) as error:
        raise RulebookError(f"{folder.name}/{file.name}", f"{type(error).__name__}: {error}") from error


def _plant(stores: Stores, said: Mapping[str, Any]) -> int:
    known = _layouts(stores)
    for one in said["layouts"]:
        stores.layouts.save(_changed(known[one["skater"], one["like"]], one))
    known = _layouts(stores)
    day = stores.days.add(said["name"], said["kind"], datetime.now(UTC))
    for one in said["starts"]:
        layouts = [known[one["skater"], name] for name in one["layouts"]]
        start = stores.days.add_start(day.id, layouts[0].skater_id, tuple(layout.id for layout in layouts))
        if one["taps"]:
            stores.live.fill(logged(open_start(stores, day, start), one["taps"]))
        if one["mark"]:
            stores.days.mark(day.id, start.id, one["mark"])
    return len(said["starts"])


def _layouts(stores: Stores) -> Layouts:
    return {
        (skater.name, layout.name): layout
        for skater in stores.skaters.all()
        for layout in stores.layouts.of_skater(skater.id)
    }


def _changed(like: LayoutRecord, one: Mapping[str, Any]) -> LayoutRecord:
    """A new layout as another one, with some elements instead of others."""
    items = tuple(replace(item, code=one["instead"].get(item.code, item.code)) for item in like.items)
    return LayoutRecord(like.skater_id, one["name"], like.edition, like.fingerprint, items)
