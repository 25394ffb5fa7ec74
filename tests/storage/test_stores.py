"""The stores: what goes in comes out, what must be refused is refused with a word about the way out."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from app.errors import InputError
from app.settings import CoachSettings
from app.storage.database import Database
from app.storage.records import LayoutItem, LayoutRecord, OutcomeRecord, TrainedRecord
from app.storage.stores import NotStored, Stores, open_stores

NOON = datetime(2026, 1, 10, 12, tzinfo=UTC)
SPLIT = (OutcomeRecord("3T", 0.75, 1.0), OutcomeRecord(None, 0.25, 0.0, error=True))
ITEMS = (
    LayoutItem("jump", "3Lz+3T", 18, 0.5, ("3Lz+2T", None)),
    LayoutItem("spin", "CCoSp4", 60, 2.0),
)


def test_a_skater_and_elements_come_back_as_they_went_in(stores: Stores) -> None:
    skater = stores.skaters.add("  A. B. ", invented=True)
    assert (skater.name, skater.invented) == ("A. B.", True)
    element = TrainedRecord(skater.id, "3T", "three-turn", True, 12, 9, SPLIT, date(2026, 1, 9))
    kept = stores.skaters.save_trained(element)
    assert replace(kept, id=0) == element
    assert stores.skaters.trained(skater.id) == (kept,)


def test_a_stored_element_can_be_changed(stores: Stores) -> None:
    skater = stores.skaters.add("A")
    kept = stores.skaters.save_trained(TrainedRecord(skater.id, "3T", outcomes=SPLIT))
    changed = stores.skaters.save_trained(replace(kept, ready=True, outcomes=SPLIT[:1]))
    assert stores.skaters.trained(skater.id) == (changed,)
    assert changed.outcomes == SPLIT[:1]


def test_the_same_element_twice_is_refused_but_another_entry_is_fine(stores: Stores) -> None:
    skater = stores.skaters.add("A")
    stores.skaters.save_trained(TrainedRecord(skater.id, "3T", "mohawk"))
    stores.skaters.save_trained(TrainedRecord(skater.id, "3T", "three-turn"))
    with pytest.raises(InputError, match="already in this skater's list"):
        stores.skaters.save_trained(TrainedRecord(skater.id, "3T", "mohawk"))


@pytest.mark.parametrize(("attempts", "landed"), [(3, 4), (0, 1), (5, -1)])
def test_more_landed_than_attempted_is_refused(stores: Stores, attempts: int, landed: int) -> None:
    skater = stores.skaters.add("A")
    with pytest.raises(InputError, match=f"{landed} landed of {attempts} attempts"):
        stores.skaters.save_trained(TrainedRecord(skater.id, "3T", attempts=attempts, landed=landed))


def test_a_layout_comes_back_and_can_be_changed_and_removed(stores: Stores) -> None:
    skater = stores.skaters.add("A")
    planned = LayoutRecord(skater.id, "Free", "isu/2026-27/senior/women/free", "f", ITEMS)
    kept = stores.layouts.save(planned)
    assert replace(kept, id=0) == planned
    shorter = stores.layouts.save(replace(kept, items=ITEMS[:1]))
    assert stores.layouts.of_skater(skater.id) == (shorter,)
    stores.layouts.delete(kept.id)
    assert stores.layouts.of_skater(skater.id) == ()


def test_what_is_not_there_says_so(stores: Stores) -> None:
    asked = {
        "skater": lambda: stores.skaters.get(7),
        "element": lambda: stores.skaters.save_trained(TrainedRecord(7, "3T", id=7)),
        "layout": lambda: stores.layouts.get(7),
        "program": lambda: stores.live.program(7),
        "phone": lambda: stores.devices.revoke(7, NOON),
    }
    for what, ask in asked.items():
        with pytest.raises(NotStored, match=f"{what}: nothing stored under 7"):
            ask()


def test_a_name_is_needed_if_only_initials(stores: Stores) -> None:
    with pytest.raises(InputError, match="expected initials or a name"):
        stores.skaters.add("   ")


def test_settings_start_at_their_defaults_and_change(stores: Stores) -> None:
    assert stores.settings.coach() == CoachSettings()
    stores.settings.change("threshold", "0.8")
    changed = stores.settings.change("harder_after_fall", "yes")
    assert changed == CoachSettings(threshold=0.8, harder_after_fall=True)
    assert stores.settings.coach() == changed


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        ("threshold", "much", "expected a number"),
        ("threshold", "-1", "expected 0 to 100"),
        # Two changes at most in a whole program: a hard rule of this project, so no setting reaches past it.
        ("most_changes", "3", "expected 0 to 2"),
        ("most_changes", "1.5", "expected a whole number"),
        ("harder_after_fall", "maybe", "expected yes or no"),
        ("colour", "red", "expected one of: threshold"),
        ("threshold", "nan", "expected 0 to 100"),
        ("threshold", "inf", "expected 0 to 100"),
        ("trained_attempts", "9" * 30, "expected 0 to 99999"),
        ("trained_within_days", "9" * 30, "expected 0 to 36500"),
    ],
)
def test_unusable_settings_are_refused(stores: Stores, name: str, text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        stores.settings.change(name, text)
    assert stores.settings.coach() == CoachSettings()


def test_phones_are_known_by_their_token_until_revoked(stores: Stores) -> None:
    phone = stores.devices.add("boards", "hash-1", NOON)
    later = NOON + timedelta(minutes=5)
    seen = stores.devices.by_token("hash-1", later)
    assert seen is not None
    assert (seen.id, seen.last_seen) == (phone.id, later)
    assert stores.devices.by_token("hash-2", later) is None
    stores.devices.revoke(phone.id, later)
    assert stores.devices.by_token("hash-1", later) is None
    assert stores.devices.all() == ()


def test_what_one_session_wrote_the_next_one_reads(stores: Stores, database: Database) -> None:
    stores.skaters.add("A")
    with open_stores(database) as others:
        assert [skater.name for skater in others.skaters.all()] == ["A"]
