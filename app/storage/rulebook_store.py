"""Rulebooks of one's own, version by version, and editions as they were when something began to rest on them."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from datetime import datetime

from sqlmodel import Session, col, func, select

from app.errors import InputError, RecoupError
from app.rulebook.editions import SHELF, Edition, Shelf, edition, value_tables
from app.rulebook.own import named, slug_of
from app.rulebook.own_file import file_text, read_file
from app.rulebook.snapshot import from_snapshot, snapshot_of
from app.storage import tables
from app.storage.writing import alone

log = logging.getLogger("recoup")
MOST_VERSIONS = 500
"""Of all own rulebooks together; a form sent by mistake over and over fills no disk."""


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
                    "title", f"{MOST_VERSIONS} versions are kept already; there is no room for more"
                )
            last = self._session.exec(select(func.max(table.version)).where(table.slug == slug)).one() or 0
            made = named(book, title, last + 1)
            said = file_text(made, value_tables()[made.values.name])
            self._session.add(table(slug=slug, version=last + 1, text=said, made_at=at))
        # Read back, so that what is on the shelf today is what the next start will find.
        found = named(read_file(said, value_tables()), title, last + 1)
        SHELF.own[found.name] = found
        return found

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

    def _keep_all(self) -> None:
        """What layouts and live programs of an older database rest on is kept from now on."""
        for table in (tables.Layout, tables.LiveProgram):
            for name, fingerprint in self._session.exec(select(table.edition, table.fingerprint).distinct()):
                keep(self._session, name, fingerprint)
        self._session.commit()

    def _own(self) -> Iterator[Edition]:
        table = tables.OwnRulebook
        for row in self._session.exec(select(table).order_by(col(table.slug), col(table.version))):
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
