"""What the terminal is told of a fault: its kind and the places in the program, never a value.

The message of an exception, and the text a traceback quotes, may hold what somebody typed: a name, an address, a code.
The places are enough to find the fault.
"""

from __future__ import annotations

import logging
import traceback
from pathlib import PurePath

LOGGERS = ("recoup", "uvicorn.error", "asyncio")


def told(error: BaseException) -> str:
    """Kind and places of an error, innermost last, and of the error it came from."""
    frames = traceback.extract_tb(error.__traceback__)
    places = " > ".join(f"{PurePath(one.filename).name}:{one.lineno} {one.name}" for one in frames)
    cause = error.__cause__ or error.__context__
    behind = f"; because of {told(cause)}" if cause is not None else ""
    return f"{type(error).__name__} at {places or 'no place'}{behind}"


class WithoutValues(logging.Filter):
    """Puts `told` in place of the traceback of a record."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Every record stays."""
        error = record.exc_info[1] if record.exc_info else None
        if error is not None:
            record.msg, record.args = f"{record.getMessage().strip()}: {told(error)}", ()
            record.exc_info, record.exc_text = None, None
        return True


def install() -> None:
    """Hang the filter into every logger that writes of faults; twice does nothing."""
    for name in LOGGERS:
        logger = logging.getLogger(name)
        if not any(isinstance(one, WithoutValues) for one in logger.filters):
            logger.addFilter(WithoutValues())
