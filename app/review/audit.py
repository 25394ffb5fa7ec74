"""Audit of an official sheet: recomputed to the cent, every rule asked again, every row that differs named.

Each printed figure is checked against the figures it is made from, not against a grand recomputation, so one wrong row
gives one finding and no row is blamed for another:

    base value      the season's table, for the code and the x as printed
    GOE             the judges' grades as printed, for that code
    panel score     base value + GOE as printed
    stars, +REP     the rulebook, from the calls of the whole program
    x               the last jump elements that started late, as the sheet's first x shows
    sums            of the printed rows; components from their marks; deductions from their kinds

What a sheet cannot show: whether a jump without any x behind it started late, and whether a call was right.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from app import engine
from app.domain.elements import JumpElement
from app.domain.points import Points, show
from app.domain.rulings import CERTAINTIES, Ruling
from app.domain.words import clauses, listed, say, say_many
from app.review.audit_sums import PUBLISHED, sum_findings
from app.review.findings import Audit, Finding, Kind
from app.review.official import OfficialSheet, SheetRow, as_decimal
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value
from app.scoring.execution import panel_goe


def audit(edition_name: str, sheet: OfficialSheet) -> Audit:
    """Everything on a sheet that differs from rulebook or arithmetic.

    Raises InputError when this rulebook knows no value for an element: another edition was skated.
    """
    book = engine.edition(edition_name)
    answer = engine.score(score_request(edition_name, sheet))
    rows = list(zip(sheet.rows, answer.lines, answer.goes, strict=True))
    findings: list[Finding] = []
    for row, line, goe in rows:
        findings += _figures(book, row)
        findings += _call(book, row, line, goe)
        findings += _late(book, row, line)
    notes = tuple(_notes(book, sheet))
    if not sheet.gaps:
        findings += sum_findings(book, sheet)
    findings = [_with_other_readings(book, sheet, one) for one in findings]
    printed = sheet.total if sheet.total is not None else sheet.element_score
    total = answer.total - answer.bonus if sheet.total is not None else None
    if total is not None and sheet.deductions is not None and sheet.other_deductions is None:
        total += sheet.deductions - answer.deductions  # the kinds are not printed: taken as they are
    return Audit(
        tuple(sorted(findings, key=lambda one: (one.number == 0, one.number))),
        notes,
        answer.element_score,
        total,
        printed,
    )


def score_request(
    edition_name: str, sheet: OfficialSheet, switches: dict[str, str] | None = None
) -> dict[str, Any]:
    """The scoring request of a sheet: calls, marks and late credit, without what the rulebook finds itself."""
    request: dict[str, Any] = {
        "edition": edition_name,
        "elements": [
            {
                "code": row.called,
                "late": late,
                "judges": row.judges,
                "error": row.failed,
                "fall": row.fell,
            }
            for row, late in zip(sheet.rows, sheet.late_flags(), strict=True)
        ],
        "switches": switches or {},
    }
    if sheet.components:
        request["components"] = [
            {
                "name": one.name,
                "factor": as_decimal(one.factor),
                "judges": [None if mark is None else as_decimal(mark) for mark in one.judges],
            }
            for one in sheet.components
        ]
    if sheet.falls is not None:
        request["falls"] = sheet.falls
        others = sheet.other_deductions
        if others is not None:
            request["other_deductions"] = as_decimal(others)
    return request


def where_of(row: SheetRow) -> str:
    """How a row is named at the table."""
    return say("element %(number)s, %(code)s", number=row.number, code=row.code)


def _figures(book: Edition, row: SheetRow) -> Iterator[Finding]:
    """Base value, GOE and panel score of one row, each from the figures beside it."""
    element = row.element
    late = row.late and row.is_jump
    base = base_value(book, element, late)
    if base != row.base:
        without_x = base_value(book, element, not late) if row.is_jump else base
        if row.base == without_x:
            what = (
                say("%(code)s has an x but its base value is without the factor.", code=row.code)
                if row.late
                else say("%(code)s has the factor but no x.", code=row.code)
            )
        else:
            what = say(
                "The table of values gives %(base)s for %(code)s with the x."
                if late
                else "The table of values gives %(base)s for %(code)s.",
                base=show(base),
                code=row.code,
            )
        yield Finding(
            Kind.ENTRY,
            row.number,
            say("the base value of %(where_of)s", where_of=where_of(row)),
            show(row.base),
            show(base),
            base - row.base,
            say("scale of values, season %(season)s", season=book.season),
            "read",
            what,
        )
    goe = panel_goe(book, element, row.judges)
    if any(mark is not None for mark in row.judges) and goe != row.goe:
        yield Finding(
            Kind.ARITHMETIC,
            row.number,
            say("the GOE of %(where_of)s", where_of=where_of(row)),
            show(row.goe),
            show(goe),
            goe - row.goe,
            PUBLISHED,
            "read",
            say(
                "The judges' grades of this row give %(goe)s: one highest and one lowest left out, the rest averaged.",
                goe=show(goe),
            ),
        )
    if row.score != row.base + row.goe:
        yield Finding(
            Kind.ARITHMETIC,
            row.number,
            say("the panel score of %(where_of)s", where_of=where_of(row)),
            show(row.score),
            show(row.base + row.goe),
            row.base + row.goe - row.score,
            PUBLISHED,
            "read",
            say(
                "Base value %(base)s and GOE %(goe)s make %(base_2)s.",
                base=show(row.base),
                goe=show(row.goe),
                base_2=show(row.base + row.goe),
            ),
        )


def _call(book: Edition, row: SheetRow, line: engine.Line, goe: Points) -> Iterator[Finding]:
    """Stars, `+REP` and `+COMBO`: what the rulebook finds in the calls of the program, beside what is printed."""
    if line.code == row.code:
        return
    printed = base_value(book, row.element, line.credited) + panel_goe(book, row.element, row.judges)
    rulings = _explaining(row, line)
    why = clauses(one.why for one in rulings)
    what = (
        say("By the rulebook: %(why)s.", why=why)
        if why
        else say("No rule we know takes anything from this element. The panel can say which rule applies.")
    )
    yield Finding(
        Kind.CALL,
        row.number,
        where_of(row),
        row.code,
        line.code,
        line.base_value + goe - printed,
        clauses(dict.fromkeys(one.rule for one in rulings)) or say("no rule found"),
        max((one.certainty for one in rulings), key=CERTAINTIES.index, default="inferred"),
        what,
    )


def _explaining(row: SheetRow, line: engine.Line) -> tuple[Ruling, ...]:
    """The rulings that the sheet does not show; all of the row's where it shows others."""
    if not isinstance(row.element, JumpElement):
        return line.rulings
    starred = {n for n, jump in enumerate(row.element.jumps, start=1) if jump.starred}
    fresh = tuple(
        one
        for one in line.rulings
        if (one.ruling == "nothing" and one.jump not in starred)
        or (one.ruling == "part" and not row.element.repeat)
    )
    return fresh or line.rulings


