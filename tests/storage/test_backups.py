"""Copies of the database: whole, checked, private, kept by number and let go."""

from __future__ import annotations

import sqlite3
import stat
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from app.errors import StorageTrouble
from app.storage import backups as module
from app.storage.backups import Backup, Backups, kept_of
from app.storage.database import Database
from app.storage.stores import Stores

NOW = datetime(2026, 11, 28, 5, 30, tzinfo=UTC)
pytestmark = pytest.mark.file_database


@pytest.fixture
def copies(database: Database) -> Backups:
    assert database.file is not None
    return Backups(database.file)


def names(file: Path) -> list[str]:
    with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as opened:
        return [row[0] for row in opened.execute("SELECT name FROM skater ORDER BY id")]


def test_a_copy_holds_what_was_saved_and_not_what_was_not(
    stores: Stores, database: Database, copies: Backups
) -> None:
    stores.skaters.add("A")
    with closing(sqlite3.connect(copies.source)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("INSERT INTO skater (name, invented) VALUES ('B', 0)")
        made = copies.make("asked", NOW)
        other.rollback()
    assert names(made.file) == ["A"]
    assert made.name == "00001-asked-20261128T053000Z.sqlite3"
    assert not list(copies.folder.glob("*-wal")), "a copy is one file"


def test_only_the_owner_can_read_a_copy(stores: Stores, copies: Backups) -> None:
    made = copies.make("daily", NOW)
    assert stat.S_IMODE(made.file.stat().st_mode) == 0o600
    assert stat.S_IMODE(copies.folder.stat().st_mode) == 0o700


def test_what_is_listed_is_what_was_made(stores: Stores, copies: Backups) -> None:
    assert copies.all() == ()
    first, second = copies.make("daily", NOW), copies.make("asked", NOW - timedelta(days=400))
    (copies.folder / "notes.txt").write_text("not a copy")
    (copies.folder / "something.sqlite3").write_text("neither")
    assert copies.all() == (second, first), "by number: the clock has jumped back"
    assert copies.get(first.name) == first
    assert copies.get("../recoup.sqlite3") is None
    copies.remove(first.name)
    assert copies.all() == (second,)


def copy_of(number: int, day: datetime, reason: module.Reason = "daily") -> Backup:
    return Backup(Path(f"{number:05}-{reason}.sqlite3"), number, reason, day, 1)


def test_seven_days_and_four_weeks_are_kept() -> None:
    # 2026-11-28 is a Saturday; daily copies of sixty days, numbered in order.
    daily = [copy_of(n, NOW - timedelta(days=60 - n)) for n in range(1, 61)]
    kept = kept_of(daily)
    numbers = sorted(one.number for one in daily if one.name in kept)
    # The last seven: 54 … 60, Saturday 22nd (59 is the 27th) back to the 21st. Older: the week's last copy of the weeks
    # ending before: Fr 20 Nov (53) belongs to the week of Sunday 22 Nov; then Sundays 15, 8 and 1 November.
    sundays = [60 - (NOW - datetime(2026, 11, day, 5, 30, tzinfo=UTC)).days for day in (1, 8, 15)]
    assert numbers == [*sundays, 53, *range(54, 61)]


def test_a_clock_that_jumped_ahead_and_back_loses_no_new_copy() -> None:
    ahead = [copy_of(n, NOW + timedelta(days=3650 + n)) for n in range(1, 10)]
    back = [copy_of(n, NOW + timedelta(days=n)) for n in range(10, 18)]
    kept = kept_of([*ahead, *back])
    assert {one.name for one in back[-7:]} <= kept


def test_copies_of_one_reason_do_not_crowd_out_those_of_another() -> None:
    asked = [copy_of(n, NOW, "asked") for n in range(2, 30)]
    update = copy_of(1, NOW, "before-update")
    kept = kept_of([*asked, update])
    assert update.name in kept
    assert len(kept) == 1 + module.LATEST


def test_each_changes_every_copy_and_leaves_no_trace_in_it(stores: Stores, copies: Backups) -> None:
    stores.skaters.add("Nobody Real, to be forgotten")
    copies.make("daily", NOW)
    stores.skaters.add("B")
    copies.make("daily", NOW + timedelta(days=1))

    def forget(connection: sqlite3.Connection) -> None:
        connection.execute("DELETE FROM skater WHERE name LIKE 'Nobody%'")

    assert copies.each(forget) == ()
    assert [names(one.file) for one in copies.all()] == [["B"], []]
    for one in copies.all():
        assert b"Nobody Real" not in one.file.read_bytes()
        assert stat.S_IMODE(one.file.stat().st_mode) == 0o600
    assert len(list(copies.folder.iterdir())) == 2, "nothing is left beside the copies"


def test_each_names_a_copy_it_cannot_read_and_changes_the_others(stores: Stores, copies: Backups) -> None:
    stores.skaters.add("A")
    good, bad = copies.make("daily", NOW), copies.make("asked", NOW)
    bad.file.write_bytes(b"no database at all, " * 500)
    assert copies.each(lambda connection: connection.execute("DELETE FROM skater") and None) == (bad.name,)
    assert names(good.file) == []
    assert bad.file.read_bytes().startswith(b"no database at all")


def test_a_change_that_fails_leaves_its_copy_as_it_was(stores: Stores, copies: Backups) -> None:
    stores.skaters.add("A")
    made = copies.make("daily", NOW)
    before = made.file.read_bytes()

    def half(connection: sqlite3.Connection) -> None:
        connection.execute("DELETE FROM skater")
        raise ValueError("half-way")

    with pytest.raises(ValueError, match="half-way"):
        copies.each(half)
    assert made.file.read_bytes() == before
    assert [one.name for one in copies.folder.iterdir()] == [made.name]


def test_a_damaged_database_gives_no_copy_and_says_so(tmp_path: Path) -> None:
    file = tmp_path / "recoup.sqlite3"
    file.write_bytes(b"this was a database once, " * 500)
    with pytest.raises(StorageTrouble, match=r"damaged.*recoup\.sqlite3.*python -m app restore"):
        Backups(file).make("asked", NOW)
    assert list((tmp_path / "backups").iterdir()) == []


def test_a_copy_with_a_broken_page_does_not_pass(stores: Stores, database: Database, copies: Backups) -> None:
    for number in range(200):
        stores.skaters.add(f"A {number}")
    made = copies.make("asked", NOW)
    content = bytearray(made.file.read_bytes())
    with closing(sqlite3.connect(made.file)) as opened:
        page = opened.execute("SELECT rootpage FROM sqlite_master WHERE name = 'skater'").fetchone()[0]
        size = opened.execute("PRAGMA page_size").fetchone()[0]
    at = (page - 1) * size
    content[at : at + size // 2] = b"\xff" * (size // 2)
    made.file.write_bytes(content)
    with pytest.raises(StorageTrouble, match="damaged"):
        module.check(made.file)
