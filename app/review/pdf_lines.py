"""The text of a PDF line by line, in a process of its own with a limit on time and memory.

A PDF is a program somebody else wrote. It is taken apart by pypdf in a child process that may use so many seconds and
bytes and no more, so a hostile or broken file costs an error message and never the server.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from app.domain.words import grouped, say
from app.errors import InputError
from app.review.sheet_import import MOST_BYTES

CHILD = Path(__file__).parent / "pdf_child.py"
MOST_PAGES = 60
SECONDS = 2
"""Of computing. A machine with other work to do gets a few more by the clock, see `PATIENCE`."""
PATIENCE = 12.0
MEMORY = 768 * 1024 * 1024
"""Bytes of address space, the interpreter included."""


@dataclass(frozen=True, slots=True)
class PdfText:
    """Lines in reading order. `pages_left`: pages that were not read because the time was up."""

    lines: tuple[str, ...]
    pages: int
    pages_left: int = 0


def lines_of_pdf(raw: bytes, patience: float = PATIENCE) -> PdfText:
    """The text layer of a PDF, within `patience` seconds by the clock. Raises InputError saying why there is none."""
    if len(raw) > MOST_BYTES:
        raise InputError(
            say("file"),
            say(
                "%(given)s bytes given; expected at most %(most)s",
                given=grouped(len(raw)),
                most=grouped(MOST_BYTES),
            ),
        )
    if not raw.lstrip()[:5] == b"%PDF-":
        raise InputError(say("file"), say("no PDF given; expected a file that begins with %%PDF-"))
    command = [sys.executable, "-I", str(CHILD), str(MOST_PAGES), str(SECONDS), str(MEMORY)]
    try:
        done = subprocess.run(command, input=raw, capture_output=True, timeout=patience, check=False)
    except subprocess.TimeoutExpired:
        raise InputError(say("file"), _TOO_MUCH) from None
    try:
        said = json.loads(done.stdout)
    except ValueError:
        raise InputError(say("file"), _TOO_MUCH) from None
    if "error" in said:
        raise InputError(say("file"), _reason(said))
    if not any(line.strip() for line in said["lines"]):
        raise InputError(
            say("file"),
            say("no text in this PDF; expected one with a text layer, not a scan. Type the rows in instead"),
        )
    return PdfText(tuple(said["lines"]), said["pages"], said["left"])


def _reason(said: Mapping[str, Any]) -> str:
    """Why the reading process gave up: its key, with a number or a name where it has one."""
    reasons = {
        "password": say("this PDF asks for a password; expected one that opens without"),
        "pages": say(
            "%(given)s pages given; expected at most %(most)s", given=said.get("given"), most=MOST_PAGES
        ),
        "memory": say("this PDF needs too much memory; copy the text out of a viewer and paste it instead"),
    }
    broken = say("this PDF cannot be read (%(why)s); expected one with a text layer", why=said.get("given"))
    return reasons.get(said["error"], broken)


_TOO_MUCH = say(
    "this PDF takes more than %(seconds)s seconds or %(memory)s MB to read; expected the sheets of one "
    "event. Copy the text out of a viewer and paste it instead",
    seconds=SECONDS,
    memory=MEMORY // 1024 // 1024,
)
