"""The restore drill: a copy comes back whole, in one step, and can itself be taken back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Thread

import pytest

from app.errors import InputError, StorageTrouble
from app.storage.backups import Backups, check
from app.storage.daily import DailyCopies, due
from app.storage.database import Database
from app.storage.restoring import restore
from app.storage.stores import Stores, open_stores
from tests.storage.old_schemas import old_database

NOW = datetime(2026, 11, 28, 5, 30, tzinfo=UTC)
pytestmark = pytest.mark.file_database


def skaters(database: Database) -> list[str]:
    with open_stores(database) as stores:
        return [one.name for one in stores.skaters.all()]


def test_drill__everything_is_back_and_the_present_can_be_had_again(
    database: Database, stores: Stores
) -> None:
    assert database.backups is not None
    stores.skaters.add("Before")
    made = database.backups.make("daily", NOW)
    stores.skaters.add("Since")
    before = restore(database, made.name, NOW + timedelta(hours=1))
    assert skaters(database) == ["Before"]
    assert before is not None
    restore(database, before.name, NOW + timedelta(hours=2))
    assert skaters(database) == ["Before", "Since"]
    check(database.backups.source)
    assert [one.reason for one in database.backups.all()] == ["before-restore", "before-restore", "daily"]


def test_whoever_reads_meanwhile_sees_the_old_or_the_restored_state(
    database: Database, stores: Stores
) -> None:
    assert database.backups is not None
    made = database.backups.make("daily", NOW)
    for number in range(300):
        stores.skaters.add(f"S {number}")
    seen: set[int] = set()
    over = Event()

    def read() -> None:
        while not over.is_set():
            seen.add(len(skaters(database)))

    readers = [Thread(target=read) for _ in range(2)]
    for one in readers:
        one.start()
    restore(database, made.name, NOW)
    over.set()
    for one in readers:
        one.join()
    assert seen <= {0, 300}
    assert skaters(database) == []
    stores.skaters.add("Since")
    assert skaters(database) == ["Since"]


def test_a_number_given_since_the_copy_is_not_given_again(database: Database, stores: Stores) -> None:
    # The next skater got the number of one whom the restored copy does not know; phones still held taps for that one.
    assert database.backups is not None
    stores.skaters.add("Before")
    made = database.backups.make("daily", NOW)
    since = stores.skaters.add("Since")
    restore(database, made.name, NOW)
    with open_stores(database) as found:
        assert found.skaters.add("After").id == since.id + 1


def test_without_a_readable_present_numbers_leave_a_wide_gap(tmp_path: Path) -> None:
    database = Database(tmp_path / "recoup.sqlite3")
    database.migrate()
    assert database.backups is not None
    with open_stores(database) as stores:
        before = stores.skaters.add("Before")
    made = database.backups.make("daily", NOW)
    database.close()
    database.backups.source.write_bytes(b"no database at all" * 500)
    assert restore(database, made.name, NOW) is None
    with open_stores(database) as stores:
        assert stores.skaters.add("After").id > before.id + 100
    database.close()


def test_what_a_power_cut_left_of_a_copy_goes_at_the_next_start(database: Database, stores: Stores) -> None:
    # It held everybody, and a skater who was deleted later stayed in it.
    assert database.backups is not None
    stores.skaters.add("Before")
    made = database.backups.make("daily", datetime.now(UTC))
    for name in ("00002-daily-20261128T053000Z.part", "restored.part", "restored.part-wal"):
        (made.file.parent / name).write_bytes(made.file.read_bytes())
    daily = DailyCopies(database.backups)
    daily.start()
    daily.stop()
    assert [one.name for one in made.file.parent.iterdir()] == [made.name]


def test_a_copy_of_old_tables_comes_back_with_the_newest(tmp_path: Path) -> None:
    old = old_database(tmp_path / "old" / "recoup.sqlite3", "0003")
    made = Backups(old).make("daily", NOW)
    database = Database(tmp_path / "recoup.sqlite3")
    database.migrate()
    assert database.backups is not None
    database.backups.folder.mkdir()
    made.file.rename(database.backups.folder / made.name)
    restore(database, made.name, NOW)
    with open_stores(database) as stores:
        (skater,) = stores.skaters.all()
        assert stores.skaters.trained(skater.id)[0].cue == "arms first"
        assert [entry.seq for entry in stores.live.events(1)] == [1, 2]
    database.close()


def test_a_phone_removed_since_stays_removed_and_one_paired_since_stays(
    database: Database, stores: Stores
) -> None:
    assert database.backups is not None
    lost = stores.devices.add("lost", "hash of lost", NOW)
    made = database.backups.make("daily", NOW)
    stores.devices.revoke(lost.id, NOW)
    stores.devices.add("new", "hash of new", NOW)
    restore(database, made.name, NOW)
    with open_stores(database) as again:
        assert [one.name for one in again.devices.all()] == ["new"]
        assert again.devices.by_token("hash of lost", NOW) is None


def test_a_damaged_database_is_kept_aside_and_phones_are_paired_anew(
    database: Database, stores: Stores
) -> None:
    assert database.backups is not None
    assert database.file is not None
    stores.skaters.add("A")
    stores.devices.add("boards", "hash", NOW)
    made = database.backups.make("daily", NOW)
    database.close()
    for part in ("-wal", "-shm"):
        database.file.with_name(database.file.name + part).unlink(missing_ok=True)
    database.file.write_bytes(b"gone, " * 2000)
    assert restore(database, made.name, NOW) is None
    assert skaters(database) == ["A"]
    with open_stores(database) as again:
        assert again.devices.all() == ()
    (aside,) = database.file.parent.glob("recoup-damaged-*.sqlite3")
    assert aside.read_bytes().startswith(b"gone, ")


def test_a_damaged_copy_is_not_brought_back(database: Database, stores: Stores) -> None:
    assert database.backups is not None
    stores.skaters.add("A")
    made = database.backups.make("daily", NOW)
    made.file.write_bytes(b"gone, " * 2000)
    with pytest.raises(StorageTrouble, match="damaged"):
        restore(database, made.name, NOW)
    assert skaters(database) == ["A"]
    assert [one.name for one in database.backups.folder.iterdir()] == [made.name]


def test_an_unknown_copy_is_answered_with_those_there_are(database: Database) -> None:
    assert database.backups is not None
    made = database.backups.make("daily", NOW)
    with pytest.raises(InputError, match=rf"'yesterday' given; expected one of: {made.name}"):
        restore(database, "yesterday", NOW)


def test_one_copy_a_day_is_made_while_the_server_runs(database: Database) -> None:
    assert database.backups is not None
    clock = [NOW]
    daily = DailyCopies(database.backups, lambda: clock[0])
    assert daily.look() is not None
    clock[0] += timedelta(hours=6)
    assert daily.look() is None
    clock[0] += timedelta(days=1)
    assert daily.look() is not None
    # The clock jumps back by years: that day has no copy, and the copies there are stay.
    clock[0] -= timedelta(days=2000)
    assert daily.look() is not None
    assert [one.number for one in database.backups.all()] == [3, 2, 1]
    assert not due(database.backups, clock[0])


def test_a_daily_copy_that_fails_says_why_and_is_tried_again(tmp_path: Path) -> None:
    file = tmp_path / "recoup.sqlite3"
    file.write_bytes(b"gone, " * 2000)
    daily = DailyCopies(Backups(file), lambda: NOW)
    assert daily.look() is None
    assert "damaged" in daily.trouble
    file.unlink()
    database = Database(file)
    database.migrate()
    assert daily.look() is not None
    assert daily.trouble == ""
    database.close()


def test_the_thread_makes_todays_copy_at_the_start(database: Database) -> None:
    assert database.backups is not None
    daily = DailyCopies(database.backups)
    daily.start()
    daily.stop()
    assert [one.reason for one in database.backups.all()] == ["daily"]
