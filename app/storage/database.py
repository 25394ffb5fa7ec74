"""Opening the database: sessions, migrations, copies.

    Database(file)                        one SQLite file: a laptop
    Database("postgresql://…", workers)   a PostgreSQL server: a club, several workers

SQLite: write-ahead log with `synchronous=FULL`: a tap that was answered survives a power cut. Foreign keys are on.
PostgreSQL keeps the same promise with its own settings (`fsync` and `synchronous_commit`, both on unless turned off).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Engine
from sqlmodel import Session

from app.storage import engines, migrating
from app.storage.backups import Backups
from app.storage.trouble import in_words

MIGRATIONS = migrating.MIGRATIONS
NEWEST = "0016"
"""The newest file of migrations/versions; a test holds this to it."""


OWNER_FOLDER, OWNER_FILE = 0o700, 0o600
"""The coach's own eyes only. The write-ahead log takes the rights of the file itself."""


def _own(file: Path) -> None:
    """Make the file for its owner alone, before anything is in it; one that is there already becomes so."""
    if not file.exists():
        file.touch(mode=OWNER_FILE)
    with suppress(PermissionError):  # somebody else's file: it can be used, not changed
        file.chmod(OWNER_FILE)


class Database:
    """One database. Making it creates the folder of a SQLite file; `migrate` creates or updates the tables.

    `backups`: the copies of the file; None with PostgreSQL, whose own tools make them.
    """

    def __init__(self, where: Path | str, workers: int = 1) -> None:
        if isinstance(where, str):
            self.file: Path | None = None
            self.backups: Backups | None = None
            self.engine: Engine = engines.postgresql(where, workers)
            return
        with in_words(where):
            where.parent.mkdir(parents=True, exist_ok=True, mode=OWNER_FOLDER)
            _own(where)
        self.file = where
        self.backups = Backups(where)
        self.engine = engines.sqlite(where)

    def migrate(self) -> None:
        """Bring the tables to the newest version. Safe to call on every start; nothing is loaded when up to date.

        A file is copied first. Raises StorageTrouble, with nothing touched, when the database is damaged or was
        written by a newer Recoup.
        """
        version = migrating.version_of(self.engine, self.file)
        migrating.refuse_newer(version, NEWEST, self.file)
        if version == NEWEST:
            return
        if version is not None and self.backups is not None:
            self.backups.make("before-update", datetime.now(UTC))
        migrating.upgrade(self.engine, NEWEST)

    @contextmanager
    def session(self) -> Iterator[Session]:
        """A session that is closed at the end; whoever writes commits."""
        with Session(self.engine, expire_on_commit=False) as session:
            yield session

    def close(self) -> None:
        """Give back every connection."""
        self.engine.dispose()
