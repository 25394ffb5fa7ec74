"""Notes that workers leave for one another: sealed bytes under a kind and a key. Empty with one process."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session, col, delete

from app.storage import tables


class NoteStore:
    """The latest note under each kind and key. The caller says `alone` where it looks first and writes then."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def get(self, kind: str, key: str, since: datetime) -> bytes | None:
        """The note, unless it is older than that."""
        row = self._session.get(tables.WorkerNote, (kind, key), populate_existing=True)
        return None if row is None or row.at < since else row.sealed

    def put(self, kind: str, key: str, sealed: bytes, at: datetime) -> None:
        """Leave a note in place of the one that was there. The caller commits."""
        row = self._session.get(tables.WorkerNote, (kind, key), populate_existing=True)
        if row is None:
            self._session.add(tables.WorkerNote(kind=kind, key=key, sealed=sealed, at=at))
        else:
            row.sealed, row.at = sealed, at

    def forget(self, kind: str, before: datetime) -> None:
        """Delete old notes of a kind. The caller commits."""
        table = tables.WorkerNote
        self._session.execute(delete(table).where(col(table.kind) == kind, col(table.at) < before))
