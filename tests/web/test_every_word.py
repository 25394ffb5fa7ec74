"""No page speaks English past the catalogue: the pages are read in a language that nobody speaks.

Every text of the catalogue stands between marks there (`tests/web/pseudo.py`); what stands outside of them has to be a
name, a code, a user's own words or a quoted source, each kind with its reason below.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from starlette.testclient import TestClient

from app.web.tongue import COOKIE
from tests.web.pseudo import OPEN, outside, speaking

PAGES = (
    "/",
    "/live",
    "/day",
    "/data",
    "/phones",
    "/backups",
    "/language",
    "/alone",
    "/how-we-know",
    "/privacy",
    "/rulebooks",
    "/rulebooks/isu/2026-27/senior/women/free",
    "/rulebooks/isu/2025-26/senior/women/short",
    "/layouts/1",
    "/layouts/3",
    "/layouts/1/fragile",
    "/layouts/1/card?swaps=2",
    "/layouts/1/card/print?swaps=2",
    "/layouts/1/tally",
    "/layouts/1/tally/enter",
    "/layouts/1/sturdier",
    "/layouts/1/trainer",
    "/layouts/1/rehearse",
    "/skaters/1",
    "/skaters/1/view",
    "/skaters/1/log",
    "/skaters/1/log/entries",
    "/skaters/1/log/table",
    "/skaters/1/load",
    "/skaters/1/content",
    "/skaters/1/layouts/new",
    "/skaters/1/trainer",
    "/sheets/new",
    "/layouts/999",
    "/no-such-page",
)
OWN_NAMES = {"Recoup", "Français", "Deutsch", "Italiano", "English"}
"""The app's name, and languages by their own."""
ISSUERS = ("ISU", "USA", "U.S. Figure Skating", "Skate Canada", "Canada", "Club events")
LEVELS = (
    "Aspire",
    "aspire",
    "STAR",
    "star",
    "chicks",
    "cubs",
    "intermediate",
    "juvenile",
    "novice",
    "pre-juvenile",
    "pre juvenile",
    "pre-novice",
    "pre novice",
    "pre-preliminary",
    "pre preliminary",
    "preliminary",
)
"""Levels of one federation or club, as it calls them itself."""
OFFICIAL = ("Composition", "Presentation", "Skating Skills", "GOE")
"""What stands on official sheets under this name everywhere."""
OF_THE_DEMO = (
    "Free skating",
    "Short program",
    "Harbour Cup",
    "Invented",
    "invented",
    "Tavi",
    "Ostrelle",
    "Vanja",
    "Halvemar",
    "Ylva",
    "Brandaro",
    "seven passes",
    "with less at the start",
    "long back outside edge into the corner",
    "long back outside edge",
    "inside spread eagle",
    "spread eagle",
    "three-turn",
    "mohawk",
    "tap high",
    "swing through",
    "up first",
    "laptop",
)
"""Words that stand for a user's own: names, entries, cues."""
SOURCE = re.compile(
    r"\b(Handbook|Communications?|slides|[Rr]ules?|sheets|[Ss]tated|Press|Congress|requirements?|announcements"
    r"|confidence|magazine|[Rr]eview|Sports|Academy|taken over|not read|looked at|Quarter|take-off|unit|skaters"
    r"|Not read|place|sheet|listed jump)\b"
)
"""Titles of documents, their paragraphs and the notes of the rule data, kept in the language of the source."""
QUOTED_ON = (
    "/rulebooks",
    "/skaters/1/load",
    "/layouts/",
    "/skaters/1/view",
    "/data",
    "/backups",
    "/how-we-know",
)
"""Pages that quote sources, show a folder's path or name tests and files."""
PLACE = re.compile(r"(/\w+){2,}\S*|(tests|templates)/\S*|\S+\.(py|md|html|toml)\S*")
CODE = re.compile(
    r"\b((F?C?(Co|C|S|L|U)?Sp|StSq|ChSq|ChSp)\d?[BV]?)+([0-9.,]*)|\+?\b(COMBO|REP|SEQ)\b|[1-5]?(Lz|Lo|Eu)[e!q<]*(?![a-z])"
)
MONTH = re.compile(r"\b(janv|févr|mars|avr|mai|juin|juil|août|sept|oct|nov|déc)\b\.?")
COLUMNS = "date, element, entry, place, result, count"
"""The names of columns in a file of attempts."""
CUE = re.compile(r"“[^”]*”")
WORD = re.compile(r"[A-Za-z]{3,}")
PROGRESS = 'hx-trigger="every 500ms"'
LONGEST_WAIT = 240.0
"""Seconds for the pages that reckon something first; they take a few on an idle machine."""


