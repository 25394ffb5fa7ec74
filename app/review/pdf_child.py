"""The child process of `pdf_lines`: a PDF on standard input, its lines as JSON on standard output.

    python -I pdf_child.py MOST_PAGES SECONDS BYTES

Imports nothing of the app, so it starts quickly and stays small.
"""

from __future__ import annotations

import io
import json
import logging
import sys
import time
from typing import Any

SHARE = 0.75
"""Of the seconds: then no further page is begun."""
MOST_SIGNS = 600_000


def limit(seconds: int, memory: int) -> None:
    """So many seconds of computing and bytes of address space for this process, where the system can."""
    try:
        import resource
    except ImportError:  # not on every system; the parent's clock is the limit there
        return
    for what, most in ((resource.RLIMIT_CPU, seconds), (resource.RLIMIT_AS, memory)):
        try:
            resource.setrlimit(what, (most, most))
        except (ValueError, OSError):
            continue


def lines(raw: bytes, most_pages: int, seconds: int) -> dict[str, Any]:
    """Lines of all pages, as laid out on the page: cells of one height side by side."""
    from pypdf import PdfReader

    reader = PdfReader(io.BytesIO(raw))
    if reader.is_encrypted and not reader.decrypt(""):
        return {"error": "password"}
    pages = len(reader.pages)
    if pages > most_pages:
        return {"error": "pages", "given": pages}
    found: list[str] = []
    for number, page in enumerate(reader.pages):
        if time.process_time() > seconds * SHARE or sum(map(len, found)) > MOST_SIGNS:
            return {"lines": found, "pages": pages, "left": pages - number}
        text = page.extract_text(extraction_mode="layout", layout_mode_space_vertically=False)
        found += [" ".join(line.split()) for line in text.splitlines()]
    return {"lines": found, "pages": pages, "left": 0}


def main() -> None:
    """Reads, answers, never raises."""
    most_pages, seconds, memory = (int(word) for word in sys.argv[1:4])
    logging.disable(logging.CRITICAL)
    limit(seconds, memory)
    raw = sys.stdin.buffer.read()
    try:
        said = lines(raw, most_pages, seconds)
    except MemoryError:
        said = {"error": "memory"}
    except Exception as error:  # whatever a broken file makes pypdf raise, it is the file's fault
        said = {"error": "broken", "given": type(error).__name__}
    json.dump(said, sys.stdout)


if __name__ == "__main__":
    main()
