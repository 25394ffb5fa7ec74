"""What the disk or the database file may do to us, in plain words with the way out.

SQLite says "database or disk is full"; a coach needs to know that nothing is lost and what to do. The codes are
SQLite's own ("Result and Error Codes", sqlite.org).
"""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.errors import StorageTrouble

SAFE = "Nothing that was saved before is lost."
FULL = "The disk is full, so this was not saved. {safe} Free some space, then try again ({where})."
READ_ONLY = (
    "Recoup may not write here, so this was not saved: {where}. {safe} Make it writable, then try again."
)
DAMAGED = (
    "The database file is damaged: {where}. It was left as it is. Stop Recoup, then bring a copy back: "
    "`python -m app restore` lists the copies there are."
)
CANNOT_OPEN = (
    "The database file cannot be opened: {where}. Is the folder there, and yours to write in? {safe}"
)
BUSY = (
    "Another program holds the database file, so this was not saved ({where}). {safe} Try again in a moment."
)
DISK = "The disk reported a fault, so this was not saved ({where}). {safe} Make a copy of the folder, then try again."
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
    return StorageTrouble(words.format(where=where, safe=SAFE)) if words else None


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