def _late(book: Edition, row: SheetRow, line: engine.Line) -> Iterator[Finding]:
    """The x of one row. Nothing to multiply shows no x; that is no difference."""
    credited = line.credited and row.is_jump
    element = row.element
    with_x, without = base_value(book, element, row.is_jump), base_value(book, element)
    if row.late == credited or (row.is_jump and with_x == without):
        return
    last = book.rules.late.last
    which = say_many("the last jump element", "the last %(count)s jump elements", last)
    rule = book.rules.late
    yield Finding(
        Kind.ENTRY,
        row.number,
        say("the x of %(where_of)s", where_of=where_of(row)),
        "x" if row.late else say("no x"),
        "x" if credited else say("no x"),
        (with_x - without) * (1 if credited else -1) if row.is_jump else 0,
        f"{rule.document}, {rule.paragraph}",
        rule.certainty,
        say(
            "Second-half credit goes to %(which)s started in the second half, and to no other element.",
            which=which,
        ),
    )


def _notes(book: Edition, sheet: OfficialSheet) -> Iterator[str]:
    """What the audit could not look at."""
    if sheet.gaps:
        yield say(
            "Row %(missing)s is missing from what was read, so sums were not checked and rulings may be off.",
            missing=listed(map(str, sheet.gaps)),
        )
    if sheet.total is None:
        yield say("No total on this sheet: element rows only were checked.")
    elif sheet.other_deductions is None:
        yield say(
            "The sheet prints a sum of deductions without their kinds; it was compared with the falls only."
        )
    marked = sum(row.late for row in sheet.jumps)
    if marked < book.rules.late.last:
        yield (
            say(
                "%(marked)s of %(last)s possible x. A sheet does not show whether an earlier jump started in the "
                "second half; the clock of the program does.",
                marked=marked,
                last=book.rules.late.last,
            )
        )


def _with_other_readings(book: Edition, sheet: OfficialSheet, found: Finding) -> Finding:
    """The finding, marked where the sheet is right under the other reading of a disputed rule."""
    if found.kind is not Kind.CALL or not found.number:
        return found
    place = next(n for n, row in enumerate(sheet.rows) if row.number == found.number)
    for name, switch in book.rules.switches.items():
        for reading in switch.readings:
            if reading == book.reading(name):
                continue
            other = engine.score(score_request(book.name, sheet, {name: reading}))
            if other.lines[place].code == found.printed:
                return replace(found, disputed=switch.question)
    return found
