"""An edition as one file, and back: TOML in the shape of `data/rules`, complete, so that it needs no other file.

    [file]
    title = "Club cup"
    issuer = "ISU"
    level_words = "senior"
    editions = ["senior/women/free"]           # exactly one
    copied_from = "isu/2026-27/senior/women/free"

    [common.boxes]                             # every table, with document, paragraph and certainty
    most = 6

    [[base_values]]                            # only base values that are not the published ones
    code = "3Lz"
    variant = "clean"
    base_value = "6.10"

Reading is as strict as for the shipped files: an unknown table or key is refused, by name.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

import tomli_w
from pydantic import Field, ValidationError

from app.domain.points import Points, read_points, show
from app.domain.words import say
from app.errors import InputError, RulebookError
from app.rulebook.editions import OWN, Edition
from app.rulebook.loader import FileHead, first_fault, layer_names, read_text
from app.rulebook.own import MOST_LETTERS, own_values, with_values
from app.rulebook.schema import Rules
from app.rulebook.table import Table
from app.rulebook.values import ValueTable

MOST_BYTES = 100_000
"""A complete rulebook takes about 8,000."""


class OwnHead(FileHead):
    """The `[file]` table of an own rulebook."""

    title: str = Field(min_length=1, max_length=MOST_LETTERS)
    issuer: str = Field(default="ISU", max_length=MOST_LETTERS)
    level_words: str = Field(default="", max_length=MOST_LETTERS)
    copied_from: str = Field(default="", max_length=120)


class OwnValue(Table):
    """One base value of one's own."""

    code: str
    variant: str
    base_value: str = Field(description="points as printed, 6.10")


class OwnValues(Table):
    """All of them."""

    base_values: tuple[OwnValue, ...] = ()


def file_text(book: Edition, shipped: ValueTable) -> str:
    """The edition as a file. Readings chosen away from the defaults become the defaults."""
    rules = book.rules.model_dump(mode="json", exclude_none=True)
    for name, switch in rules["switches"].items():
        switch["default"] = book.reading(name)
    level = (book.copied_from or book.name).split("/")[2]
    data: dict[str, Any] = {
        "file": {
            "title": book.title[:MOST_LETTERS],
            "issuer": book.issuer,
            "level_words": book.level_words,
            "editions": [f"{level}/{book.discipline}/{book.segment}"],
            "copied_from": book.copied_from or book.name,
        },
        "common": {name: table for name, table in rules.items() if table},
    }
    own = own_values(book, shipped)
    if own:
        data["base_values"] = [
            {"code": code, "variant": variant, "base_value": show(points)}
            for (code, variant), points in sorted(own.items())
        ]
    return tomli_w.dumps(data)


def read_file(text: str, tables: Mapping[str, ValueTable], file: str = "file") -> Edition:
    """A file as an edition; its name is still that of a copy, `own.named` gives it its own.

    Raises InputError naming file, table and row.
    """
    if len(text.encode("utf-8", "replace")) > MOST_BYTES:
        raise InputError(
            file,
            say(
                "more than %(given)s bytes given; a rulebook takes about 8,000",
                given=format(MOST_BYTES, ","),
            ),
        )
    try:
        return _read(text, tables, file)
    except RulebookError as error:
        raise InputError(error.where, error.problem) from None
    except RecursionError:
        raise InputError(
            file, say("tables within tables without end; expected a rulebook as exported here")
        ) from None


def _read(text: str, tables: Mapping[str, ValueTable], file: str) -> Edition:
    text, own = _without_values(text, file)
    head, layers = read_text(text, file, file, OwnHead)
    if len(head.editions) != 1 or head.based_on:
        raise InputError(
            f"{file}, table file",
            say(
                "%(count)s editions, based_on %(based_on)s; expected one edition that states every table",
                count=len(head.editions),
                based_on=repr(head.based_on),
            ),
        )
    (edition,) = head.editions
    stated: dict[str, Any] = {}
    for layer in layer_names(edition):
        stated |= layers.get(layer, {})
    try:
        rules = Rules.model_validate(stated)
    except ValidationError as error:
        raise RulebookError(f"{file}, edition {edition}", first_fault(error)) from None
    if rules.values.table not in tables:
        known = ", ".join(sorted(tables))
        raise InputError(
            f"{file}, table values",
            say("table %(table)s; expected one of %(known)s", table=repr(rules.values.table), known=known),
        )
    values = tables[rules.values.table]
    book = Edition(
        name=f"{OWN}/{rules.values.table}/{edition}",
        title=head.title,
        issuer=head.issuer,
        level_words=head.level_words or edition.split("/")[0].replace("-", " "),
        rules=rules,
        values=values,
        copied_from=_origin(head.copied_from, rules.values.table, edition, file),
    )
    try:
        return with_values(book, values, own)
    except InputError as error:
        raise InputError(f"{file}, table base_values", error.problem) from None


def _origin(copied_from: str, season: str, edition: str, file: str) -> str:
    """What it was copied from; season and level are read off it, so the parts must fit."""
    found = copied_from or f"{OWN}/{season}/{edition}"
    if found.split("/")[2:] != edition.split("/") or len(found.split("/")) != 5:
        expected = f"federation/season/{edition}"
        raise InputError(
            f"{file}, table file, row copied_from",
            say(
                "%(given)s given; expected %(expected)s",
                given=repr(copied_from),
                expected=expected,
            ),
        )
    return found


def _without_values(text: str, file: str) -> tuple[str, dict[tuple[str, str], Points]]:
    """The text without the base values of one's own, which no shipped rule file has, and those values."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RulebookError(file, f"not valid TOML: {error}") from None
    if "base_values" not in raw:
        return text, {}
    try:
        stated = OwnValues.model_validate({"base_values": raw.pop("base_values")})
    except ValidationError as error:
        raise RulebookError(file, first_fault(error)) from None
    found: dict[tuple[str, str], Points] = {}
    for place, one in enumerate(stated.base_values):
        where = f"{file}, table base_values, row {place}"
        try:
            points = read_points(one.base_value)
        except ValueError as error:
            raise InputError(where, say("base_value %(error)s", error=error)) from None
        if not 0 <= points <= 99_99 or (one.code, one.variant) in found:
            raise InputError(
                where,
                say(
                    "%(code)s %(variant)s %(base_value)s; expected 0 to 99.99, each code once",
                    code=one.code,
                    variant=one.variant,
                    base_value=one.base_value,
                ),
            )
        found[one.code, one.variant] = points
    return tomli_w.dumps(raw), found
