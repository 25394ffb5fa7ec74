"""The rulebook screens: choosing an edition, and reading one: rules, disputed readings, base values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from app import engine
from app.domain.points import show
from app.domain.rulings import RuleRef
from app.domain.words import listed, of_the_data, say
from app.rulebook.editions import Edition
from app.rulebook.own import newer
from app.rulebook.own_words import TABLES
from app.rulebook.sentences import RuleSentence, sentences
from app.storage.records import LayoutRecord
from app.web.views.editions import grouped
from app.web.views.home import DISCIPLINES, LEVELS, edition_words

ANY = ""
MOST_ROWS = 60
"""Codes shown at once; a filter finds the others."""
MOST_OPEN = 12
"""Editions that stand in a list unfolded; more are folded by federation and season."""
PARTS = ("federation", "season", "level", "discipline", "segment")
PART_WORDS: Mapping[str, str] = {
    "federation": say("Federation"),
    "season": say("Season"),
    "level": say("Level"),
    "discipline": say("Discipline"),
    "segment": say("Segment"),
}
ISSUERS = {"isu": "ISU", "usa": "USA", "own": say("own"), "club": say("club")}


@dataclass(frozen=True, slots=True)
class SourceView:
    """Where a rule stands and how sure we are: a word, and `shape`, the class that draws its sign."""

    where: str
    sure: str
    shape: str


@dataclass(frozen=True, slots=True)
class RuleGroup:
    """Rules as plain sentences that stand in the same place; `note` says what is odd or unsure about them."""

    rules: tuple[str, ...]
    source: SourceView
    note: str


@dataclass(frozen=True, slots=True)
class TableView:
    """The rules of one matter."""

    heading: str
    groups: tuple[RuleGroup, ...]


@dataclass(frozen=True, slots=True)
class ReadingView:
    """One reading of a disputed rule; `taken`: the one in force here."""

    words: str
    source: SourceView
    taken: bool


@dataclass(frozen=True, slots=True)
class DisputeView:
    """A disputed rule: the question and every reading."""

    question: str
    readings: tuple[ReadingView, ...]


@dataclass(frozen=True, slots=True)
class ValueView:
    """The base values of one code: the clean one large, the variants behind it; `own`: a number of one's own."""

    code: str
    clean: str
    variants: str
    own: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """One entry of a choice: its value, in words, whether it is chosen."""

    value: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class RulebookView:
    """One edition to read. `asked`: the filter of the value table; `found`: how many codes fit it; `newer`: a later
    version of an own rulebook; `others`, `layouts`: what it may be compared with and for which layout.
    """

    name: str
    words: str
    is_own: bool
    copied_from: str
    tables: tuple[TableView, ...]
    disputes: tuple[DisputeView, ...]
    values: tuple[ValueView, ...]
    values_of: str
    values_source: SourceView
    asked: str
    found: int
    newer: str
    others: tuple[Choice, ...]
    layouts: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class SelectView:
    """One question of the chooser and its choices."""

    name: str
    label: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class BookCard:
    """One edition in a list."""

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class BookGroup:
    """The editions of one federation and season; `is_open`: few enough to stand there unfolded."""

    label: str
    books: tuple[BookCard, ...]
    is_open: bool


@dataclass(frozen=True, slots=True)
class RulebooksView:
    """The chooser: five questions, the `count` editions that fit, the rulebooks of one's own.

    `narrowed`: something was asked; `fault`: what an import said.
    """

    selects: tuple[SelectView, ...]
    narrowed: bool
    count: int
    groups: tuple[BookGroup, ...]
    own: tuple[BookCard, ...]
    fault: str


def rulebooks_view(asked: dict[str, str], fault: str = "") -> RulebooksView:
    """Editions that fit what was asked (part -> value, "" for any), newest first."""
    books = [engine.edition(name) for name in engine.editions()]
    shipped = [one for one in books if not one.is_own]
    selects = tuple(
        SelectView(
            part,
            PART_WORDS[part],
            (Choice(ANY, say("any"), not asked.get(part)), *_choices(shipped, part, asked.get(part, ""))),
        )
        for part in PARTS
    )
    fits = [
        one
        for one in shipped
        if all(not asked.get(part) or getattr(one, part) == asked[part] for part in PARTS)
    ]
    own = sorted((one for one in books if one.is_own), key=lambda one: _own_order(one.name), reverse=True)
    few = len(fits) <= MOST_OPEN
    groups = tuple(BookGroup(label, _cards(some), few) for label, some in grouped(fits))
    return RulebooksView(selects, any(asked.values()), len(fits), groups, _cards(own), fault)


def _own_order(name: str) -> tuple[str, int]:
    return name.split("/")[1], int(name.split("/")[2])


def _cards(books: Iterable[Edition]) -> tuple[BookCard, ...]:
    return tuple(BookCard(one.name, edition_words(one.name)) for one in books)


