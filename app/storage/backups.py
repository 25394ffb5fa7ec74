"""Copies of the database file: made while it is in use, checked, kept for a while, restored.

    backups = Backups(database.file)          # the folder `backups` beside the file
    backups.make("daily", now)                a checked copy; `all()` lists them, the latest first
    backups.each(forget_the_skater)           the same change in every copy kept, each checked again

A copy is made with SQLite's own online backup ("SQLite Backup API", sqlite.org), so it holds one moment, whatever is
being written. It is written beside, checked with `PRAGMA integrity_check`, and moved into place; only its owner may
read it. Copies are numbered, 1, 2, 3 …, and everything goes by that number: the clock may jump. Kept are the seven
latest of every reason, and of the older daily ones the last of each of four weeks.
"""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, Literal, get_args

from app.domain.words import say
from app.errors import StorageTrouble
from app.storage.trouble import in_words

Reason = Literal["daily", "asked", "before-update", "before-restore"]
REASONS: Final[tuple[Reason, ...]] = get_args(Reason)
FOLDER = "backups"
LATEST, WEEKS = 7, 4
OWNER_ONLY, OWNER_FOLDER = 0o600, 0o700
NAME = re.compile(rf"(\d{{5,}})-({'|'.join(REASONS)})-(\d{{8}}T\d{{6}})Z\.sqlite3")
MOMENT = "%Y%m%dT%H%M%S"
PAGES_AT_ONCE = 2000
"""Copied before others get a turn; small files are copied in one go."""


@dataclass(frozen=True, slots=True)
class Backup:
    """One copy. `made_at` by the clock of then; `size` in bytes."""

    file: Path
    number: int
    reason: Reason
    made_at: datetime
    size: int

    @property
    def name(self) -> str:
        """What it is called on pages and on the command line."""
        return self.file.name


@dataclass(frozen=True, slots=True)
class Contents:
    """How much there is in a copy; `latest`: when the last tap was logged (UTC), None when nothing ever was."""

    skaters: int
    layouts: int
    programs: int
    latest: datetime | None


class Backups:
    """The copies of one database file. Nothing is made before the first copy is."""

    def __init__(self, database_file: Path) -> None:
        self.source = database_file
        self.folder = database_file.parent / FOLDER

    def all(self) -> tuple[Backup, ...]:
        """Every copy, the latest first."""
        found = [_read(file) for file in self.folder.glob("*.sqlite3")] if self.folder.is_dir() else []
        return tuple(sorted((one for one in found if one), key=lambda one: one.number, reverse=True))

    def get(self, name: str) -> Backup | None:
        """The copy of that name; None when there is none."""
        return next((one for one in self.all() if one.name == name), None)

    def make(self, reason: Reason, now: datetime) -> Backup:
        """Copy the database as it is at this moment, check the copy, let go of copies no longer kept.

        Raises StorageTrouble; the database itself is only read.
        """
        number = max((one.number for one in self.all()), default=0) + 1
        moment = now.astimezone(UTC)
        file = self.folder / f"{number:05}-{reason}-{moment.strftime(MOMENT)}Z.sqlite3"
        with in_words(self.folder), self._beside(file) as beside:
            copy(self.source, beside)
        made = Backup(file, number, reason, moment.replace(microsecond=0), file.stat().st_size)
        self._let_go()
        return made

    def each(self, change: Callable[[sqlite3.Connection], None]) -> tuple[str, ...]:
        """Make the same change in every copy; the names of copies that cannot be read, which are left as they are.

        `change` gets a plain connection to a copy of any age, so it looks which tables and columns there are; what it
        does is one transaction. Deleted rows do not stay behind in unused pages. A copy is exchanged for the changed
        one only when that passes its check. Whatever `change` raises stops everything; copies already changed stay so.
        """
        unread = []
        for one in self.all():
            with in_words(self.folder), self._beside(one.file) as beside:
                try:
                    copy(one.file, beside)
                except StorageTrouble:
                    unread.append(one.name)
                    raise _LeaveIt from None
                with closing(sqlite3.connect(beside)) as connection:
                    connection.execute("PRAGMA secure_delete=ON")
                    with connection:
                        change(connection)
                    connection.execute("VACUUM")
        return tuple(unread)

    def tidy(self) -> None:
        """Delete what a power cut left of a copy, or of bringing one back; nobody would find or clean it later."""
        for left in self.folder.glob("*.part*"):
            left.unlink(missing_ok=True)

    def remove(self, name: str) -> None:
        """Delete one copy for good; nothing happens when there is none of that name."""
        found = self.get(name)
        if found is not None:
            found.file.unlink(missing_ok=True)

    @contextmanager
    def _beside(self, file: Path) -> Iterator[Path]:
        """A file to write in place of `file`, checked and moved there at the end. `_LeaveIt`: it stays as it was."""
        self.folder.mkdir(mode=OWNER_FOLDER, parents=True, exist_ok=True)
        beside = file.with_suffix(".part")
        beside.unlink(missing_ok=True)
        os.close(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWNER_ONLY))
        try:
            yield beside
            check(beside)
            _on_disk(beside)
            beside.replace(file)
            _on_disk(self.folder)
        except _LeaveIt:
            pass
        finally:
            for left in (
                beside,
                *(beside.with_name(beside.name + end) for end in ("-journal", "-wal", "-shm")),
            ):
                left.unlink(missing_ok=True)

    def _let_go(self) -> None:
        kept = kept_of(self.all())
        for one in self.all():
            if one.name not in kept:
                one.file.unlink(missing_ok=True)


