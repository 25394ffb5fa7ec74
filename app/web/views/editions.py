"""Choosing a rulebook in a form: grouped by federation and season, the newest first, short enough for a phone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from app import engine
from app.domain.words import listed, say
from app.rulebook.editions import Edition
from app.web.views.home import edition_words, who_words

SEASONS_TO_PLAN = 2
"""Seasons of each federation that a new layout may choose from: older ones are there to check old sheets with."""


@dataclass(frozen=True, slots=True)
class EditionChoice:
    """A rulebook to choose: its name, in words, and whether it is the one chosen."""

    name: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class EditionGroup:
    """The rulebooks of one federation and season."""

    label: str
    choices: tuple[EditionChoice, ...]


def edition_groups(chosen: str, *, old: bool) -> tuple[EditionGroup, ...]:
    """Rulebooks to choose from: one's own first, then the newest season.

    Without `old` only the newest seasons of each federation, and the one chosen.
    """
    books = [engine.edition(name) for name in engine.editions()]
    if not old:
        books = [one for one in books if one.is_own or one.name == chosen or _is_new(one, books)]
    return tuple(
        EditionGroup(
            label, tuple(EditionChoice(one.name, _short_words(one), one.name == chosen) for one in group)
        )
        for label, group in grouped(books)
    )


def grouped(books: Iterable[Edition]) -> list[tuple[str, list[Edition]]]:
    """Rulebooks by federation and season, one's own first, then the newest season, a heading for each group."""
    ordered = sorted(books, key=lambda one: (one.level, one.discipline, one.segment))
    ordered.sort(key=lambda one: one.federation)
    ordered.sort(key=lambda one: (one.is_own, one.season), reverse=True)
    return [(label, list(group)) for label, group in groupby(ordered, key=_group)]


def _group(one: Edition) -> str:
    return say("Your own") if one.is_own else f"{one.issuer} {one.season.replace('-', '/')}"


def _is_new(one: Edition, books: Iterable[Edition]) -> bool:
    seasons = sorted({other.season for other in books if other.federation == one.federation}, reverse=True)
    return one.season in seasons[:SEASONS_TO_PLAN]


def _short_words(one: Edition) -> str:
    """What tells a rulebook from its neighbours, first: a phone shows some 25 letters of it."""
    if one.is_own:
        return edition_words(one.name)
    segment = say("short") if one.is_short else say("free")
    return listed((segment, who_words(one), f"{one.issuer} {one.season.replace('-', '/')}"))