def _choices(books: Sequence[Edition], part: str, chosen: str) -> tuple[Choice, ...]:
    values = sorted({getattr(one, part) for one in books}, reverse=part == "season")
    return tuple(Choice(value, _part_words(part, value), value == chosen) for value in values)


def _part_words(part: str, value: str) -> str:
    if part == "season":
        return value.replace("-", "/")
    if part == "federation":
        return ISSUERS.get(value, value.capitalize())
    if part == "segment":
        return {"free": say("free skating"), "short": say("short program")}.get(value, value)
    words = value.replace("-", " ")
    return LEVELS.get(words) or DISCIPLINES.get(words) or (say("all together") if value == "all" else words)


def rulebook_view(book: Edition, asked: str, layouts: Sequence[tuple[str, LayoutRecord]]) -> RulebookView:
    """An edition in plain sentences. `layouts`: those it may be tried on, each with its skater's name."""
    said = [one for one in sentences(book) if one.table != "switches"]
    values = _values(book, asked)
    return RulebookView(
        name=book.name,
        words=edition_words(book.name),
        is_own=book.is_own,
        copied_from=_origin(book),
        tables=_tables(said),
        disputes=_disputes(book),
        values=values[:MOST_ROWS],
        values_of=book.values.name.replace("-", "/"),
        values_source=source_view(book.rules.values.ref),
        asked=asked,
        found=len(values),
        newer=newer(book.name, engine.editions()),
        others=comparable(book),
        layouts=layout_choices(layouts),
    )


def _origin(book: Edition) -> str:
    known = book.copied_from in engine.editions()
    return edition_words(book.copied_from) if known else ""


CERTAINTY_WORDS: Mapping[str, str] = {
    "read": say("read"),
    "second-hand": say("second-hand"),
    "inferred": say("inferred"),
    "memory": say("memory"),
    "your own": say("your own"),
}


def source_view(ref: RuleRef) -> SourceView:
    """A source with its certainty in a word and a shape."""
    return SourceView(str(ref), CERTAINTY_WORDS[ref.certainty], "sure-" + ref.certainty.replace(" ", "-"))


def _tables(said: Sequence[RuleSentence]) -> tuple[TableView, ...]:
    found = []
    for table, heading in TABLES.items():
        groups: dict[tuple[SourceView, str], list[str]] = {}
        for one in said:
            if one.table == table:
                groups.setdefault((source_view(one.source), one.note), []).append(one.words)
        if groups:
            rules = tuple(RuleGroup(tuple(words), *key) for key, words in groups.items())
            found.append(TableView(heading, rules))
    return tuple(found)


def _disputes(book: Edition) -> tuple[DisputeView, ...]:
    return tuple(
        DisputeView(
            of_the_data(switch.question),
            tuple(
                ReadingView(
                    of_the_data(one.sentence),
                    source_view(RuleRef(one.document, one.paragraph, one.certainty)),
                    name == book.reading(switch_name),
                )
                for name, one in switch.readings.items()
            ),
        )
        for switch_name, switch in book.rules.switches.items()
    )


def _values(book: Edition, asked: str) -> tuple[ValueView, ...]:
    """Codes that hold what was asked, jumps first; nothing asked: the clean jumps."""
    wanted = asked.strip().lower()
    by_code: dict[str, dict[str, int]] = {}
    for (code, variant), points in book.values.rows.items():
        if wanted in code.lower() and (wanted or code[0].isdigit()):
            by_code.setdefault(code, {})[variant] = points
    own = {code for (code, _), source in book.values.sources.items() if source.startswith("Your own")}
    return tuple(
        ValueView(
            code,
            show(rows["clean"]) if "clean" in rows else "",
            listed(
                say("%(what)s %(points)s", what=variant, points=show(points))
                for variant, points in rows.items()
                if variant != "clean"
            ),
            code in own,
        )
        for code, rows in sorted(by_code.items(), key=lambda one: (not one[0][0].isdigit(), one[0]))
    )


def comparable(book: Edition, chosen: str = "") -> tuple[Choice, ...]:
    """Editions to compare with: the same level in other seasons first, then the same segment, newest first."""
    books = [engine.edition(name) for name in engine.editions() if name != book.name]

    def near(one: Edition) -> tuple[bool, bool, bool, str]:
        same = (one.level, one.discipline, one.segment) == (book.level, book.discipline, book.segment)
        return (same, same and one.season < book.season, one.segment == book.segment, one.season)

    ordered = sorted(books, key=near, reverse=True)
    return tuple(Choice(one.name, edition_words(one.name), one.name == chosen) for one in ordered)


def layout_choices(layouts: Sequence[tuple[str, LayoutRecord]], chosen: int = 0) -> tuple[Choice, ...]:
    """Layouts to try a difference on; the first choice is none."""
    listed = [Choice(str(one.id), f"{name}: {one.name}", one.id == chosen) for name, one in layouts]
    return (Choice("0", say("no layout"), not chosen), *listed)
