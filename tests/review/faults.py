"""Seeded faults: one thing on an official sheet made wrong, with everything that hangs on it made to agree.

A wrong star comes with the base value, GOE, panel score and sums that a scoring program would print for it, so only
the fault itself is left to be found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from app import engine
from app.domain.elements import JumpElement
from app.domain.points import half_up
from app.review.findings import Kind
from app.review.official import OfficialSheet, SheetRow
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value
from app.scoring.execution import panel_goe


@dataclass(frozen=True, slots=True)
class Fault:
    """A faulty sheet, and the one finding it must give: kind, element number (0: a sum)."""

    name: str
    sheet: OfficialSheet
    kind: Kind
    number: int


def with_row(sheet: OfficialSheet, place: int, row: SheetRow) -> OfficialSheet:
    """The sheet with another row, its sums made to agree."""
    rows = (*sheet.rows[:place], row, *sheet.rows[place + 1 :])
    more = row.score - sheet.rows[place].score
    base = None if sheet.base_total is None else sheet.base_total + row.base - sheet.rows[place].base
    score = None if sheet.element_score is None else sheet.element_score + more
    total = None if sheet.total is None else sheet.total + more
    return replace(sheet, rows=rows, base_total=base, element_score=score, total=total)


def restated(book: Edition, row: SheetRow, code: str, late: bool) -> SheetRow:
    """The row as a scoring program would print it for that code and that x."""
    row = replace(row, code=code, late=late)
    base = base_value(book, row.element, late)
    goe = panel_goe(book, row.element, row.judges)
    return replace(row, base=base, goe=goe, score=base + goe)


def seeded(edition_name: str, sheet: OfficialSheet) -> Iterator[Fault]:
    """Every fault that can be put on this sheet, one at a time."""
    book = engine.edition(edition_name)
    for place, row in enumerate(sheet.rows):
        for make in (_stars, _repeats, _late):
            yield from make(book, sheet, place, row)
        yield from _figures(sheet, place, row)
    yield from _sums(sheet)


def _stars(book: Edition, sheet: OfficialSheet, place: int, row: SheetRow) -> Iterator[Fault]:
    if isinstance(row.element, JumpElement):
        jumps = row.element.jumps
        for n, jump in enumerate(jumps):
            other = (*jumps[:n], replace(jump, starred=not jump.starred), *jumps[n + 1 :])
            code = str(JumpElement(other, row.element.repeat))
            name = "star that is not due" if not jump.starred else "star that is missing"
            yield Fault(
                name, with_row(sheet, place, restated(book, row, code, row.late)), Kind.CALL, row.number
            )


def _repeats(book: Edition, sheet: OfficialSheet, place: int, row: SheetRow) -> Iterator[Fault]:
    if isinstance(row.element, JumpElement) and len(row.element.jumps) == 1:
        code = str(replace(row.element, repeat=not row.element.repeat))
        name = "+REP that is missing" if row.element.repeat else "+REP that is not due"
        yield Fault(name, with_row(sheet, place, restated(book, row, code, row.late)), Kind.CALL, row.number)


def _late(book: Edition, sheet: OfficialSheet, place: int, row: SheetRow) -> Iterator[Fault]:
    """An x on a spin or on a jump before the last ones; an x lost behind another one.

    An x lost from the first jump that has one cannot be seen: it could have started in the first half.
    """
    credited = [n for n, one in enumerate(sheet.rows) if one.late]
    jumps = [n for n, one in enumerate(sheet.rows) if one.is_jump]
    worth = base_value(book, row.element, True) != base_value(book, row.element) if row.is_jump else True
    too_early = row.is_jump and len(credited) >= book.rules.late.last and jumps.index(place) < len(jumps) - 3
    if not row.late and worth and (too_early or not row.is_jump):
        changed = restated(book, row, row.code, True) if row.is_jump else replace(row, late=True)
        yield Fault("x that is not due", with_row(sheet, place, changed), Kind.ENTRY, row.number)
    if row.late and place != credited[0] and worth:
        changed = restated(book, row, row.code, False)
        yield Fault("x that is missing", with_row(sheet, place, changed), Kind.ENTRY, row.number)


def _figures(sheet: OfficialSheet, place: int, row: SheetRow) -> Iterator[Fault]:
    cent = replace(row, base=row.base + 1, score=row.score + 1)
    yield Fault("base value", with_row(sheet, place, cent), Kind.ENTRY, row.number)
    cent = replace(row, goe=row.goe - 1, score=row.score - 1)
    if any(mark is not None for mark in row.judges):
        yield Fault("GOE row", with_row(sheet, place, cent), Kind.ARITHMETIC, row.number)
    cent = replace(row, score=row.score + 10)
    yield Fault("panel score", with_row(sheet, place, cent), Kind.ARITHMETIC, row.number)


def _sums(sheet: OfficialSheet) -> Iterator[Fault]:
    def wrong(name: str, change: Callable[[], OfficialSheet]) -> Fault:
        return Fault(name, change(), Kind.ARITHMETIC, 0)

    if sheet.total is None or sheet.element_score is None or sheet.component_score is None:
        return
    total, elements, parts = sheet.total, sheet.element_score, sheet.component_score
    yield wrong("segment score", lambda: replace(sheet, total=total + 1))
    yield wrong("element score", lambda: replace(sheet, element_score=elements - 1, total=total - 1))
    yield wrong(
        "component score",
        lambda: replace(sheet, component_score=parts + 5, component_sum=parts + 5, total=total + 5),
    )
    if sheet.detail and sheet.deductions is not None:
        off = sheet.deductions - 100
        yield wrong("deductions", lambda: replace(sheet, deductions=off, total=total - 100))
    one, *rest = sheet.components
    mean = replace(one, score=one.score + 50)
    parts_off = parts + half_up(mean.score * one.factor, 100) - half_up(one.score * one.factor, 100)
    yield wrong(
        "component mean",
        lambda: replace(
            sheet,
            components=(mean, *rest),
            component_score=parts_off,
            component_sum=parts_off,
            total=total + parts_off - parts,
        ),
    )
