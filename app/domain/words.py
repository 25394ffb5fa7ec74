"""Texts for people, made where the facts are, put into the reader's language where they are shown.

A `Text` is a str, in English, and carries its message and the values in it; so lower layers know of no language.
`say("Pass %(number)s: %(element)s", number=3, element="3Lz")`. A message is a whole sentence with named places; what
goes into a place is a code, a number, a name, or another text that can stand by itself. Codes (`3Lz+3T`, `<<`, `+REP`)
are never translated. Building a text from pieces by hand (f-strings, `+`, `.lower()`) loses its message:
`sentences` puts whole ones behind each other, `listed` lists them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

NO_VALUES: Mapping[str, object] = {}


class Text(str):
    """English, and what it takes to say it in another language.

    `message`: the entry of the catalogue, with `%(name)s` places; `many`: its plural, chosen by `number`; `values`:
    what goes into the places. Or `parts`: whole texts, one after the other.
    """

    __slots__ = ("begins", "many", "message", "number", "parts", "values")

    message: str
    many: str
    number: int
    values: Mapping[str, object]
    parts: tuple[str, ...]
    begins: bool

    def __new__(
        cls,
        english: str,
        message: str = "",
        values: Mapping[str, object] = NO_VALUES,
        plural: tuple[str, int] = ("", 0),
        parts: tuple[str, ...] = (),
        begins: bool = False,
    ) -> Text:
        """Made by the functions below. `begins`: its first letter is a large one."""
        made = super().__new__(cls, english)
        made.message, made.values, made.parts, made.begins = message, values, parts, begins
        made.many, made.number = plural
        return made

    def __getnewargs__(self) -> tuple[str]:
        """For copies: the rest is state."""
        return (str(self),)


class Figure(str):
    """A number as English writes it, `+3.25`; shown with the decimal sign of the reader's language."""

    __slots__ = ()


def grouped(number: int) -> str:
    """A large whole number, its thousands set apart by a narrow space, which no language reads as a decimal sign.

    Source: ISO 80000-1:2022, 7.3.1, from memory.
    """
    return f"{number:,}".replace(",", "\u202f")


def say(message: str, /, **values: object) -> Text:
    """One message, usually a sentence. A percent sign in it is written `%%`."""
    return Text(message % values, message, values)


def entry(message: str) -> str:
    """A message of the catalogue that is said later, with its values: `say(FULL, where=file)`."""
    return message


def of_the_data(sentence: str) -> Text:
    """A sentence that stands in a file under `data/` which `scripts/words` reads."""
    return say(sentence.replace("%", "%%"))


def say_many(one: str, many: str, count: int, /, **values: object) -> Text:
    """A message that depends on a number, which may stand in it as `%(count)s`."""
    named = {"count": count, **values}
    return Text((one if count == 1 else many) % named, one, named, (many, count))


def read_as(english: str, message: str, /, **values: object) -> Text:
    """A message whose English is put another way than it, as no other language can: `english` is shown there."""
    return Text(english, message, values)


def begun(text: str) -> Text:
    """A text as it begins a sentence, its first letter large; so `3F` stays as it is."""
    return Text(text[:1].upper() + text[1:], parts=(text,), begins=True)


def sentences(*texts: str) -> Text:
    """Whole sentences one after the other; empty ones are left out. Empty when all are."""
    parts = tuple(one for one in texts if one)
    return Text(" ".join(parts), parts=parts)


def either(texts: Iterable[str]) -> str:
    """Several as "a, b or c"; empty without any."""
    return _joined(texts, lambda first, last: say("%(first)s or %(last)s", first=first, last=last))


def both(texts: Iterable[str]) -> str:
    """Several as "a, b and c"; empty without any."""
    return _joined(texts, lambda first, last: say("%(first)s and %(last)s", first=first, last=last))


def listed(texts: Iterable[str]) -> str:
    """Several as "a, b, c"; empty without any."""
    return _joined(texts, _beside)


def clauses(texts: Iterable[str]) -> str:
    """Several as "a; b; c", empty ones left out; empty without any."""
    rows = [one for one in texts if one]
    whole = rows[0] if rows else ""
    for one in rows[1:]:
        whole = say("%(first)s; %(last)s", first=whole, last=one)
    return whole


def ended(text: str) -> str:
    """A text with the full stop of a sentence; empty when it is."""
    return say("%(text)s.", text=text) if text else ""


def _beside(first: str, last: str) -> Text:
    return say("%(first)s, %(last)s", first=first, last=last)


def _joined(texts: Iterable[str], end: Callable[[str, str], Text]) -> str:
    rows = list(texts)
    whole = rows[0] if rows else ""
    for place, one in enumerate(rows[1:], start=2):
        whole = (end if place == len(rows) else _beside)(whole, one)
    return whole


def figure(number: float, digits: int = 1, *, signed: bool = False) -> Figure:
    """A number with so many digits behind the point: `figure(3.25, 1, signed=True)` is `+3.2`."""
    return Figure(f"{number:{'+' if signed else ''}.{digits}f}")
