"""A sheet as it went into a rendered file, beside what came back out of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from app.review.official import Deduction, OfficialSheet, SheetComponent, SheetRow
from app.review.pdf_lines import lines_of_pdf
from app.review.sheet_import import SheetReading, read_lines, read_text
from tests.review.published import DEDUCTION_WORDS, as_csv, as_pdf, as_text

Row = Mapping[str, Any]


def cents(points: float) -> int:
    """Points to whole hundredths."""
    return round(points * 100)


def expected(sheet: Row) -> OfficialSheet:
    """The sheet as values, straight from its row of the check data."""
    has_total = sheet.get("total") is not None
    rows = tuple(_row(element) for element in sheet["elements"])
    return OfficialSheet(
        rows=rows,
        components=tuple(_component(one) for one in sheet.get("components") or ()),
        base_total=sum(row.base for row in rows) if sheet.get("tes") is not None else None,
        element_score=cents(sheet["tes"]) if sheet.get("tes") is not None else None,
        component_score=cents(sheet["pcs"]) if has_total else None,
        component_sum=cents(sheet["pcs"]) if sheet.get("components") else None,
        deductions=cents(sheet["deductions"]) if has_total else None,
        detail=tuple(_deductions(sheet)),
        total=cents(sheet["total"]) if has_total else None,
    )


def _row(element: Row) -> SheetRow:
    return SheetRow(
        number=element["n"],
        code=element["code"],
        info=element["info"],
        base=cents(element["base_value"]),
        late=bool(element["x"]),
        goe=cents(element["goe"]),
        judges=tuple(element["judges"]),
        score=cents(element["score"]),
    )


def _component(one: Row) -> SheetComponent:
    judges = tuple(None if mark is None else cents(mark) for mark in one["judges"])
    return SheetComponent(one["name"], cents(one["factor"]), judges, cents(one["score"]))


def _deductions(sheet: Row) -> Iterator[Deduction]:
    for kind, points in (sheet.get("deduction_detail") or {}).items():
        count = sheet.get("falls") if kind == "falls" else None
        yield Deduction(DEDUCTION_WORDS[kind], cents(points), count)


def differences(sheets: Sequence[Row], reading: SheetReading) -> list[str]:
    """Every sheet that did not come back as it went in, by its id, and every line with figures left unread."""
    found = [f"unread: {line.text}" for line in reading.doubtful]
    if len(sheets) != len(reading.sheets):
        return [*found, f"{len(sheets)} sheets went in, {len(reading.sheets)} came out"]
    for sheet, came in zip(sheets, reading.sheets, strict=True):
        want = expected(sheet)
        if came.sheet != want:
            rows = [b.code for a, b in zip(want.rows, came.sheet.rows, strict=False) if a != b]
            same_rows = replace(came.sheet, rows=want.rows) == want
            found.append(f"{sheet['id']}: rows {rows}{'' if same_rows else ', and below the rows'}")
    return found


def through_pdf(sheets: Sequence[Row], *, by_column: bool = False) -> SheetReading:
    """The sheets rendered into a PDF and read back."""
    return read_lines(lines_of_pdf(as_pdf(sheets, by_column=by_column), patience=300).lines)


def through_text(sheets: Sequence[Row]) -> SheetReading:
    """The sheets as pasted text, read back."""
    return read_text(as_text(sheets))


def through_table(sheets: Sequence[Row], delimiter: str) -> SheetReading:
    """The sheets as a table, read back."""
    return read_text(as_csv(sheets, delimiter))
