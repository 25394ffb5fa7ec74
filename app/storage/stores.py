"""The stores: everything the rest of the app may ask of the database.

    with open_stores(database) as stores:      # one session; web routes get it as `deps.StoresDep`
        stores.skaters   SkaterStore   all() get(id) add(name, invented=False) trained(skater_id)
                                       save_trained(TrainedRecord)
        stores.attempts  AttemptStore  append([AttemptRecord, …], at) undo(skater_id, sending)
                                       of_skater(skater_id, since=None) last(skater_id, since) summary(skater_id)
                                       sendings(skater_id, begins)
        stores.call_outs CallOutStore  append(CallOutRecord) get(sending) of_program(skater_id, program)
                                       of_skater(skater_id)
        stores.drills    DrillStore    append(DrillRecord, at) undo(skater_id, sending) of_skater(skater_id, since=None)
        stores.layouts   LayoutStore   of_skater(skater_id) get(id) save(LayoutRecord) change(id, by) delete(id)
        stores.contents  ContentStore  add(layout_id, codes, note, at) of_layout(id) get(id) delete(id)
        stores.live      LiveStore     start(LiveProgramRecord) program(id) recent(skater_id=None, limit=20)
                                       between(skater_id, start, end) begun(skater_id) lengths(skater_id)
                                       confirm_advice(id, at)
                                       append(program_id, event_id, at, author, kind, payload) events(id, after=0)
        stores.sheets    SheetStore    add(SheetRecord) get(id) of_program(program_id) of_skater(skater_id)
                                       recent(limit=20) delete(id)
        stores.days      DayStore      add(name, kind, at) get(id) all() starts(day_id) start(day_id, id)
                                       of_program(program_id) … the start order of a competition day
        stores.devices   DeviceStore   paired phones and one-time codes (used by the pairing pages only)
        stores.handed    HandedStore   add(HandedRecord) of_skater(id) all()   files given out and brought in
        stores.settings  SettingStore  coach() change(name, text)
        stores.rulebooks RulebookStore add(edition, title, at) fill(shelf)   own rulebooks and kept editions

Records go in and come out (`records.py`): frozen values, `id=0` meaning "not stored yet".
Every writing method is one transaction and has been committed, safely on disk, when it returns.
`get`, `program` and friends raise `NotStored` (an InputError, HTTP 404) for an unknown id.

The live log can only grow: `append` is the one way in, and sending the same event id again returns the entry
already there. Undo is an event. SQLite triggers refuse UPDATE and DELETE on it whatever the code does.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from sqlmodel import Session

from app.storage.attempt_store import AttemptStore
from app.storage.call_out_store import CallOutStore
from app.storage.content_store import ContentStore
from app.storage.database import Database
from app.storage.day_store import DayStore
from app.storage.device_store import DeviceStore
from app.storage.drill_store import DrillStore
from app.storage.handed_store import HandedStore
from app.storage.layout_store import LayoutStore
from app.storage.live_store import LiveStore
from app.storage.missing import NotStored
from app.storage.rulebook_store import RulebookStore
from app.storage.setting_store import SettingStore
from app.storage.sheet_store import SheetStore
from app.storage.skater_store import SkaterStore

__all__ = [
    "AttemptStore",
    "CallOutStore",
    "DayStore",
    "DeviceStore",
    "DrillStore",
    "HandedStore",
    "LayoutStore",
    "LiveStore",
    "NotStored",
    "RulebookStore",
    "SettingStore",
    "SheetStore",
    "SkaterStore",
    "Stores",
    "open_stores",
]


@dataclass(frozen=True)
class Stores:
    """All stores over one session."""

    skaters: SkaterStore
    attempts: AttemptStore
    call_outs: CallOutStore
    drills: DrillStore
    layouts: LayoutStore
    contents: ContentStore
    live: LiveStore
    sheets: SheetStore
    days: DayStore
    devices: DeviceStore
    handed: HandedStore
    settings: SettingStore
    rulebooks: RulebookStore

    @classmethod
    def over(cls, session: Session) -> Stores:
        """The stores of one session."""
        return cls(
            skaters=SkaterStore(session),
            attempts=AttemptStore(session),
            call_outs=CallOutStore(session),
            drills=DrillStore(session),
            layouts=LayoutStore(session),
            contents=ContentStore(session),
            live=LiveStore(session),
            sheets=SheetStore(session),
            days=DayStore(session),
            devices=DeviceStore(session),
            handed=HandedStore(session),
            settings=SettingStore(session),
            rulebooks=RulebookStore(session),
        )


@contextmanager
def open_stores(database: Database) -> Iterator[Stores]:
    """The stores over a fresh session, closed at the end."""
    with database.session() as session:
        yield Stores.over(session)
