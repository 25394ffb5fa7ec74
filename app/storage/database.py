"""Opening the SQLite file: connection rules, sessions, migrations.

Write-ahead log with `synchronous=FULL`: a tap that was answered survives a power cut. Foreign keys are on.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from sqlite3 import Connection
from typing import Any

from sqlalchemy import Engine, event, inspect, text
from sqlmodel import Session, create_engine

MIGRATIONS = Path(__file__).parent / "migrations"
NEWEST = "0010"
"""The newest file of migrations/versions; a test holds this to it."""
BUSY_MILLISECONDS = 20_000
"""How long a writer knocks while another process writes; those of one process queue in `writing`."""
KEPT_OPEN, MOST_OPEN = 16, 128
"""Connections kept, and at once at most: more than the forty threads that serve requests and the streams' checks."""
PRAGMAS = (
    "journal_mode=WAL",
    "synchronous=FULL",
    "foreign_keys=ON",
    "recursive_triggers=ON",
    f"busy_timeout={BUSY_MILLISECONDS}",
)


OWNER_FOLDER, OWNER_FILE = 0o700, 0o600
"""The coach's own eyes only. The write-ahead log takes the rights of the file itself."""


def _own(file: Path) -> None:
    """Make the file for its owner alone, before anything is in it; one that is there already becomes so."""
    file.touch(mode=OWNER_FILE, exist_ok=True)
    with suppress(PermissionError):  # somebody else's file: it can be used, not changed
        file.chmod(OWNER_FILE)


def _prepare(connection: Connection, _record: Any) -> None:
    for pragma in PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")


class Database:
    """One SQLite file. Making it creates the folder; `migrate` creates or updates the tables."""

    def __init__(self, file: Path) -> None:
        file.parent.mkdir(parents=True, exist_ok=True, mode=OWNER_FOLDER)
        _own(file)
        self.file = file
        self.engine: Engine = create_engine(
            f"sqlite:///{file}",
            connect_args={"check_same_thread": False},
            hide_parameters=True,  # an error names the statement, never what somebody typed
            pool_size=KEPT_OPEN,
            max_overflow=MOST_OPEN - KEPT_OPEN,
        )
        event.listen(self.engine, "connect", _prepare)

    def migrate(self) -> None:
        """Bring the tables to the newest version. Safe to call on every start; nothing is loaded when up to date."""
        if self._version() == NEWEST:
            return
        from alembic import command
        from alembic.config import Config

        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
        with self.engine.connect() as connection:
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            connection.commit()

    def _version(self) -> str | None:
        """The migration the file is at; None for an empty file."""
        with self.engine.connect() as connection:
            if not inspect(connection).has_table("alembic_version"):
                return None
            return connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()

    @contextmanager
    def session(self) -> Iterator[Session]:
        """A session that is closed at the end; whoever writes commits."""
        with Session(self.engine, expire_on_commit=False) as session:
            yield session

    def close(self) -> None:
        """Give back every connection."""
        self.engine.dispose()
