"""The skater's own log in the database: once each, undone as a whole, added to what was counted before."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import text

from app.errors import InputError
from app.storage import rows, seed
from app.storage.database import MIGRATIONS, Database
from app.storage.records import AttemptRecord, LogCounts, TrainedRecord
from app.storage.stores import NotStored, Stores, open_stores

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
DAY = date(2026, 11, 24)


def attempt(skater_id: int, sending: str, fate: str = "clean", **more: object) -> AttemptRecord:
    one = AttemptRecord(skater_id, sending, "2A", "mohawk", DAY, "alone", fate)
    return replace(one, **more)  # type: ignore[arg-type]


@pytest.fixture
def skater(stores: Stores) -> int:
    """A skater who trains the 2A, 30 attempts of which were counted before there was a log."""
    found = stores.skaters.add("A")
    stores.skaters.save_trained(TrainedRecord(found.id, "2A", "mohawk", True, 30, 21))
    return found.id


def test_an_attempt_comes_back_as_it_went_in_and_once(stores: Stores, skater: int) -> None:
    one = attempt(skater, "sending-1", "fall", count=3)
    assert stores.attempts.append([one], NOON) is True
    assert stores.attempts.append([one], NOON) is False
    assert stores.attempts.of_skater(skater) == (one,)
    assert stores.attempts.last(skater, NOON) == (one,)
    assert stores.attempts.last(skater, NOON + timedelta(seconds=1)) == ()


def test_a_sending_cannot_change_what_it_said(stores: Stores, skater: int) -> None:
    one = attempt(skater, "sending-1", "fall")
    stores.attempts.append([one], NOON)
    for other in (replace(one, fate="clean"), replace(one, skater_id=stores.skaters.add("B").id)):
        with pytest.raises(InputError, match="already been counted"):
            stores.attempts.append([other], NOON)
    assert stores.attempts.of_skater(skater) == (one,)


def test_undo_takes_a_whole_sending_out_and_a_late_copy_does_not_bring_it_back(
    stores: Stores, skater: int
) -> None:
    kept = attempt(skater, "sending-1")
    table = [attempt(skater, "sending-2", "fall", line=line) for line in (0, 1)]
    stores.attempts.append([kept], NOON)
    stores.attempts.append(table, NOON)
    assert stores.attempts.last(skater, NOON) == tuple(table)
    stores.attempts.undo(skater, "sending-2")
    stores.attempts.undo(skater, "sending-2")
    assert stores.attempts.append(table, NOON) is False
    assert stores.attempts.of_skater(skater) == (kept,)
    assert stores.attempts.last(skater, NOON) == (kept,)


def test_what_is_not_there_or_not_theirs_cannot_be_undone(stores: Stores, skater: int) -> None:
    stores.attempts.append([attempt(skater, "sending-1")], NOON)
    other = stores.skaters.add("B").id
    for whose, sending in ((skater, "sending-9"), (other, "sending-1")):
        with pytest.raises(NotStored):
            stores.attempts.undo(whose, sending)
    with pytest.raises(NotStored):
        stores.attempts.append([attempt(999, "sending-3")], NOON)
    with pytest.raises(InputError, match="at least one, of one skater"):
        stores.attempts.append([], NOON)
    assert len(stores.attempts.of_skater(skater)) == 1


def test_the_record_of_an_element_is_what_was_counted_before_and_the_log(stores: Stores, skater: int) -> None:
    stores.attempts.append([attempt(skater, "sending-1", "<", count=4, place="run-through")], NOON)
    stores.attempts.append([attempt(skater, "sending-2", "fall", count=2)], NOON)
    stores.attempts.append([attempt(skater, "sending-3", entry="steps")], NOON)
    (found,) = stores.skaters.trained(skater)
    assert (found.attempts, found.landed, found.last_logged) == (36, 25, DAY)
    assert found.log == LogCounts(6, 4, {"<": 4, "fall": 2}, 4, 4, {"<": 4}, DAY)


def test_the_summary_is_the_log_added_up_one_by_one(stores: Stores, skater: int) -> None:
    """SQL against a plain walk over every attempt."""
    fates = ("clean", "error", "q", "<", "<<", "fall", "popped by one")
    places = ("alone", "in program", "run-through", "competition")
    for number in range(40):
        fate, place = fates[number % 7], places[number % 4]
        one = attempt(skater, f"sending-{number}", fate, place=place, count=1 + number % 3)
        stores.attempts.append([one], NOON)
    log = stores.attempts.of_skater(skater)
    found = stores.attempts.summary(skater)["2A", "mohawk"]
    landed = [one for one in log if one.fate in ("clean", "error", "q", "<")]
    assert found.attempts == sum(one.count for one in log)
    assert found.landed == sum(one.count for one in landed)
    assert found.program_attempts == sum(one.count for one in log if one.place != "alone")
    assert found.program_landed == sum(one.count for one in landed if one.place != "alone")
    assert found.fates == {
        fate: sum(one.count for one in log if one.fate == fate) for fate in {one.fate for one in log}
    }


def test_saving_an_element_leaves_the_log_alone(stores: Stores, skater: int) -> None:
    stores.attempts.append([attempt(skater, "sending-1", count=4)], NOON)
    (found,) = stores.skaters.trained(skater)
    saved = stores.skaters.save_trained(replace(found, cue="up first"))
    assert saved == replace(found, cue="up first")
    assert stores.skaters.trained(skater) == (saved,)
    with pytest.raises(InputError, match="landed of"):
        stores.skaters.save_trained(replace(found, attempts=3, landed=3))


def test_a_snapshot_keeps_the_log_and_an_old_one_has_none(stores: Stores, skater: int) -> None:
    stores.attempts.append([attempt(skater, "sending-1", count=4)], NOON)
    (found,) = stores.skaters.trained(skater)
    kept = json.loads(json.dumps(rows.trained_json(found)))
    assert rows.trained_from_json(kept) == found
    del kept["log"]
    assert rows.trained_from_json(kept).log == LogCounts()


def test_counts_entered_before_there_was_a_log_are_where_it_starts(tmp_path: Path) -> None:
    database = Database(tmp_path / "old.sqlite3")
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with database.engine.connect() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0005")
        connection.execute(text("INSERT INTO skater VALUES (1, 'A', 0)"))
        columns = "(id, skater_id, code, entry, cue, ready, attempts, landed, outcomes)"
        values = "(1, 1, '2A', 'mohawk', '', 1, 25, 18, '[]')"
        connection.execute(text(f"INSERT INTO trained_element {columns} VALUES {values}"))
        connection.commit()
    database.migrate()
    with open_stores(database) as stores:
        stores.attempts.append([attempt(1, "sending-1")], NOON)
        (element,) = stores.skaters.trained(1)
    assert (element.attempts, element.landed) == (26, 19)
    database.close()


def test_the_demo_counts_what_its_file_says(stores: Stores) -> None:
    """The invented file holds every attempt; those of its log are among them."""
    folder = Path(__file__).parents[2] / "data" / "demo"
    file = json.loads((folder / "skater.json").read_text(encoding="utf-8"))
    seed.plant(stores, folder, DAY, fingerprint_of=str)
    found = {one.code: one for one in stores.skaters.trained(1)}
    for element in file["elements"]:
        one = found[element["code"]]
        assert (one.attempts, one.landed) == (element["attempts"], element["landed"])
        assert one.last_logged == DAY - timedelta(days=element["days_ago"])
        assert one.log.attempts == sum(row[3] for row in element["log"])
    assert stores.attempts.last(1, datetime(DAY.year, DAY.month, DAY.day, tzinfo=UTC)) == ()


def test_sendings_by_how_their_number_begins(stores: Stores, skater: int) -> None:
    for sending in ("sheet-p1-1", "sheet-p1-2", "sheet-p12-1", "tap-4711"):
        stores.attempts.append([attempt(skater, sending)], datetime(2026, 11, 2, tzinfo=UTC))
    stores.attempts.undo(skater, "sheet-p1-1")
    assert stores.attempts.sendings(skater, "sheet-p1-") == {"sheet-p1-1": False, "sheet-p1-2": True}
    assert stores.attempts.sendings(skater, "sheet_") == {}
