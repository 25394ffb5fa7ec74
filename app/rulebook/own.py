"""A rulebook of one's own: a copy of an edition with changed numbers, each checked as it is typed.

A number is found by its path in the tables, `repeats.classes.0.executions`. A table with a changed number says so:
certainty "your own", and where it stood before.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from types import UnionType
from typing import Any, Literal, get_args, get_origin

from pydantic import ValidationError

from app.domain.points import Points, read_points, show
from app.domain.typed import with_point
from app.domain.words import clauses, figure, of_the_data, say
from app.errors import InputError
from app.rulebook.editions import OWN, Edition
from app.rulebook.own_words import LEFT_OUT, POINTS, label, plain, together
from app.rulebook.schema import Rules
from app.rulebook.table import Table
from app.rulebook.values import ValueTable

Kind = Literal["number", "factor", "points", "yes or no", "numbers", "names", "choice"]
MOST_LETTERS = 40
JUMP = re.compile(r"[1-5](T|S|Lo|F|Lz|A)")
CALLS = ("q", "<", "<<", "!", "e", "*")
YES = {"yes": True, "no": False}
OWN_DOCUMENT = "Your own rulebook"
BEFORE = "changed by you; before: "


@dataclass(frozen=True, slots=True)
class OwnField:
    """One changeable number: its path, what it is called, how it is written, what is expected."""

    path: str
    label: str
    kind: Kind
    text: str
    expected: str
    choices: tuple[str, ...] = ()
    may_be_empty: bool = False

    @property
    def table(self) -> str:
        return self.path.split(".")[0]


@dataclass(frozen=True, slots=True)
class Draft:
    """A changed copy. `edition`: None while something is wrong; `faults`: path -> what was given and expected.

    `changed`: the paths whose number moved.
    """

    edition: Edition | None
    faults: Mapping[str, str] = field(default_factory=dict)
    changed: tuple[str, ...] = ()


def own_fields(book: Edition) -> tuple[OwnField, ...]:
    """Everything that can be changed on a form, table by table."""
    found = [
        one
        for name, table in book.rules
        if isinstance(table, Table)
        for one in _of_table(book.rules, name, table)
    ]
    for name, switch in book.rules.switches.items():
        readings = tuple(switch.readings)
        now = book.reading(name) or switch.default
        found.append(
            OwnField(
                f"switches.{name}", of_the_data(switch.question), "choice", now, _one_of(readings), readings
            )
        )
    return tuple(found)


def _of_table(rules: Rules, path: str, table: Table) -> Iterator[OwnField]:
    for name, info in type(table).model_fields.items():
        here, value = f"{path}.{name}", getattr(table, name)
        if name in LEFT_OUT or plain(here) in LEFT_OUT:
            continue
        parts = get_args(info.annotation) if isinstance(info.annotation, UnionType) else (info.annotation,)
        yield from _of_value(rules, here, value, parts[0], info.metadata, type(None) in parts)


def _of_value(
    rules: Rules, path: str, value: Any, kind: Any, limits: Iterable[Any], optional: bool
) -> Iterator[OwnField]:
    if plain(path) == "falls.each":
        yield from (_field(rules, f"{path}.{place}", "points", show(one)) for place, one in enumerate(value))
    elif plain(path) == "grades.steps":
        yield from (_field(rules, f"{path}.{code}", "points", show(one)) for code, one in value.items())
    elif get_origin(kind) is tuple:
        yield from _of_list(rules, path, value, get_args(kind)[0])
    elif get_origin(kind) is Literal:
        yield _field(rules, path, "choice", value, get_args(kind))
    elif kind is bool:
        yield _field(rules, path, "yes or no", "yes" if value else "no", tuple(YES))
    elif kind is float:
        yield _field(rules, path, "factor", f"{value:g}")
    elif kind is int:
        yield _of_number(rules, path, value, limits, optional)


def _of_list(rules: Rules, path: str, value: tuple[Any, ...], kind: Any) -> Iterator[OwnField]:
    if kind in (int, str):
        yield _field(rules, path, "numbers" if kind is int else "names", ", ".join(map(str, value)))
        return
    for place, row in enumerate(value):
        if isinstance(row, Table):
            yield from _of_table(rules, f"{path}.{place}", row)


def _of_number(rules: Rules, path: str, value: int | None, limits: Iterable[Any], optional: bool) -> OwnField:
    if plain(path) in POINTS:
        return _field(rules, path, "points", "" if value is None else show(value), empty=optional)
    return _field(
        rules, path, "number", "" if value is None else str(value), empty=optional, within=_within(limits)
    )


def _field(
    rules: Rules,
    path: str,
    kind: Kind,
    text: str,
    choices: tuple[str, ...] = (),
    empty: bool = False,
    within: str = "",
) -> OwnField:
    expected = {
        "number": within,
        "factor": say("a factor above 0, such as %(example)s", example=figure(1.33, 2)),
        "points": say("points such as %(example)s", example=figure(1, 2)),
        "yes or no": say("yes or no"),
        "numbers": say("numbers of revolutions, such as 2, 3"),
        "names": say("calls such as <, <<, e")
        if plain(path) == "bonuses.void_calls"
        else say("jumps such as 2T, 3Lo"),
        "choice": _one_of(choices),
    }[kind]
    expected = say("%(what)s, or nothing", what=expected) if empty else expected
    return OwnField(path, label(rules, path), kind, text, expected, choices, empty)


def _one_of(choices: Iterable[str]) -> str:
    return say("one of: %(choices)s", choices=clauses(choices))


def _within(limits: Iterable[Any]) -> str:
    """`a whole number from 1 to 12`, out of pydantic's limits."""
    low = high = None
    for one in limits:
        low = getattr(one, "ge", low)
        low = one.gt + 1 if hasattr(one, "gt") else low
        high = getattr(one, "le", high)
    if low is None and high is None:
        return say("a whole number")
    if low is None:
        return say("a whole number to %(high)s", high=high)
    if high is None:
        return say("a whole number from %(low)s", low=low)
    return say("a whole number from %(low)s to %(high)s", low=low, high=high)


