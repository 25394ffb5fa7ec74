"""The error for a thing that isn't stored."""

from __future__ import annotations

from app.domain.words import say
from app.errors import InputError


class NotStored(InputError):
    """Nothing stored under that number."""

    def __init__(self, what: str, given: object) -> None:
        super().__init__(
            what,
            say(
                "nothing stored under %(given)s; it may have been removed: go back to the list",
                given=repr(given),
            ),
        )
        self.given = given
