"""Rulebooks of one's own, version by version, and editions as they were when something began to rest on them."""

from __future__ import annotations

import logging
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, func, select

from app.domain.words import say
from app.errors import InputError, RecoupError
from app.rulebook.editions import SHELF, Edition, Shelf, edition, value_tables
from app.rulebook.own import named, slug_of
from app.rulebook.own_file import file_text, read_file
from app.rulebook.snapshot import from_snapshot, snapshot_of
from app.storage import tables
from app.storage.missing import NotStored
from app.storage.writing import alone

log = logging.getLogger("recoup")
MOST_VERSIONS = 500
"""Of all own rulebooks together; a form sent by mistake over and over fills no disk."""


RESTING = (tables.Layout, tables.LiveProgram, tables.OfficialSheet)
"""What rests on a rulebook by its name; a test holds it to the columns there are."""


@dataclass(frozen=True, slots=True)
class OwnBook:
    """An own rulebook with all its versions. `rests`: how many things rest on one of them."""

    slug: str
    title: str
    versions: int
    rests: int


def _title(row: tables.OwnRulebook) -> str:
    """What its newest version is called; by its short name where the file cannot be read."""
    try:
        return read_file(row.text, value_tables()).title
    except RecoupError:
        return row.slug


class RulebookStore:
    """Own rulebooks only grow: a changed one is a new version, and old ones stay runnable."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, book: Edition, title: str, at: datetime) -> Edition:
        """Keep an edition as the next version of the own rulebook called `title`. Raises InputError."""
        slug = slug_of(title)
        table = tables.OwnRulebook
        # The write lock before the last version is read: two windows never get the same one.
        with alone(self._session, "own rulebooks"):
            if self._session.exec(select(func.count()).select_from(table)).one() >= MOST_VERSIONS:
                raise InputError(
                    say("title"),
                    say(
                        "%(most_versions)s versions are kept already; there is no room for more",
                        most_versions=MOST_VERSIONS,
                    ),
                )
            last = self._session.exec(select(func.max(table.version)).where(table.slug == slug)).one() or 0
            made = named(book, title, last + 1)
            said = file_text(made, value_tables()[made.values.name])
            self._session.add(table(slug=slug, version=last + 1, text=said, made_at=at))
        # Read back, so that what is on the shelf today is what the next start will find.
        found = named(read_file(said, value_tables()), title, last + 1)
        SHELF.own[found.name] = found
        return found

    def own_books(self) -> tuple[OwnBook, ...]:
        """Every own rulebook with all its versions as one, by name."""
        table = tables.OwnRulebook
        found: dict[str, list[tables.OwnRulebook]] = {}
        for row in self._session.exec(select(table).order_by(col(table.slug), col(table.version))):
            found.setdefault(row.slug, []).append(row)
        return tuple(
            OwnBook(slug, _title(all_of[-1]), len(all_of), self._rests(slug))
            for slug, all_of in found.items()
        )

    def delete(self, slug: str) -> None:
        """Delete every version of an own rulebook. Raises NotStored, InputError when something rests on it."""
        with alone(self._session, "rulebook"):
            for row in self._free(slug):
                self._session.delete(row)
            for kept in self._session.exec(select(tables.KeptRulebook)):
                if kept.edition.startswith(f"own/{slug}/"):
                    self._session.delete(kept)
        self.fill(SHELF)

    def rename(self, slug: str, title: str) -> None:
        """Another name for every version. Raises NotStored, InputError: something rests on it, or the name is taken."""
        new = slug_of(title)
        with alone(self._session, "rulebook"):
            rows = self._free(slug)
            taken = select(tables.OwnRulebook.id).where(tables.OwnRulebook.slug == new)
            if new != slug and self._session.exec(taken).first() is not None:
                raise InputError(
                    say("title"),
                    say(
                        "%(title)s is the name of another rulebook of yours; choose another",
                        title=repr(title),
                    ),
                )
            for row in rows:
                book = named(read_file(row.text, value_tables()), title, row.version)
                row.text, row.slug = file_text(book, value_tables()[book.values.name]), new
            for kept in self._session.exec(select(tables.KeptRulebook)):
                if kept.edition.startswith(f"own/{slug}/"):
                    self._session.delete(kept)
        self.fill(SHELF)

    def _free(self, slug: str) -> list[tables.OwnRulebook]:
        """Every version of a rulebook that nothing rests on."""
        rows = list(self._session.exec(select(tables.OwnRulebook).where(tables.OwnRulebook.slug == slug)))
        if not rows:
            raise NotStored(say("rulebook"), slug)
        rests = self._rests(slug)
        if rests:
            raise InputError(
                say("rulebook"),
                say(
                    "%(rests)s layouts, programs or sheets rest on it; it keeps its name and stays",
                    rests=rests,
                ),
            )
        return rows

    def _rests(self, slug: str) -> int:
        """How many rows name one of its versions."""
        return sum(
            self._session.exec(
                select(func.count())
                .select_from(table)
                .where(col(table.edition).startswith(f"own/{slug}/", autoescape=True))
            ).one()
            for table in RESTING
        )

    def fill(self, shelf: Shelf) -> None:
        """Put every own rulebook and every earlier state of an edition on the shelf, in place of what was there."""
        shelf.own.clear()
        shelf.kept.clear()
        for book in self._own():
            shelf.own[book.name] = book
        self._keep_all()
        for row in self._session.exec(select(tables.KeptRulebook)):
            if _is_today(row.edition, row.fingerprint):
                continue
            try:
                shelf.kept[row.edition, row.fingerprint] = from_snapshot(row.edition, row.snapshot)
            except RecoupError as error:
                log.warning("the kept rulebook %s cannot be read: %s", row.edition, error)

    def add_missing(self, shelf: Shelf) -> None:
        """Put own rulebooks on the shelf that another process has kept since; nothing is taken away meanwhile."""
        there = {tuple(name.split("/")[1:3]) for name in shelf.own}
        for book in self._own(there):
            shelf.own[book.name] = book

    def _keep_all(self) -> None:
        """What layouts and live programs of an older database rest on is kept from now on."""
        for table in (tables.Layout, tables.LiveProgram):
            for name, fingerprint in self._session.exec(select(table.edition, table.fingerprint).distinct()):
                keep(self._session, name, fingerprint)
        self._session.commit()

    def _own(self, but: Collection[tuple[str, ...]] = ()) -> Iterator[Edition]:
        table = tables.OwnRulebook
        for row in self._session.exec(select(table).order_by(col(table.slug), col(table.version))):
            if (row.slug, str(row.version)) in but:
                continue
            try:
                book = read_file(row.text, value_tables())
                yield named(book, book.title, row.version)
            except RecoupError as error:
                log.warning(
                    "the own rulebook %s, version %s, cannot be read: %s", row.slug, row.version, error
                )


def keep(session: Session, name: str, fingerprint: str) -> None:
    """Keep the edition of that name as it is today, if that is the fingerprint asked for and it is not yet kept.

    The caller commits.
    """
    if session.get(tables.KeptRulebook, (name, fingerprint)) is None and _is_today(name, fingerprint):
        kept = snapshot_of(edition(name))
        session.add(tables.KeptRulebook(edition=name, fingerprint=fingerprint, snapshot=kept))


def _is_today(name: str, fingerprint: str) -> bool:
    try:
        return edition(name).fingerprint == fingerprint
    except RecoupError:
        return False
