"""Files that somebody hands in: as text, whatever a spreadsheet made of the accents."""

from __future__ import annotations

ENCODINGS = ("utf-8-sig", "cp1252")


def text_of(raw: bytes) -> str | None:
    """The text of a file's bytes; None when they are no text."""
    for encoding in ENCODINGS:
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    return None
