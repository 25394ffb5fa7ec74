"""Plain SQL to the one database or the other, for what has to see tables as they are: export and deletion."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, text

from app.storage.belongings import Shape, Talk, shape_declared, shape_of_file
from app.storage.database import Database
from app.storage.trouble import in_words

WAIT_SECONDS = 30
PRAGMAS = ("secure_delete=ON", "temp_store=MEMORY", "synchronous=FULL", "foreign_keys=OFF")


@dataclass(frozen=True)
class ServerTalk:
    """A connection to PostgreSQL that takes `?` for values, as sqlite3 does."""

    raw: Any

    def execute(self, sql: str, parameters: Sequence[Any] = (), /) -> Any:
        """A cursor over the answer."""
        return self.raw.execute(sql.replace("?", "%s"), parameters)


@contextmanager
def reading(database: Database) -> Iterator[tuple[Talk, Shape]]:
    """Everything read inside is of one moment."""
    if database.file is None:
        with _server(database.engine, "REPEATABLE READ") as talk:
            yield talk, shape_declared()
        return
    address = f"{database.file.resolve().as_uri()}?mode=ro"
    with in_words(database.file), closing(sqlite3.connect(address, uri=True, timeout=WAIT_SECONDS)) as opened:
        opened.isolation_level = None
        opened.execute("BEGIN")
        yield opened, shape_of_file(opened)


@contextmanager
def changing(database: Database) -> Iterator[tuple[Talk, Shape]]:
    """What is changed inside happens whole or not at all."""
    if database.file is None:
        with _server(database.engine, "READ COMMITTED") as talk:
            yield talk, shape_declared()
            talk.raw.commit()
        return
    with file_opened(database.file) as connection:
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield connection, shape_of_file(connection)
            connection.execute("COMMIT")
        except BaseException:
            connection.execute("ROLLBACK")
            raise


@contextmanager
def file_opened(file: Path) -> Iterator[sqlite3.Connection]:
    """A connection to a file that overwrites what it deletes; the caller begins and commits."""
    with (
        in_words(file),
        closing(sqlite3.connect(file, timeout=WAIT_SECONDS, isolation_level=None)) as connection,
    ):
        for pragma in PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")
        yield connection


def tidied(engine: Engine) -> None:
    """PostgreSQL gives the room of deleted rows free. Its own log and copies are its keeper's to clear."""
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("VACUUM"))


@contextmanager
def _server(engine: Engine, isolation: str) -> Iterator[ServerTalk]:
    with engine.connect() as connection:
        raw = connection.connection.driver_connection
        assert raw is not None
        raw.rollback()
        raw.execute(f"SET TRANSACTION ISOLATION LEVEL {isolation}")
        try:
            yield ServerTalk(raw)
        finally:
            raw.rollback()
