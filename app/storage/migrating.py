"""Bringing tables to the newest version, whole or not at all.

Everything a migration does is one transaction on both databases, so a power cut in the middle leaves the old tables.
Several workers may start at once: on PostgreSQL an advisory lock, on SQLite the write lock lets one go first, and the
others find the work done. Foreign keys are looked at only at the end ("Making Other Kinds Of Table Schema Changes",
sqlite.org/lang_altertable.html): rebuilding a table must not delete what points to it.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from app.domain.words import entry, say
from app.errors import StorageTrouble
from app.storage.trouble import DAMAGED, in_words

MIGRATIONS = Path(__file__).parent / "migrations"
LOCK = 0x5265_636F_7570
"""The advisory lock of migrations: "Recoup" in ASCII."""
NEWER = entry(
    "%(where)s was last used by a newer Recoup (tables %(version)s; this one knows tables up to %(newest)s). "
    "Nothing was touched. Start the newer Recoup, or choose another folder with --data-dir."
)


def version_of(engine: Engine, file: Path | None) -> str | None:
    """The migration the tables are at; None where there are none yet. A file is only read, and looked over first.

    Raises StorageTrouble when it is damaged.
    """
    if file is None:
        with engine.connect() as connection:
            return _version(connection)
    with in_words(file):
        if not file.exists() or file.stat().st_size == 0:
            return None
        with closing(_only_looking(file)) as opened:
            if opened.execute("PRAGMA quick_check(1)").fetchone() != ("ok",):
                raise StorageTrouble(say(DAMAGED, where=file))
            known = "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'alembic_version'"
            if opened.execute(known).fetchone() is None:
                return None
            row = opened.execute("SELECT version_num FROM alembic_version").fetchone()
    return None if row is None else str(row[0])


def _only_looking(file: Path) -> sqlite3.Connection:
    """A connection that leaves no trace: without a write-ahead log nobody has the file open, and it is complete."""
    log = file.with_name(f"{file.name}-wal")
    how = "mode=ro" if log.exists() else "mode=ro&immutable=1"
    return sqlite3.connect(f"{file.resolve().as_uri()}?{how}", uri=True)


def refuse_newer(version: str | None, newest: str, file: Path | None) -> None:
    """Raises StorageTrouble when these tables are ahead of this program."""
    if version is not None and version > newest:
        raise StorageTrouble(say(NEWER, where=file or say("The database"), version=version, newest=newest))


def upgrade(engine: Engine, to: str) -> None:
    """From whatever version the tables are at to that one. Raises StorageTrouble."""
    with engine.connect() as connection:
        begin(connection)
        try:
            version = _version(connection)
            refuse_newer(version, to, None)
            if version != to:
                run(connection, to)
            connection.commit()
        except BaseException:
            connection.rollback()
            raise
        finally:
            _foreign_keys(connection, "ON")


def begin(connection: Connection) -> None:
    """Take the lock that lets one migrate at a time; the transaction lasts until the caller commits."""
    if connection.dialect.name == "sqlite":
        _foreign_keys(connection, "OFF")
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    else:
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})


def run(connection: Connection, to: str) -> None:
    """The migrations up to that one, within the transaction of the caller. Raises StorageTrouble."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, to)
    if connection.dialect.name == "sqlite":
        astray = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if astray:
            raise StorageTrouble(
                say(
                    "Updating the tables would lose the tie of %(count)s rows, the first in %(astray)s; nothing "
                    "was changed. Please report this.",
                    count=len(astray),
                    astray=astray[0][0],
                )
            )


def _version(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()


def _foreign_keys(connection: Connection, state: str) -> None:
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA foreign_keys={state}")
        connection.commit()
