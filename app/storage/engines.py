"""Connections to the two databases, each with its rules; their faults come out in plain words."""

from __future__ import annotations

from pathlib import Path
from sqlite3 import Connection
from typing import Any

from sqlalchemy import Engine, event, make_url
from sqlalchemy.engine import ExceptionContext
from sqlalchemy.exc import ArgumentError
from sqlmodel import create_engine

from app.errors import InputError
from app.storage.trouble import server_fault_of, trouble_of

BUSY_MILLISECONDS = 20_000
"""How long a writer knocks while another process writes; those of one process queue in `writing`."""
KEPT_OPEN, MOST_OPEN = 16, 128
"""Connections kept, and at once at most: more than the forty threads that serve requests and the streams' checks."""
SERVER_KEPT, SERVER_TOGETHER, SERVER_WAIT_SECONDS = 8, 80, 30
"""The same on PostgreSQL: kept by each worker; at most by all together, which has room for a hundred as installed."""
PRAGMAS = (
    "journal_mode=WAL",
    "synchronous=FULL",
    "foreign_keys=ON",
    "recursive_triggers=ON",
    "secure_delete=ON",  # what is deleted is overwritten
    f"busy_timeout={BUSY_MILLISECONDS}",
)
DRIVER = "postgresql+psycopg"
NAMES = frozenset({"postgres", "postgresql", DRIVER})


def _prepare(connection: Connection, _record: Any) -> None:
    for pragma in PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")


def sqlite(file: Path) -> Engine:
    """One file. Its faults are raised as StorageTrouble naming it."""
    engine = create_engine(
        f"sqlite:///{file}",
        connect_args={"check_same_thread": False},
        hide_parameters=True,  # an error names the statement, never what somebody typed
        pool_size=KEPT_OPEN,
        max_overflow=MOST_OPEN - KEPT_OPEN,
    )
    event.listen(engine, "connect", _prepare)

    def fault(context: ExceptionContext) -> None:
        found = trouble_of(context.original_exception, file)
        if found is not None:
            raise found from context.original_exception

    event.listen(engine, "handle_error", fault)
    return engine


def postgresql(address: str, workers: int = 1) -> Engine:
    """A server, by its address `postgresql://user@host/name`, for one of so many workers.

    Raises InputError for another kind of address.
    """
    most = max(2, SERVER_TOGETHER // workers)
    kept = min(SERVER_KEPT, most)
    engine = create_engine(
        server_address(address),
        hide_parameters=True,
        pool_size=kept,
        max_overflow=most - kept,
        pool_timeout=SERVER_WAIT_SECONDS,
        pool_pre_ping=True,
    )
    event.listen(engine, "handle_error", _server_fault)
    return engine


def server_address(address: str) -> str:
    """The address with the driver we use. Raises InputError; the message holds no password."""
    try:
        url = make_url(address)
    except ArgumentError:
        raise InputError("DATABASE_URL", "no address; expected postgresql://user@host/name") from None
    if url.drivername not in NAMES:
        raise InputError("DATABASE_URL", f"{url.drivername!r} given; expected postgresql://user@host/name")
    return url.set(drivername=DRIVER).render_as_string(hide_password=False)


def _server_fault(context: ExceptionContext) -> None:
    found = server_fault_of(context.original_exception)
    if found is not None:
        raise found from context.original_exception
