"""The list of programs being skated: where a phone that logs or watches comes in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from app.domain.words import say
from app.security.roles import WORDS
from app.storage.records import DayRecord, LiveProgramRecord
from app.web.views.home import DayLink, GoOnCard, ProgramCard, day_links, day_words, kind_words
from app.web.visitor import Visitor

SHOWN_OPEN = 5
"""Programs that stand open in the list; earlier ones are one tap away."""


@dataclass(frozen=True, slots=True)
class ProgramsView:
    """The latest programs and days, newest first; those `under_way` stand first.

    `says`: what this phone may do, empty on the laptop; `is_coach`: there is a first page; the first `shown_open`
    programs stand open.
    """

    programs: tuple[ProgramCard, ...]
    says: str
    is_coach: bool
    days: tuple[DayLink, ...] = ()
    under_way: tuple[GoOnCard, ...] = ()
    shown_open: int = SHOWN_OPEN


def programs_of(
    recent: tuple[LiveProgramRecord, ...],
    skaters: Mapping[int, str],
    visitor: Visitor,
    days: Iterable[DayRecord] = (),
    under_way: tuple[GoOnCard, ...] = (),
) -> ProgramsView:
    """The view of the latest programs."""
    cards = tuple(
        ProgramCard(
            one.id,
            f"{skaters.get(one.skater_id, '')}, {one.layout_name}",
            one.event or (say("rehearsal") if one.rehearsal else kind_words(one.kind)),
            day_words(one.started_at.date()),
        )
        for one in recent
    )
    says = "" if visitor.is_laptop else say("This phone is a %(role)s.", role=WORDS[visitor.role])
    return ProgramsView(cards, says, visitor.is_coach, day_links(days), under_way)
