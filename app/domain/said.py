"""What a screen shows of an error: its message with the entry of the catalogue. `str(error)` is its English."""

from __future__ import annotations

from app.domain.words import say
from app.errors import InputError, RecoupError


def said_of(error: RecoupError) -> str:
    """The message of an error, to be put into the reader's language where it is shown."""
    if isinstance(error, InputError):
        if not error.field:
            return error.problem
        return say("%(field)s: %(problem)s", field=error.field, problem=error.problem)
    message = error.args[0] if error.args else ""
    return message if isinstance(message, str) else str(error)