def english(texts: list[str], path: str) -> list[str]:
    """What of these texts is neither name nor code nor quotation."""
    found = []
    for text in texts:
        if path.startswith(QUOTED_ON) and SOURCE.search(text):
            continue
        left = CUE.sub(" ", text)
        for pattern in (PLACE, CODE, MONTH):
            left = pattern.sub(" ", left)
        for name in (*OF_THE_DEMO, *ISSUERS, *sorted(LEVELS, key=len, reverse=True), *OFFICIAL, COLUMNS):
            left = left.replace(name, " ")
        if text not in OWN_NAMES and WORD.search(left):
            found.append(text)
    return found


@pytest.fixture
def reader(demo_laptop: TestClient) -> Iterator[TestClient]:
    """The laptop's browser, reading in the language nobody speaks; the device has chosen one that is not English."""
    demo_laptop.cookies.set(COOKIE, "fr")
    demo_laptop.follow_redirects = True
    with speaking():
        yield demo_laptop


def read(reader: TestClient, path: str) -> str:
    """A page, once it has been reckoned."""
    until = time.monotonic() + LONGEST_WAIT
    while PROGRESS in (page := reader.get(path).text) and time.monotonic() < until:
        assert english(outside(page), path) == [], "while reckoning"
        time.sleep(0.5)
    return page


def test_every_page_speaks_through_the_catalogue_alone(reader: TestClient) -> None:
    """One walk over all of them: the invented skater is made once."""
    said = {path: english(outside(read(reader, path)), path) for path in PAGES}
    assert {path: found for path, found in said.items() if found} == {}


CHOICES = ("checkbox", "radio", "file")


class _Forms(HTMLParser):
    """The forms of a page: where each goes, and what its hidden fields and first choices send."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[tuple[str, dict[str, str]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A form begins, or one of its fields."""
        found = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append((found.get("action") or found.get("hx-post", ""), {}))
        elif (
            tag in ("input", "button") and self.forms and "name" in found and found.get("type") not in CHOICES
        ):
            self.forms[-1][1].setdefault(found["name"], found.get("value", ""))


def forms(page: str) -> list[tuple[str, dict[str, str]]]:
    reading = _Forms()
    reading.feed(page)
    return reading.forms


def test_a_program_speaks_through_the_catalogue_alone(reader: TestClient) -> None:
    """From the start to the last pass, every tap of the pad's first form; then the program as a whole, and hurt."""
    sent = next(fields for action, fields in forms(read(reader, "/layouts/1")) if action == "/live")
    page = reader.post("/live", data=sent | {"kind": "run-through"})
    address = page.url.path
    assert page.status_code == 200
    passes = 0
    for _ in range(8):
        assert english(outside(page.text), "/live") == []
        tapped = next(((a, sent) for a, sent in forms(page.text) if a.endswith("/pass")), None)
        if tapped is None:
            break
        reader.post(tapped[0], data=tapped[1])
        passes += 1
        page = reader.get(address)
    assert passes == 6, "the invented program has six"
    for path in (f"{address}/passes", f"{address}/review", f"{address}/aim", f"{address}/big", address):
        assert english(outside(reader.get(path).text), "/live") == [], path


REFUSED = (
    (
        "/skaters/1/limits",
        {"threshold": "x", "most_changes": "2", "trained_attempts": "1", "trained_within_days": "1"},
    ),
    ("/skaters/1/layouts", {"name": "", "edition": "isu/2026-27/senior/women/free", "lines": ""}),
    ("/skaters/1/layouts", {"name": "x", "edition": "isu/2026-27/senior/women/free", "lines": "0:10 3Q"}),
    ("/skaters/1/log/table", {"text": "a,b"}),
    ("/live/999/pass", {"number": "1", "event_id": "e"}),
    ("/language", {"language": "xx"}),
)
"""Forms nobody can use as they are filled in."""


def test_what_goes_wrong_is_said_through_the_catalogue(reader: TestClient) -> None:
    for path, sent in REFUSED:
        page = reader.post(path, data=sent)
        assert page.status_code in (404, 422), path
        assert OPEN in page.text, path
        said = [one for one in english(outside(page.text), path) if not set(one.split()) <= QUOTES_BACK]
        assert said == [], path


QUOTES_BACK = {
    "threshold'x'",
    "'3Q''3Q'",
    "'xx'enfrdejakoruit",
    "'xx'",
    "xx",
    "threshold",
    "tap",
    "language",
    "code",
    "name",
    "lines",
    "3Q",
    "element",
    "result",
    "date",
}
"""What was typed, and names of fields, as they come back in an error."""


def test_english_outside_is_found() -> None:
    """The finder itself: in text, attributes and drawings, and not in scripts or names."""
    assert outside(
        '<p>⟦said⟧ Hidden</p><p aria-label="Hidden too">⟦a <b>b</b>⟧</p><script>var x</script>'
    ) == ["Hidden", "Hidden too"]
    assert english(["Hidden words", "3Lz+3T", "Tavi Ostrelle (invented)"], "/") == ["Hidden words"]