def changed(book: Edition, given: Mapping[str, str]) -> Draft:
    """A copy of `book` with these numbers (path -> as written); what is not named stays.

    Every fault is reported at its own field; a fault of several numbers together stands at each of them that moved.
    """
    stated: dict[str, Any] = book.rules.model_dump()
    faults: dict[str, str] = {}
    moved: list[str] = []
    for one in own_fields(book):
        text = " ".join(given.get(one.path, one.text).split())
        text = with_point(text) if one.kind in ("factor", "points") else text
        if text == one.text:
            continue
        try:
            _put(stated, one.path.split("."), _read(one, text))
            moved.append(one.path)
        except ValueError:
            faults[one.path] = say(
                "%(given)s given; expected %(expected)s", given=repr(text), expected=one.expected
            )
    for table in {path.split(".")[0] for path in moved} - {"switches"}:
        _own_source(stated[table])
    try:
        rules = Rules.model_validate(stated)
    except ValidationError as error:
        faults |= _faults(book, error, moved, given)
    if faults:
        return Draft(None, faults, tuple(moved))
    return Draft(replace(book, rules=rules, settings={}), {}, tuple(moved))


def _own_source(table: dict[str, Any]) -> None:
    if table["certainty"] != "your own":
        table["paragraph"] = f"{BEFORE}{table['document']}, {table['paragraph']}"
        table["document"], table["certainty"] = OWN_DOCUMENT, "your own"


def _read(one: OwnField, text: str) -> Any:
    """What was written, as the table keeps it. Raises ValueError."""
    if not text and one.may_be_empty:
        return None
    match one.kind:
        case "number":
            return _whole(text)
        case "factor":
            return _factor(text)
        case "points":
            return read_points(text)
        case "yes or no":
            return _chosen(text, YES)
        case "numbers":
            return tuple(_whole(part) for part in _parts(text))
        case "names":
            known = CALLS if one.path == "bonuses.void_calls" else None
            return tuple(_name(part, known) for part in _parts(text))
        case "choice":
            return _chosen(text, {choice: choice for choice in one.choices})


def _whole(text: str) -> int:
    if not re.fullmatch(r"-?[0-9]{1,4}", text):
        raise ValueError(text)
    return int(text)


