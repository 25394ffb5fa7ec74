"""The page of one official sheet: does it add up, does it follow the rulebook, and what may still be done."""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.points import Points, show
from app.domain.words import Figure, begun, listed, say
from app.live.rule_notes import HOW_SURE
from app.review.audit import audit
from app.review.findings import LIMITS, PROTESTS, Audit, Finding, Kind
from app.review.official import OfficialSheet
from app.storage.records import SheetRecord
from app.web.sheet_log import Offer
from app.web.views.home import day_words, edition_words
from app.web.views.sheet_log import SheetLogView, sheet_log_view

KIND_WORDS = {Kind.ARITHMETIC: say("a sum"), Kind.ENTRY: say("an entry"), Kind.CALL: say("a ruling")}


@dataclass(frozen=True, slots=True)
class FindingView:
    """One row that differs, with the words for the referee's table and what may still be done."""

    where: str
    kind: str
    printed: str
    expected: str
    points: str
    what: str
    rule: str
    how_sure: str
    say: str
    limit: str
    disputed: str


@dataclass(frozen=True, slots=True)
class RowView:
    """One element of the sheet; `differs` when a finding is about it."""

    number: int
    code: str
    figures: str
    score: str
    differs: bool


@dataclass(frozen=True, slots=True)
class SheetView:
    """The audit page. `hurt`: the program it belongs to is stopped, and points are hidden; `fault`: why no audit."""

    id: int
    title: str
    about: str
    program_id: int
    hurt: bool
    fault: str
    agrees: bool
    verdict: str
    findings: tuple[FindingView, ...]
    notes: tuple[str, ...]
    rows: tuple[RowView, ...]
    limits: tuple[str, ...]
    limits_source: str
    log: SheetLogView | None = None


def signed(points: Points) -> str:
    """Points with their sign: `+1.30`, `−0.40`, `0.00`."""
    return Figure(("+" if points > 0 else "−" if points < 0 else "") + show(abs(points)))


def sheet_view(
    record: SheetRecord,
    sheet: OfficialSheet,
    skater: str,
    *,
    hurt: bool,
    found: Audit | None,
    fault: str,
    by_the_log: tuple[str, ...] = (),
    offer: Offer | None = None,
) -> SheetView:
    """The page of a sheet as audited; `found` is None where the rulebook could not read it.

    `by_the_log`: what the log of its program knows that a sheet cannot show, in words; `offer`: what it would add to
    the own log.
    """
    about = [skater if record.note else "", edition_words(record.edition), day_words(record.read_at.date())]
    differing = {one.number for one in found.findings} if found else set()
    return SheetView(
        id=record.id,
        title=record.note or skater or say("Official sheet"),
        about=listed(filter(None, about)),
        program_id=record.program_id or 0,
        hurt=hurt,
        fault=fault,
        agrees=bool(found and found.agrees),
        verdict=_verdict(found) if found else "",
        findings=tuple(_finding(one) for one in found.findings) if found else (),
        notes=(*by_the_log, *found.notes) if found else (),
        rows=tuple(_row(sheet, place, differing) for place in range(len(sheet.rows))),
        limits=tuple(LIMITS.values()),
        limits_source=listed([str(PROTESTS), HOW_SURE[PROTESTS.certainty]]),
        log=sheet_log_view(offer),
    )


def audited(record: SheetRecord, sheet: OfficialSheet) -> Audit:
    """The audit of a stored sheet. Raises InputError where its rulebook knows no value for an element."""
    return audit(record.edition, sheet)


def _verdict(found: Audit) -> str:
    """The first line: whether sheet and rulebook agree, and by how much not."""
    mine = found.total if found.total is not None else found.element_score
    whole = found.total is not None
    if found.printed_total is None:
        return say(
            "No total is printed. Recomputed segment score: %(points)s."
            if whole
            else "No total is printed. Recomputed element score: %(points)s.",
            points=show(mine),
        )
    same = mine == found.printed_total
    if found.agrees and same:
        return say(
            "The sheet is right: every row follows the rulebook, and the segment score %(points)s agrees to the cent."
            if whole
            else "The sheet is right: every row follows the rulebook, and the element score %(points)s agrees to the "
            "cent.",
            points=show(mine),
        )
    if same:
        return say(
            "The segment score %(points)s agrees to the cent, but a row differs."
            if whole
            else "The element score %(points)s agrees to the cent, but a row differs.",
            points=show(mine),
        )
    return say(
        "The sheet says %(printed_total)s. Recomputed from calls, marks and rules: %(mine)s.",
        printed_total=show(found.printed_total),
        mine=show(mine),
    )


def _finding(one: Finding) -> FindingView:
    return FindingView(
        where=begun(one.where),
        kind=KIND_WORDS[one.kind],
        printed=one.printed,
        expected=one.expected,
        points=signed(one.points),
        what=one.what,
        rule=one.rule,
        # A sum is held to sheets, not to a text: its rule says so itself.
        how_sure=HOW_SURE[one.certainty] if one.kind is Kind.CALL or one.certainty != "read" else "",
        say=one.say,
        limit=one.limit,
        disputed=one.disputed,
    )


def _row(sheet: OfficialSheet, place: int, differing: set[int]) -> RowView:
    row = sheet.rows[place]
    base = say("%(points)s x", points=show(row.base)) if row.late else show(row.base)
    figures = say("base value %(base)s, GOE %(goe)s", base=base, goe=show(row.goe))
    figures = say("%(first)s; %(last)s", first=row.info, last=figures) if row.info else figures
    return RowView(row.number, row.code, figures, show(row.score), row.number in differing)
