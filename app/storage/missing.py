"""The error for a thing that isn't stored."""

from __future__ import annotations

from app.errors import InputError


class NotStored(InputError):
    """Nothing stored under that number."""

    def __init__(self, what: str, given: object) -> None:
        super().__init__(
            what, f"nothing stored under {given!r}; it may have been removed: go back to the list"
        )
        self.given = given