def _factor(text: str) -> float:
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,4})?", text):
        raise ValueError(text)
    return float(text)


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _name(text: str, known: tuple[str, ...] | None) -> str:
    if (text not in known) if known else not JUMP.fullmatch(text):
        raise ValueError(text)
    return text


def _chosen(text: str, choices: Mapping[str, Any]) -> Any:
    if text not in choices:
        raise ValueError(text)
    return choices[text]


def _put(stated: Any, parts: list[str], value: Any) -> None:
    """Put a value where a path says; lists of tables come as tuples, so they are made anew on the way."""
    if parts[0] == "switches":
        stated["switches"][parts[1]]["default"] = value
        return
    head, rest = parts[0], parts[1:]
    key: Any = int(head) if isinstance(stated, list) else head
    if rest and isinstance(stated[key], tuple):
        stated[key] = list(stated[key])
    if rest:
        _put(stated[key], rest, value)
    else:
        stated[key] = value


def _faults(
    book: Edition, error: ValidationError, moved: list[str], given: Mapping[str, str]
) -> dict[str, str]:
    expected = {one.path: one.expected for one in own_fields(book)}
    found: dict[str, str] = {}
    for one in error.errors():
        place = ".".join(str(part) for part in one["loc"])
        if place in moved:
            found[place] = say(
                "%(given)s given; expected %(expected)s",
                given=repr(given[place]),
                expected=expected[place],
            )
            continue
        message = one["msg"].removeprefix("Value error, ")
        near = [path for path in moved if not place or f"{path}.".startswith(f"{place}.")]
        named = [path for path in near if re.search(rf"\b{path.split('.')[-1]}\b", message)]
        exact = [path for path in named if plain(path) in message]
        for path in exact or named or near or moved:
            found.setdefault(path, together(path.split(".")[0], message))
    return found


def with_values(book: Edition, shipped: ValueTable, own: Mapping[tuple[str, str], Points]) -> Edition:
    """The edition with base values of one's own in place of the published ones; all others as published.

    Raises InputError for a code or variant the published table does not have.
    """
    for code, variant in own:
        shipped.value(code, variant)
    moved = {key: points for key, points in own.items() if points != shipped.rows[key]}
    sources = {key: f"{OWN_DOCUMENT}; published: {show(shipped.rows[key])}" for key in moved}
    values = ValueTable(shipped.name, {**shipped.rows, **moved}, {**shipped.sources, **sources})
    return replace(book, values=values)


def own_values(book: Edition, shipped: ValueTable) -> dict[tuple[str, str], Points]:
    """The base values that are not the published ones."""
    return {key: points for key, points in book.values.rows.items() if shipped.rows.get(key) != points}


def slug_of(title: str) -> str:
    """The name of an own rulebook inside addresses: "Club Cup 2027" -> `club-cup-2027`. Raises InputError."""
    plain_letters = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    slug = "-".join(re.findall(r"[a-z0-9]+", plain_letters))
    if not slug or len(title) > MOST_LETTERS:
        raise InputError(
            "title",
            say(
                "%(given)s given; expected a name of 1 to %(most_letters)s letters and digits",
                given=repr(title),
                most_letters=MOST_LETTERS,
            ),
        )
    return slug


def named(book: Edition, title: str, version: int) -> Edition:
    """The edition as version `version` of the rulebook called `title`. Raises InputError."""
    name = f"{OWN}/{slug_of(title)}/{version}/{book.discipline}/{book.segment}"
    return replace(book, name=name, title=title.strip(), copied_from=book.copied_from or book.name)


def version_of(name: str) -> int:
    """The version in the name of an own rulebook."""
    return int(name.split("/")[2])


def newer(name: str, known: Iterable[str]) -> str:
    """The newest version of an own rulebook among `known`; "" where `name` is the newest."""
    family = _family(name)
    if not family:
        return ""
    later = [one for one in known if _family(one) == family and version_of(one) > version_of(name)]
    return max(later, key=version_of, default="")


def _family(name: str) -> tuple[str, ...]:
    """Everything in the name but the version; empty for what is nobody's own."""
    parts = name.split("/")
    return (parts[1], *parts[3:]) if parts[0] == OWN else ()
