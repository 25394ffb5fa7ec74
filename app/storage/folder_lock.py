"""One server to a data folder: the lock file says who runs there and at which address.

The operating system holds the lock for the process and lets go of it when the process ends, however it ends; so a
file left behind by a crash locks nobody out. The text in it is for people and for the second server.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from app.storage.trouble import in_words

NAME = "recoup.lock"
OWNER_ONLY = 0o600
FAR = 1 << 20
"""Windows locks bytes, and hides locked ones from others: so one far behind the text."""


@dataclass(frozen=True, slots=True)
class Holder:
    """Who runs on a folder: process number, and the address once it listens ("" before)."""

    process: int
    address: str = ""


class Taken(Exception):
    """Another server runs on that folder."""

    def __init__(self, holder: Holder) -> None:
        super().__init__(holder)
        self.holder = holder


class FolderLock:
    """The lock of one data folder; held from `take` until `free` or the end of the process."""

    def __init__(self, folder: Path) -> None:
        self.file = folder / NAME
        self._opened: IO[str] | None = None

    def take(self) -> None:
        """Raises Taken, and StorageTrouble when the folder cannot be written."""
        with in_words(self.file.parent):
            self.file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            number = os.open(self.file, os.O_RDWR | os.O_CREAT, OWNER_ONLY)
        opened = os.fdopen(number, "r+", encoding="utf-8")
        if not _locked(opened):
            opened.close()
            raise Taken(self.holder())
        self._opened = opened
        self.announce("")

    def announce(self, address: str) -> None:
        """Write down where the server is found. Nothing happens while the lock is not held."""
        if self._opened is None:
            return
        with in_words(self.file.parent):
            self._opened.seek(0)
            self._opened.truncate()
            self._opened.write(json.dumps({"process": os.getpid(), "address": address}))
            self._opened.flush()

    def holder(self) -> Holder:
        """Who wrote the file last; process 0 when it cannot be read."""
        try:
            said = json.loads(self.file.read_text(encoding="utf-8"))
            return Holder(int(said["process"]), str(said["address"]))
        except (OSError, ValueError, KeyError, TypeError):
            return Holder(0)

    def free(self) -> None:
        """Let go; twice does no harm. The file stays: deleting it would let two servers hold two files."""
        if self._opened is not None:
            self.announce("")
            self._opened.close()
            self._opened = None


if sys.platform == "win32":
    import msvcrt

    def _locked(opened: IO[str]) -> bool:
        opened.seek(FAR)
        try:
            msvcrt.locking(opened.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _locked(opened: IO[str]) -> bool:
        try:
            fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
