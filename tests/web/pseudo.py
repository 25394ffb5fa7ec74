"""A language that nobody speaks: every text of the catalogue stands between marks, so English past it stands out.

`with speaking():` puts marks around the words of a message, not around what goes into its places; `outside(page)` is
what a reader sees or hears of a page beside them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from unittest.mock import patch

from app.domain.words import Figure
from app.web import languages, rendering

OPEN, CLOSE = "⟦", "⟧"
PLACE = re.compile(r"(%\(\w+\)[sd])")
SAID_BY_PEOPLE = frozenset({"aria-label", "alt", "title", "placeholder", "aria-description"})
UNSEEN = frozenset({"script", "style", "template"})


def marked(message: str) -> str:
    """A message with its own words between marks, its places outside of them."""
    parts = PLACE.split(message)
    return "".join(part if PLACE.fullmatch(part) or not part else f"{OPEN}{part}{CLOSE}" for part in parts)


def _translated(message: str, plural: str = "", count: int = 0) -> str:
    return marked(plural if plural and count != 1 else message)


def _shown(value: object) -> object:
    if isinstance(value, Figure | languages.Day):
        return f"{OPEN}{value}{CLOSE}"
    return languages_shown(value)


languages_shown = languages.shown


@contextmanager
def speaking() -> Iterator[None]:
    """Within this block every page is in that language."""
    with (
        patch.object(languages, "translated", _translated),
        patch.object(rendering, "translated", _translated),
        patch.object(languages, "format_date", lambda day, *_: f"{OPEN}{day}{CLOSE}"),
    ):
        yield


class _Read(HTMLParser):
    """Collects what stands outside of marks: text in the order of the page, attributes each by itself."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._depth = 0
        self._unseen = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._unseen += tag in UNSEEN
        for name, value in attrs:
            if value and name in SAID_BY_PEOPLE:
                self.found.append(_bare(value))

    def handle_endtag(self, tag: str) -> None:
        self._unseen -= tag in UNSEEN

    def handle_data(self, data: str) -> None:
        if self._unseen:
            return
        bare, self._depth = _outside(data, self._depth)
        self.found.append(bare)


def _outside(text: str, depth: int) -> tuple[str, int]:
    kept = []
    for sign in text:
        if sign == OPEN:
            depth += 1
        elif sign == CLOSE:
            depth -= 1
        elif depth <= 0:
            kept.append(sign)
    return "".join(kept), depth


def _bare(text: str) -> str:
    return _outside(text, 0)[0]


def outside(page: str) -> list[str]:
    """The texts of a page that no message of the catalogue says, in the order they stand there."""
    reader = _Read()
    reader.feed(page)
    reader.close()
    return [text for one in reader.found if (text := " ".join(one.split()))]
