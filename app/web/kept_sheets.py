"""The latest sheet of each program in use, so that several screens on one program work out its state and advice once.

What is stored is read for every request all the same: a kept sheet is used only while everything it was made from is
equal to what was read, under the same rulebook.
"""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

from app.web.views.boards import Sheet

MOST = 512


class KeptSheets:
    """Sheets by program number; the least used are let go. Safe in several threads."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._lock = Lock()
        self._kept: OrderedDict[int, Sheet] = OrderedDict()

    def same(self, read: Sheet) -> Sheet:
        """The kept sheet that says what was read, with all that was worked out from it; else what was read."""
        program = read.record.id
        with self._lock:
            kept = self._kept.get(program)
        if kept == read and kept.edition is read.edition:
            return kept
        with self._lock:
            self._kept[program] = read
            self._kept.move_to_end(program)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return read

    def at(self, program_id: int, event_id: str) -> Sheet | None:
        """The kept sheet of a program whose latest entry is that event; None: there is none."""
        with self._lock:
            kept = self._kept.get(program_id)
        return kept if kept is not None and kept.log and kept.log[-1].id == event_id else None
