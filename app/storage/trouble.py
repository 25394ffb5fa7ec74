"""What the disk or the database file may do to us, in plain words with the way out.

SQLite says "database or disk is full"; a coach needs to know that nothing is lost and what to do. The codes are
SQLite's own ("Result and Error Codes", sqlite.org).
"""

from __future__ import annotations

import errno
import logging
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.domain.words import entry, say
from app.errors import InputError, RecoupError, StorageTrouble

log = logging.getLogger("recoup")
SAFE = say("Nothing that was saved before is lost.")
FULL = entry("The disk is full, so this was not saved. %(safe)s Free some space, then try again (%(where)s).")
READ_ONLY = entry(
    "Recoup may not write here, so this was not saved: %(where)s. %(safe)s Make it writable, then try again."
)
DAMAGED = entry(
    "The database file is damaged: %(where)s. It was left as it is. Stop Recoup, then bring a copy back: "
    "`python -m app restore` lists the copies there are."
)
CANNOT_OPEN = entry(
    "The database file cannot be opened: %(where)s. Is the folder there, and yours to write in? %(safe)s"
)
BUSY = entry(
    "Another program holds the database file, so this was not saved (%(where)s). %(safe)s Try again in a moment."
)
DISK = entry(
    "The disk reported a fault, so this was not saved (%(where)s). %(safe)s Make a copy of the folder, then try again."
)
WORDS = {
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_PERM: READ_ONLY,
    sqlite3.SQLITE_CORRUPT: DAMAGED,
    sqlite3.SQLITE_NOTADB: DAMAGED,
    sqlite3.SQLITE_CANTOPEN: CANNOT_OPEN,
    sqlite3.SQLITE_BUSY: BUSY,
    sqlite3.SQLITE_LOCKED: BUSY,
    sqlite3.SQLITE_IOERR: DISK,
}
BY_ERRNO = {errno.ENOSPC: FULL, errno.EDQUOT: FULL, errno.EACCES: READ_ONLY, errno.EPERM: READ_ONLY}
BY_ERRNO[errno.EROFS] = READ_ONLY
PRIMARY = 0xFF
"""The low byte of an extended code is the primary one."""


def trouble_of(error: BaseException, where: Path | str) -> StorageTrouble | None:
    """The trouble behind an error, in words; None: it is no trouble of disk or file."""
    if isinstance(error, sqlite3.DatabaseError):
        words = WORDS.get(getattr(error, "sqlite_errorcode", 0) & PRIMARY)
    else:
        words = BY_ERRNO.get(error.errno or 0) if isinstance(error, OSError) else None
    return StorageTrouble(say(words, where=where, safe=SAFE)) if words else None


SERVER_WORDS = {
    "08": entry(
        "The database server does not answer, so this was not saved. %(safe)s Try again in a moment."
    ),
    "25006": entry(
        "The database server takes no writing now, so this was not saved. %(safe)s Ask who looks after it."
    ),
    "40": entry(
        "Two things were written at the same moment, and this one was not saved. %(safe)s Try again."
    ),
    "53": entry(
        "The database server has no room left (disk, memory or connections), so this was not saved. %(safe)s"
    ),
    "57": entry(
        "The database server is being stopped, so this was not saved. %(safe)s Try again in a moment."
    ),
    "58": entry("The database server reported a fault of its disk, so this was not saved. %(safe)s"),
    "XX001": entry(
        "The database server reports damaged data. Ask who looks after it; Recoup writes nothing more there."
    ),
}
"""By SQLSTATE, whole or its first two signs (PostgreSQL 15, appendix A)."""
TURNED_AWAY = entry(
    "The database server turned Recoup away, so this was not saved. %(safe)s Is it just starting or stopping, are "
    "there too many connections, or is the user, password or name of the database in DATABASE_URL wrong? "
    "Its reason is in the log."
)
"""A refused connection has no SQLSTATE, only the server's word for "fatal" before a reason in its own language."""
FATAL = "FATAL"
TOO_LARGE = "22003"
NOT_TEXT = frozenset({"22021", "22P05"})
NO_ANSWER = frozenset({"OperationalError", "InterfaceError"})


def server_fault_of(error: BaseException) -> RecoupError | OverflowError | None:
    """What an error of PostgreSQL's driver means to a person; None: it is no such error.

    The driver is known by the names it must have (PEP 249), so that a laptop never loads it.
    """
    if type(error).__module__.partition(".")[0] != "psycopg":
        return None
    state = getattr(error, "sqlstate", None) or ""
    if state == TOO_LARGE:
        return OverflowError(str(error))
    kinds = {one.__name__ for one in type(error).__mro__}
    if state in NOT_TEXT or (not state and "DataError" in kinds):
        return InputError("", say("a sign that cannot be kept was given; expected plain text"))
    words = SERVER_WORDS.get(state) or SERVER_WORDS.get(state[:2])
    if words is None and not state and kinds & NO_ANSWER:
        words = SERVER_WORDS["08"]
        if FATAL in str(error):
            log.warning(
                "turned away by the database server: %s", str(error).partition(FATAL)[2].strip(": \n")
            )
            words = TURNED_AWAY
    return StorageTrouble(say(words, safe=SAFE)) if words else None


@contextmanager
def in_words(where: Path | str) -> Iterator[None]:
    """Within this block trouble of disk or file is raised as StorageTrouble; `where` is named in it."""
    try:
        yield
    except (sqlite3.DatabaseError, OSError) as error:
        found = trouble_of(error, where)
        if found is None:
            raise
        raise found from error
