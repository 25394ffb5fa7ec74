"""One writer at a time: a transaction that has the write lock before it looks.

SQLite lets one writer in and makes the others knock again and again until they give up. Writers of one process
therefore queue here first, and only other processes are left to knock. PostgreSQL has a lock a thing, an advisory one
that the transaction holds until it ends: what is written about one program does not wait for another, whichever
worker writes.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from hashlib import sha256
from threading import Lock
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, text
from sqlmodel import Session

_queues: WeakKeyDictionary[Engine | Connection, Lock] = WeakKeyDictionary()
_making = Lock()


@contextmanager
def alone(session: Session, thing: str = "everything", number: int | str = 0) -> Iterator[None]:
    """What is read and written inside happens at one moment: committed at the end, rolled back on any exception.

    Nobody else is inside for the same thing ("program", 7). What the session had not committed before is committed
    first, and what it had read is read anew when asked with `populate_existing`. Does not nest.
    """
    session.commit()
    database = session.get_bind()
    is_file = database.dialect.name == "sqlite"
    with _queue(database) if is_file else nullcontext():
        if is_file:
            session.execute(text("BEGIN IMMEDIATE"))
        else:
            session.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": key_of(thing, number)})
        try:
            yield
            session.commit()
        except BaseException:
            session.rollback()
            raise


def key_of(thing: str, number: int | str) -> int:
    """The number of an advisory lock: 64 bits with a sign, the same in every worker."""
    return int.from_bytes(sha256(f"{thing} {number}".encode()).digest()[:8], "big", signed=True)


def _queue(database: Engine | Connection) -> Lock:
    with _making:
        return _queues.setdefault(database, Lock())
