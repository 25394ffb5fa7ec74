"""What the workers of one start tell one another through the database, sealed: nobody else can read or forge it.

The key is drawn at the start, handed to each worker, and never written down; what an earlier start has sealed, or
another machine, is not opened. Fernet: AES-128-CBC with HMAC-SHA256 (github.com/fernet/spec). Only what passes that
check is unpickled.
"""

from __future__ import annotations

import pickle
from typing import Any

from cryptography.fernet import Fernet, InvalidToken


class Seal:
    """One key, and what is done with it."""

    def __init__(self, key: bytes | None = None) -> None:
        self._fernet = Fernet(key or new_key())

    def seal(self, value: Any) -> bytes:
        """A value that pickle can take, for nobody but those with the key."""
        return self._fernet.encrypt(pickle.dumps(value))

    def opened(self, sealed: bytes) -> Any | None:
        """The value; None when it was sealed with another key, or changed since."""
        try:
            return pickle.loads(self._fernet.decrypt(sealed))
        except InvalidToken:
            return None


def new_key() -> bytes:
    """A fresh key."""
    return Fernet.generate_key()
