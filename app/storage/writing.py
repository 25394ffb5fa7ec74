"""One writer at a time: a transaction that has the write lock before it looks.

SQLite lets one writer in and makes the others knock again and again until they give up. Writers of one process
therefore queue here first, and only other processes are left to knock.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, text
from sqlmodel import Session

_queues: WeakKeyDictionary[Engine | Connection, Lock] = WeakKeyDictionary()
_making = Lock()


@contextmanager
def alone(session: Session) -> Iterator[None]:
    """What is read and written inside happens at one moment: committed at the end, rolled back on any exception.

    What the session had not committed before is committed first, and what it had read is read anew when asked with
    `populate_existing`. Does not nest.
    """
    session.commit()
    with _queue(session.get_bind()):
        session.execute(text("BEGIN IMMEDIATE"))
        try:
            yield
            session.commit()
        except BaseException:
            session.rollback()
            raise


def _queue(database: Engine | Connection) -> Lock:
    with _making:
        return _queues.setdefault(database, Lock())
