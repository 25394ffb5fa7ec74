"""Numbers as people type them: a point or a comma as the decimal mark, a true minus, digits of a Japanese keyboard."""

from __future__ import annotations

import re
import unicodedata

_NUMBER = re.compile(r"[-+]?[0-9]{1,6}(\.[0-9]{0,4})?|[-+]?\.[0-9]{1,4}")


def with_point(text: str) -> str:
    """The same number with a point and a plain minus: `62,40` -> `62.40`. What is no number stays as it is."""
    plain = unicodedata.normalize("NFKC", text).strip().replace("\N{MINUS SIGN}", "-").replace(",", ".")
    return plain if _NUMBER.fullmatch(plain) else text.strip()


def read_number(text: str) -> float:
    """A number with or without decimals. Raises ValueError for anything else, two marks included.

    >>> read_number("62,40"), read_number("-0.5"), read_number("\N{MINUS SIGN}1")
    (62.4, -0.5, -1.0)
    """
    plain = with_point(text)
    if not _NUMBER.fullmatch(plain):
        raise ValueError(text)
    return float(plain)
