"""The form of a rulebook of one's own: every number of a copy, with what is expected and what is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.domain.points import Points, read_points, show
from app.domain.typed import with_point
from app.domain.words import say
from app.errors import InputError
from app.rulebook.editions import Edition, value_tables
from app.rulebook.own import Draft, OwnField, changed, own_fields, own_values, with_values
from app.rulebook.own_words import TABLES
from app.rulebook.season_diff import rule_differences
from app.web.views.home import edition_words

MOST_LINES = 200


@dataclass(frozen=True, slots=True)
class FieldView:
    """One number on the form. `choices`: empty for what is typed; `fault`: what was given and what is expected.

    `was`: the number of the source, where another one was typed; `expected` stands under the field.
    """

    path: str
    id: str
    label: str
    text: str
    expected: str
    choices: tuple[str, ...]
    fault: str
    was: str


@dataclass(frozen=True, slots=True)
class FieldsOf:
    """The numbers of one matter; `open`: something in it was changed or is wrong."""

    heading: str
    fields: tuple[FieldView, ...]
    open: bool


@dataclass(frozen=True, slots=True)
class OwnView:
    """The form. `source`: the edition that is copied; `title_fault`, `values_fault`: what is wrong with those two."""

    source: str
    source_words: str
    title: str
    title_fault: str
    tables: tuple[FieldsOf, ...]
    values: str
    values_fault: str
    faults: int


@dataclass(frozen=True, slots=True)
class CheckView:
    """What is said of one field while it is typed: a fault, or the rule as it now reads."""

    id: str
    fault: str
    says: tuple[str, ...]
    expected: str


def own_view(
    book: Edition,
    given: Mapping[str, str] | None = None,
    title: str = "",
    values: str | None = None,
    title_fault: str = "",
    values_fault: str = "",
) -> OwnView:
    """The form for a copy of `book`, empty or as it was sent."""
    draft = changed(book, given or {})
    tables = tuple(
        FieldsOf(TABLES[table], fields, any(one.fault or one.was for one in fields))
        for table, fields in _by_table(book, given or {}, draft).items()
    )
    return OwnView(
        source=book.name,
        source_words=edition_words(book.name),
        title=title or (book.title if book.is_own else ""),
        title_fault=title_fault,
        tables=tables,
        values=values_text(book) if values is None else values,
        values_fault=values_fault,
        faults=len(draft.faults) + bool(title_fault) + bool(values_fault),
    )


def _by_table(book: Edition, given: Mapping[str, str], draft: Draft) -> dict[str, tuple[FieldView, ...]]:
    fields = own_fields(book)
    found = {}
    for table in TABLES:
        mine = tuple(_field(one, given, draft) for one in fields if one.table == table)
        if mine:
            found[table] = mine
    return found


def _field(one: OwnField, given: Mapping[str, str], draft: Draft) -> FieldView:
    text = given.get(one.path, one.text)
    moved = text.strip() != one.text
    return FieldView(
        one.path,
        field_id(one.path),
        one.label,
        text,
        one.expected,
        one.choices,
        draft.faults.get(one.path, ""),
        (one.text or say("nothing")) if moved else "",
    )


def field_id(path: str) -> str:
    """The name of a field within the page."""
    return "f-" + "".join(sign if sign.isalnum() else "-" for sign in path)


def check_view(book: Edition, path: str, given: Mapping[str, str]) -> CheckView:
    """One field beside all others of the form. Raises InputError for a field this edition does not have."""
    field = next((one for one in own_fields(book) if one.path == path), None)
    if field is None:
        raise InputError(
            say("field"), say("%(given)s given; expected a number of this rulebook", given=repr(path[:60]))
        )
    draft = changed(book, given)
    fault = draft.faults.get(path, "")
    if fault or draft.edition is None:
        return CheckView(field_id(path), fault, (), field.expected)
    says = tuple(one.words for one in rule_differences(book, draft.edition) if one.table == field.table)
    return CheckView(field_id(path), "", says, field.expected)


def values_text(book: Edition) -> str:
    """Base values of one's own, one a line, as they are typed."""
    own = own_values(book, value_tables()[book.values.name])
    return "\n".join(f"{code} {variant} {show(points)}" for (code, variant), points in sorted(own.items()))


def read_values(text: str) -> dict[tuple[str, str], Points]:
    """Lines such as `3Lz 6.10` or `3Lz < 4.80`. Raises InputError naming the line."""
    lines = [line.split() for line in text.splitlines() if line.strip()]
    if len(lines) > MOST_LINES:
        raise InputError(
            say("values"),
            say(
                "%(given)s lines given; expected at most %(most)s",
                given=len(lines),
                most=MOST_LINES,
            ),
        )
    found: dict[tuple[str, str], Points] = {}
    for number, words in enumerate(lines, start=1):
        expected = say("expected a code, perhaps a call, and points, such as 3Lz 6.10 or 3Lz < 4.80")
        if not 2 <= len(words) <= 3:
            raise InputError(
                say("line %(number)s", number=number),
                say("%(given)s given; %(expected)s", given=repr(" ".join(words)), expected=expected),
            )
        try:
            points = read_points(with_point(words[-1]))
        except ValueError:
            points = -1
        if not 0 <= points <= 99_99:
            raise InputError(
                say("line %(number)s", number=number),
                say("%(given)s given; %(expected)s", given=repr(" ".join(words)), expected=expected),
            )
        variant = words[1] if len(words) == 3 else "clean" if words[0][0].isdigit() else "V"
        found[words[0], variant] = points
    return found


def values_of(book: Edition, text: str) -> dict[tuple[str, str], Points]:
    """Base values of one's own, each of a code the published table has. Raises InputError naming the line or code."""
    found = read_values(text)
    with_values(book, value_tables()[book.values.name], found)
    return found


def made(book: Edition, given: Mapping[str, str], values: str) -> Edition:
    """The copy with its changed numbers and base values. Raises InputError naming the first fault."""
    draft = changed(book, given)
    if draft.edition is None:
        path, fault = next(iter(draft.faults.items()))
        label = next((one.label for one in own_fields(book) if one.path == path), path)
        raise InputError(label, fault)
    return with_values(draft.edition, value_tables()[book.values.name], values_of(book, values))
