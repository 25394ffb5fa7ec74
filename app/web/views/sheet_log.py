"""The question on a sheet's page: which of its attempts go into the own log."""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.words import say, say_many
from app.practice.endings import FATE_WORDS
from app.web.languages import Day
from app.web.sheet_log import Offer, OfferRow


@dataclass(frozen=True, slots=True)
class LogRow:
    """One row to tick. `options`: value the form sends and words; more than one: what was meant is to be chosen.

    `words`: what would be counted; `why_not`: why the row cannot be ticked.
    """

    number: int
    printed: str
    words: str
    options: tuple[tuple[str, str], ...]
    why_not: str


@dataclass(frozen=True, slots=True)
class SheetLogView:
    """The question, or what was added. `added`: in words; `day` as the form sends it; `fixed`: it cannot be chosen."""

    added: str
    question: str
    unknown: bool
    day: str
    fixed: bool
    rows: tuple[LogRow, ...]
    any: bool


def sheet_log_view(offer: Offer | None) -> SheetLogView | None:
    """The part of the sheet's page about the own log; None for a sheet of no skater."""
    if offer is None:
        return None
    rows = tuple(map(_row, offer.rows))
    return SheetLogView(
        added=_added(offer) if offer.added else "",
        question=say(
            "May these attempts be counted in %(skater)s's own log, on %(day)s, in competition?",
            skater=offer.skater,
            day=Day(offer.day),
        ),
        unknown=any(not one.known for one in offer.rows),
        day=offer.day.isoformat(),
        fixed=offer.fixed,
        rows=rows,
        any=any(not one.why_not for one in rows),
    )


def _added(offer: Offer) -> str:
    return say_many(
        "%(count)s attempt of this skate is in %(skater)s's own log.",
        "%(count)s attempts of this skate are in %(skater)s's own log.",
        offer.count,
        skater=offer.skater,
    )


def _row(one: OfferRow) -> LogRow:
    why_not: str = ""
    if one.there:
        why_not = say("already in the log of that day")
    elif not one.options:
        why_not = say("another jump came than was meant, so it says nothing about either")
    options = tuple((f"{one.number} {code}", _counted(code, fate)) for code, fate in one.options)
    return LogRow(one.number, one.printed, options[0][1] if options else "", options, why_not)


def _counted(code: str, fate: str) -> str:
    return say("%(element)s, %(ended)s", element=code, ended=FATE_WORDS[fate])
