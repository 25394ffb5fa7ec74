"""Notes between the workers of one start: a value under a kind and a key, sealed, in the database.

Which worker answers a request is chance, so what one of them keeps in memory for the next request (a job under way, a
policy, the code on the screen, how many codes were tried) is left here as well.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

from app.errors import StorageTrouble
from app.security.sealed import Seal
from app.storage.database import Database
from app.storage.note_store import NoteStore
from app.storage.writing import alone

KEPT = timedelta(days=1)
log = logging.getLogger("recoup")


class Notes:
    """The notes of one start. Safe in several threads; every call is a transaction of its own."""

    def __init__(self, database: Database, seal: Seal) -> None:
        self._database = database
        self._seal = seal

    def get(self, kind: str, key: str, within: timedelta = KEPT) -> Any | None:
        """The note under that key; None: there is none, it is older than that, or it is from another start."""
        with self._database.session() as session:
            sealed = NoteStore(session).get(kind, _short(key), _now() - within)
        return None if sealed is None else self._seal.opened(sealed)

    def put(self, kind: str, key: str, value: Any) -> None:
        """Leave a note; old ones of its kind go."""
        self.change(kind, key, lambda _found: value)

    def tell(self, kind: str, key: str, value: Any) -> None:
        """`put`, by a thread that nobody waits for: trouble with the database is logged, and the work goes on."""
        try:
            self.put(kind, key, value)
        except StorageTrouble as trouble:
            log.warning("a note could not be left: %s", trouble)

    def change(
        self, kind: str, key: str, change: Callable[[Any | None], Any], within: timedelta = KEPT
    ) -> Any:
        """Leave what `change` makes of the note that is there (None: none); nobody else changes it meanwhile."""
        now = _now()
        with self._database.session() as session, alone(session, f"note {kind}", _short(key)):
            notes = NoteStore(session)
            sealed = notes.get(kind, _short(key), now - within)
            left = change(None if sealed is None else self._seal.opened(sealed))
            notes.put(kind, _short(key), self._seal.seal(left), now)
            notes.forget(kind, now - KEPT)
        return left


def _short(key: str) -> str:
    """A key of any length; what it says about a program is nobody's business."""
    return sha256(key.encode()).hexdigest()


def _now() -> datetime:
    return datetime.now(UTC)
