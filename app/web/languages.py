"""The languages of the screens, their catalogues, and how a text, a number or a day is shown in one.

A catalogue is `data/words/<code>.po`, written with `scripts/words`, compiled in memory at its first use. What it lacks
is shown in English. The language of a request stands in a context variable, set by `app.web.tongue`.
"""

from __future__ import annotations

import gettext
from collections.abc import Mapping
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from html import escape
from io import BytesIO

from babel.core import Locale, negotiate_locale
from babel.dates import format_date
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.numbers import get_decimal_symbol

from app.domain.words import Figure, Text
from app.settings import PROJECT

CATALOGUES = PROJECT / "data" / "words"
ENGLISH = "en"


@dataclass(frozen=True, slots=True)
class Language:
    """A language by its code and its own name. `terms_only`: nothing but the trade's terms is translated.

    `checked`: a native speaker has read the catalogue. `space`: what stands between two sentences.
    """

    code: str
    name: str
    terms_only: bool = False
    checked: bool = False
    space: str = " "

    @property
    def page(self) -> str:
        """The language that most of a page is in, for its `lang`."""
        return ENGLISH if self.terms_only else self.code


class Day(str):
    """A day as English writes it, `25 November 2026`; shown as the reader's language does."""

    __slots__ = ("day",)

    day: date

    def __new__(cls, day: date) -> Day:
        """A day of the calendar."""
        made = super().__new__(cls, f"{day.day} {day:%B %Y}")
        made.day = day
        return made


LANGUAGES = {
    one.code: one
    for one in (
        Language("en", "English", checked=True),
        Language("fr", "Français"),
        Language("de", "Deutsch"),
        Language("ja", "日本語", space=""),
        Language("ko", "한국어", terms_only=True),
        Language("ru", "Русский", terms_only=True),
        Language("it", "Italiano", terms_only=True),
    )
}
"""Every language somebody can choose, by code."""

spoken: ContextVar[str] = ContextVar("spoken", default=ENGLISH)
"""The code of the language this request is answered in."""


def language() -> Language:
    """The language this request is answered in."""
    return LANGUAGES[spoken.get()]


def chosen(kept: str, usual: str, accepted: str) -> str:
    """The code of the language to use.

    1. What this device has chosen.
    2. What the coach has set for devices that have not.
    3. The first that the browser asks for and that is translated as a whole.
    4. English.
    """
    for code in (kept, usual):
        if code in LANGUAGES:
            return code
    whole = [one.code for one in LANGUAGES.values() if not one.terms_only]
    return negotiate_locale(_asked_for(accepted), whole, sep="-") or ENGLISH


def _asked_for(header: str) -> list[str]:
    """An Accept-Language header as codes, the most wanted first: `fr-CH, de;q=0.8` -> fr-CH, de."""
    found = []
    for place, row in enumerate(header.split(",")):
        code, _, rest = row.partition(";")
        quality = rest.strip().removeprefix("q=") if rest else "1"
        try:
            found.append((-float(quality), place, code.strip()))
        except ValueError:
            continue
    return [code for worth, _, code in sorted(found) if worth < 0 and code]


@lru_cache
def catalogue(code: str) -> gettext.NullTranslations:
    """The catalogue of a language; English has none and needs none."""
    file = CATALOGUES / f"{code}.po"
    if code == ENGLISH or not file.exists():
        return gettext.NullTranslations()
    compiled = BytesIO()
    with file.open("rb") as source:
        write_mo(compiled, read_po(source, locale=code))
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)


def translated(message: str, plural: str = "", count: int = 0) -> str:
    """A message of the catalogue in the reader's language, its places still open."""
    book = catalogue(spoken.get())
    return book.ngettext(message, plural, count) if plural else book.gettext(message)


def shown(value: object) -> object:
    """What a page shows of a value: texts translated, figures and days as the reader writes them, all else as it is."""
    if isinstance(value, Text):
        return _said(value)
    if isinstance(value, Figure):
        return value.replace(".", _decimal_sign(spoken.get()))
    if isinstance(value, Day):
        return format_date(value.day, "long", Locale.parse(_day_locale(language().page)))
    return value


def shown_text(value: str) -> str:
    """The same for a text that is sent as data."""
    return str(shown(value))


def written(value: str) -> str:
    """The same as it is written into a drawing: escaped."""
    return escape(shown_text(value))


def _said(text: Text) -> str:
    if spoken.get() == ENGLISH:
        return str(text)
    if text.parts:
        said = language().space.join(str(shown(one)) for one in text.parts)
        return said[:1].upper() + said[1:] if text.begins else said
    if not text.message:
        return str(text)
    return translated(text.message, text.many, text.number) % filled(text.values)


def filled(values: Mapping[str, object]) -> dict[str, object]:
    """Values ready to stand in a message."""
    return {name: shown(value) for name, value in values.items()}


@lru_cache
def _decimal_sign(code: str) -> str:
    return get_decimal_symbol(Locale.parse(code))


def _day_locale(code: str) -> str:
    """English days are written as in Britain: 25 November 2026."""
    return "en_GB" if code == ENGLISH else code
