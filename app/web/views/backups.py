"""View models of the copies: the list, and the question before one is brought back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.domain.words import say
from app.errors import StorageTrouble
from app.storage.backups import Backup, Contents, Reason, contents
from app.web.languages import Day

WHY: dict[Reason, str] = {
    "daily": say("The copy of the day"),
    "asked": say("Made by hand"),
    "before-update": say("Made before an update of the tables"),
    "before-restore": say("Made before a copy was brought back"),
}
KIBI = 1024


@dataclass(frozen=True, slots=True)
class CopyView:
    """One copy: what it is called, when and why it was made, how large it is."""

    name: str
    when: str
    why: str
    size: str


@dataclass(frozen=True, slots=True)
class CopiesView:
    """The list, the latest first. `folder`: where they lie; `trouble`: why the last daily copy failed, or "".

    `on_server`: the data are in PostgreSQL, so there are no copies here. `news`: what has just happened, or "".
    """

    copies: tuple[CopyView, ...]
    folder: str
    trouble: str
    on_server: bool
    news: str


@dataclass(frozen=True, slots=True)
class HeldView:
    """What a database holds, in words."""

    skaters: int
    layouts: int
    programs: int
    latest: str


@dataclass(frozen=True, slots=True)
class AskView:
    """The question. `then` and `now`: what the copy (None: it is damaged) and the present hold."""

    copy: CopyView
    then: HeldView | None
    now: HeldView


def copy_view(one: Backup) -> CopyView:
    """A copy as the page shows it."""
    return CopyView(one.name, moment_words(one.made_at), WHY[one.reason], size_words(one.size))


def held_view(one: Backup) -> HeldView | None:
    """What a copy holds; None when it is damaged."""
    try:
        return held_words(contents(one.file))
    except StorageTrouble:
        return None


def held_words(held: Contents) -> HeldView:
    """How much there is, and the last tap."""
    latest = moment_words(held.latest) if held.latest else ""
    return HeldView(held.skaters, held.layouts, held.programs, latest)


def moment_words(moment: datetime) -> str:
    """A moment as people write it: "28 November 2026, 9:03 UTC"."""
    return say("%(day)s, %(time)s UTC", day=Day(moment.date()), time=f"{moment.hour}:{moment.minute:02}")


def size_words(size: int) -> str:
    """Bytes as people say them: "412 KiB", "3.1 MiB"."""
    kibis = size / KIBI
    return f"{kibis / KIBI:.1f} MiB" if kibis >= KIBI else f"{kibis:.0f} KiB"
