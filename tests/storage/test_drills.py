"""Easy jumps of drills and rehearsals in the database. The skater is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from app.live.rehearsal import Callable, Rehearsal
from app.storage.records import DrillRecord, LiveProgramRecord
from app.storage.stores import NotStored, Stores

NOON = datetime(2026, 11, 2, 12, tzinfo=UTC)


def drill(skater_id: int) -> DrillRecord:
    on = date(2026, 11, 2)
    return DrillRecord(skater_id, "sending-1", on, "program", 1, "tail lost", "3T", ("1Lz", "1S+1T"))


def test_a_drill_counts_once_and_can_be_left_out_again(stores: Stores) -> None:
    skater = stores.skaters.add("A")
    one = drill(skater.id)
    assert stores.drills.append(one, NOON)
    assert not stores.drills.append(one, NOON)
    later = replace(one, sending="sending-2", day=date(2026, 11, 4), codes=("1A",))
    assert stores.drills.append(later, NOON)
    assert stores.drills.of_skater(skater.id) == (one, later)
    assert stores.drills.of_skater(skater.id, since=date(2026, 11, 3)) == (later,)
    stores.drills.undo(skater.id, "sending-1")
    stores.drills.undo(skater.id, "sending-1")
    assert stores.drills.of_skater(skater.id) == (later,)
    assert not stores.drills.append(one, NOON)  # a form sent again does not bring it back


def test_what_is_not_there_is_said(stores: Stores) -> None:
    skater, other = stores.skaters.add("A"), stores.skaters.add("B")
    stores.drills.append(drill(skater.id), NOON)
    with pytest.raises(NotStored):
        stores.drills.undo(other.id, "sending-1")
    with pytest.raises(NotStored):
        stores.drills.append(replace(drill(99), sending="sending-9"), NOON)


def test_a_rehearsal_is_kept_with_its_program(stores: Stores) -> None:
    skater = stores.skaters.add("A")
    kept = Rehearsal(
        7, 2, (Callable(1, "tail lost", "3T", "3Lz", 0.25), Callable(2, "not attempted", "3F", None, 0.1))
    )
    plain = LiveProgramRecord(
        skater.id, "Invented", "isu/2026-27/senior/women/free", "", (), (), "run-through", NOON
    )
    assert stores.live.start(plain).rehearsal is None
    begun = stores.live.start(replace(plain, rehearsal=kept))
    assert stores.live.program(begun.id).rehearsal == kept