class _LeaveIt(Exception):
    """Ends work on one copy that stays as it was."""


def kept_of(copies: Iterable[Backup]) -> frozenset[str]:
    """Names of the copies that are kept: by number, the latest of each reason, and daily ones of earlier weeks."""
    ordered = sorted(copies, key=lambda one: one.number, reverse=True)
    kept: set[str] = set()
    for reason in REASONS:
        mine = [one for one in ordered if one.reason == reason]
        kept |= {one.name for one in mine[:LATEST]}
        if reason == "daily":
            weeks: dict[tuple[int, int], str] = {}
            for one in mine[LATEST:]:
                year, week, _ = one.made_at.isocalendar()
                weeks.setdefault((year, week), one.name)
            kept |= set(list(weeks.values())[:WEEKS])
    return frozenset(kept)


def copy(source: Path, target: Path, *, in_use: bool = False) -> None:
    """The database `source` as it is at one moment, written over the database `target`. Raises StorageTrouble.

    `in_use`: others have the target open; it changes for them in one transaction.
    """
    with in_words(source), closing(_read_only(source)) as read, closing(sqlite3.connect(target)) as written:
        read.backup(written, pages=-1 if in_use else PAGES_AT_ONCE, sleep=0.01)
        if not in_use:
            # One file, complete in itself: nothing of it waits in a write-ahead log.
            written.execute("PRAGMA journal_mode=DELETE")


def contents(file: Path) -> Contents:
    """What a copy holds, or the database itself. Raises StorageTrouble."""
    with in_words(file), closing(_read_only(file)) as opened:
        skaters, layouts, programs = (_count(opened, table) for table in ("skater", "layout", "live_program"))
        latest = opened.execute("SELECT max(at) FROM live_event").fetchone()[0] if programs else None
    return Contents(skaters, layouts, programs, None if latest is None else datetime.fromisoformat(latest))


def _count(opened: sqlite3.Connection, table: str) -> int:
    return int(opened.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def check(file: Path) -> None:
    """Is the file a sound database? Raises StorageTrouble saying what is wrong."""
    with in_words(file), closing(_read_only(file)) as opened:
        said = [str(row[0]) for row in opened.execute("PRAGMA integrity_check(3)")]
    if said != ["ok"]:
        raise StorageTrouble(
            say("%(name)s is damaged (%(said)s).", name=file.name, said="; ".join(said)[:200])
        )


def _read_only(file: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True, timeout=30)


def _read(file: Path) -> Backup | None:
    """What the name of a copy says; None: no copy of ours."""
    said = NAME.fullmatch(file.name)
    if said is None:
        return None
    try:
        made_at, size = datetime.strptime(said[3], MOMENT).replace(tzinfo=UTC), file.stat().st_size
    except (ValueError, OSError):
        return None
    reason: Reason = next(one for one in REASONS if one == said[2])
    return Backup(file, int(said[1]), reason, made_at, size)


def _on_disk(path: Path) -> None:
    """Wait until it is on the disk itself, so that a power cut after this leaves it whole."""
    if os.name == "nt" and path.is_dir():  # a folder cannot be opened there
        return
    number = os.open(path, os.O_RDWR if path.is_file() else os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
