"""The log of a live program: it only grows, in one order, and the same event counts once."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings, strategies as some
from hypothesis.strategies import SearchStrategy
from sqlalchemy import event, text
from sqlalchemy.exc import DatabaseError

from app.errors import ProgramError, StorageTrouble
from app.storage.database import Database
from app.storage.records import LayoutItem, LiveProgramRecord, OutcomeRecord, TrainedRecord
from app.storage.stores import Stores, open_stores

NOON = datetime(2026, 1, 10, 12, tzinfo=UTC)


def program(stores: Stores, **changed: object) -> LiveProgramRecord:
    """A live program of a skater of its own."""
    skater = stores.skaters.add("A")
    trained = TrainedRecord(
        skater.id, "3T", "", True, 10, 8, (OutcomeRecord("3T", 1.0),), date(2026, 1, 9), id=5
    )
    record = LiveProgramRecord(
        skater_id=skater.id,
        layout_name="Free",
        edition="isu/2026-27/senior/women/free",
        fingerprint="f",
        items=(LayoutItem("jump", "3T", 10, 0.0, ("2T", None)),),
        trained=(trained,),
        kind="run-through",
        started_at=NOON,
    )
    return replace(record, **changed)  # type: ignore[arg-type]  # the test names its own fields


def test_a_program_keeps_its_snapshot(stores: Stores) -> None:
    wanted = program(stores, kind="competition", event="Invented Cup", threshold=0.7, most_changes=1)
    kept = stores.live.start(wanted)
    assert replace(kept, id=0) == wanted
    assert stores.live.recent() == (kept,)
    assert stores.live.recent(skater_id=kept.skater_id + 1) == ()


def test_the_first_confirmation_of_advice_stays(stores: Stores) -> None:
    kept = stores.live.start(program(stores, kind="competition"))
    assert kept.advice_confirmed_at is None
    stores.live.confirm_advice(kept.id, NOON)
    assert stores.live.confirm_advice(kept.id, NOON + timedelta(hours=1)).advice_confirmed_at == NOON


def test_events_are_numbered_in_order_of_arrival(stores: Stores) -> None:
    kept = stores.live.start(program(stores))
    for place, name in enumerate(["b", "a", "c"], start=1):
        entry = stores.live.append(kept.id, name, NOON, "phone", "tap", {"place": place})
        assert entry.seq == place
    assert [entry.id for entry in stores.live.events(kept.id)] == ["b", "a", "c"]
    assert [entry.payload for entry in stores.live.events(kept.id, after=1)] == [{"place": 2}, {"place": 3}]


def test_the_same_event_sent_twice_counts_once_and_keeps_what_came_first(stores: Stores) -> None:
    kept = stores.live.start(program(stores))
    first = stores.live.append(kept.id, "x", NOON, "phone", "tap", {"fell": True})
    again = stores.live.append(kept.id, "x", NOON + timedelta(seconds=3), "phone", "tap", {"fell": False})
    assert again == first
    assert stores.live.events(kept.id) == (first,)


def test_an_id_of_another_program_is_refused(stores: Stores) -> None:
    one, two = stores.live.start(program(stores)), stores.live.start(program(stores))
    stores.live.append(one.id, "x", NOON, "phone", "tap", {})
    with pytest.raises(ProgramError, match="already in the log of another program"):
        stores.live.append(two.id, "x", NOON, "phone", "tap", {})
    assert stores.live.events(two.id) == ()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE live_event SET payload = '{}'",
        "DELETE FROM live_event",
        pytest.param(
            "INSERT OR REPLACE INTO live_event SELECT * FROM live_event", marks=pytest.mark.file_database
        ),
        "DELETE FROM live_program",
    ],
)
def test_the_database_itself_refuses_to_change_the_log(
    stores: Stores, database: Database, statement: str
) -> None:
    kept = stores.live.start(program(stores))
    entry = stores.live.append(kept.id, "x", NOON, "phone", "tap", {"fell": True})
    with (
        database.engine.begin() as connection,
        pytest.raises(DatabaseError, match=r"(?i)append-only|foreign key"),
    ):
        connection.execute(text(statement))
    assert stores.live.events(kept.id) == (entry,)


def test_two_phones_at_once_never_get_the_same_number(stores: Stores, database: Database) -> None:
    kept = stores.live.start(program(stores))

    def phone(name: str) -> None:
        with open_stores(database) as own:
            for number in range(10):
                own.live.append(kept.id, f"{name}{number}", NOON, name, "tap", {})

    phones = [threading.Thread(target=phone, args=(name,)) for name in "abc"]
    for one in phones:
        one.start()
    for one in phones:
        one.join()
    assert [entry.seq for entry in stores.live.events(kept.id)] == list(range(1, 31))


@pytest.mark.file_database
def test_many_phones_at_once_queue_and_none_is_turned_away__bug_locked(
    stores: Stores, data_dir: Path
) -> None:
    """Used to be: everybody knocked at SQLite, and on a busy evening some gave up with "database is locked"."""
    kept, faults = stores.live.start(program(stores)), list[Exception]()
    impatient = Database(data_dir / "recoup.sqlite3")
    event.listen(impatient.engine, "connect", lambda opened, _: opened.execute("PRAGMA busy_timeout=0"))

    def phone(name: int) -> None:
        try:
            with open_stores(impatient) as own:
                for number in range(10):
                    own.live.append(kept.id, f"{name}-{number}", NOON, "phone", "tap", {})
        except StorageTrouble as fault:
            faults.append(fault)

    phones = [threading.Thread(target=phone, args=(name,)) for name in range(12)]
    for one in phones:
        one.start()
    for one in phones:
        one.join()
    impatient.close()
    assert faults == []
    assert [entry.seq for entry in stores.live.events(kept.id)] == list(range(1, 121))


def test_moments_come_back_in_utc_and_need_a_zone(stores: Stores) -> None:
    kept = stores.live.start(program(stores))
    abroad = datetime(2026, 1, 10, 14, tzinfo=timezone(timedelta(hours=2)))
    assert stores.live.append(kept.id, "x", abroad, "phone", "tap", {}).at == NOON
    with pytest.raises(Exception, match="without a time zone"):
        stores.live.append(kept.id, "y", datetime(2026, 1, 10, 12), "phone", "tap", {})
    assert [entry.id for entry in stores.live.events(kept.id)] == ["x"]


ids: SearchStrategy[list[str]] = some.lists(some.sampled_from("abcdef"), max_size=20)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)  # each example has a program of its own
@given(sent=ids)
def test_the_log_is_the_first_sending_of_each_id(database: Database, sent: list[str]) -> None:
    """Agreement with the plainest possible log: a dictionary that keeps the first."""
    with open_stores(database) as stores:
        kept = stores.live.start(program(stores))
        plain: dict[str, int] = {}
        for place, name in enumerate(sent):
            plain.setdefault(name, place)
            stores.live.append(kept.id, f"{kept.id}/{name}", NOON, "phone", "tap", {"place": place})
        logged = {entry.id.partition("/")[2]: entry.payload["place"] for entry in stores.live.events(kept.id)}
    assert list(logged.items()) == list(plain.items())


def test_programs_of_a_skater_within_days_and_how_long_their_logs_are(stores: Stores) -> None:
    first = stores.live.start(program(stores))
    later = stores.live.start(replace(first, id=0, started_at=NOON + timedelta(days=3)))
    stores.live.start(program(stores))  # another skater's
    mine = first.skater_id
    found = stores.live.between(mine, NOON, NOON + timedelta(days=3))
    assert [one.id for one in found] == [first.id]
    assert stores.live.begun(mine) == (NOON, NOON + timedelta(days=3))
    assert stores.live.lengths(mine) == {}
    stores.live.append(later.id, "e-1", NOON, "laptop", "stopped", {})
    assert stores.live.lengths(mine) == {later.id: 1}
