"""Writes score sheets as they are published, from plain rows: as a PDF with a text layer, as pasted text, as CSV.

The order of columns is that of public "judges details per skater" sheets: rank, name, nation, starting number, segment
score = elements + components - deductions; number, element, info, base value, x, GOE, judges, reference, panel score;
components with factor; deductions. The people on these sheets are invented.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from fpdf import FPDF

Row = Mapping[str, Any]
Cells = list[tuple[float, str]]
"""Text at a place across the page, in millimetres."""

NAMES = ("Mira EXAMPLE", "Lis VAN DER BEISPIEL", "Ana-Maria PRZYKLAD", "Kim ESEMPIO")
NATIONS = ("AAA", "BBB", "CCC", "DDD")
LEGEND = (
    "x Credit for highlight distribution, base value multiplied by 1.1",
    "* Invalid element   < Jump under-rotated   << Downgraded jump   q Jump landed on the quarter",
    "! Not clear edge   e Wrong edge   F Fall   +REP Jump repetition",
)
DEDUCTION_WORDS = {
    "falls": "Falls",
    "time_violation": "Time violation",
    "late_start": "Late start",
    "illegal_element": "Illegal element/movement",
}
JUDGES_AT, JUDGE_STEP = 118.0, 13.0


def money(points: float | None) -> str:
    """Points as printed; nothing where a sheet has nothing."""
    return "" if points is None else f"{points:.2f}"


def mark(given: float | None, digits: int = 0) -> str:
    """One judge's mark; a dash where a judge gave none."""
    return "-" if given is None else f"{given:.{digits}f}"


def rows_of(sheet: Row, place: int = 0) -> Iterator[Cells]:
    """Every printed row of a sheet, as cells across the page."""
    if sheet.get("total") is not None:
        yield _summary(sheet, place)
    yield [
        (8, "#"),
        (16, "Executed Elements"),
        (62, "Info"),
        (78, "Base Value"),
        (106, "GOE"),
        (240, "Scores of Panel"),
    ]
    for element in sheet["elements"]:
        yield _element(element)
    if sheet.get("tes") is not None:
        base = sum(round(e["base_value"] * 100) for e in sheet["elements"]) / 100
        yield [(78, money(base)), (262, money(sheet["tes"]))]
    if not sheet.get("components"):
        return
    yield [(16, "Program Components"), (90, "Factor")]
    for one in sheet["components"]:
        marks = [(JUDGES_AT + JUDGE_STEP * n, mark(m, 2)) for n, m in enumerate(one["judges"])]
        yield [(16, one["name"]), (92, money(one["factor"])), *marks, (262, money(one["score"]))]
    yield [(16, "Judges Total Program Component Score (factored)"), (262, money(sheet["pcs"]))]
    yield _deductions(sheet)


def _summary(sheet: Row, place: int) -> Cells:
    return [
        (8, str(place + 1)),
        (20, NAMES[place % len(NAMES)]),
        (110, NATIONS[place % len(NATIONS)]),
        (130, str(place + 3)),
        (160, money(sheet["total"])),
        (190, money(sheet["tes"])),
        (220, money(sheet["pcs"])),
        (250, money(sheet["deductions"])),
    ]


def _element(element: Row) -> Cells:
    marks = [(JUDGES_AT + JUDGE_STEP * n, mark(m)) for n, m in enumerate(element["judges"])]
    return [
        (8, str(element["n"])),
        (16, element["code"]),
        *([(64, element["info"])] if element["info"] else []),
        (80, money(element["base_value"])),
        *([(94, "x")] if element["x"] else []),
        (104, money(element["goe"])),
        *marks,
        (262, money(element["score"])),
    ]


def _deductions(sheet: Row) -> Cells:
    """`Deductions`, each kind with its points and, for falls, how many; then the sum."""
    cells: Cells = [(8, "Deductions:")]
    at = 40.0
    for kind, points in (sheet.get("deduction_detail") or {}).items():
        number = f" ({sheet['falls']})" if kind == "falls" and sheet.get("falls") is not None else ""
        cells.append((at, f"{DEDUCTION_WORDS[kind]}: {points:.2f}{number}"))
        at += 55
    return [*cells, (262, money(sheet["deductions"]))]


def as_pdf(sheets: Sequence[Row], *, by_column: bool = False, a_page: int = 2) -> bytes:
    """A PDF of landscape pages; `by_column` writes each page's cells column by column, as some programs do."""
    pdf = FPDF(orientation="L", format="A4")
    pdf.set_auto_page_break(False)
    pdf.set_font("Helvetica", size=7)
    for first in range(0, len(sheets), a_page):
        pdf.add_page()
        cells = [(10.0, [(120.0, "JUDGES DETAILS PER SKATER")]), (14.0, [(120.0, "WOMEN FREE SKATING")])]
        y = 20.0
        for place, sheet in enumerate(sheets[first : first + a_page], start=first):
            for row in rows_of(sheet, place):
                cells.append((y, row))
                y += 3.6
            y += 5
        cells += [(y + 4 * n, [(8.0, words)]) for n, words in enumerate(LEGEND)]
        placed = [(x, y, text) for y, row in cells for x, text in row]
        for x, y, text in sorted(placed) if by_column else placed:
            pdf.text(x, y, text)
    return bytes(pdf.output())


def as_text(sheets: Sequence[Row]) -> str:
    """What copying from a viewer gives: one line a row, cells parted by spaces."""
    lines = [" ".join(text for _, text in row) for n, sheet in enumerate(sheets) for row in rows_of(sheet, n)]
    return "\n".join([*lines, *LEGEND])


def as_csv(sheets: Sequence[Row], delimiter: str = ",") -> str:
    """A table; with a semicolon, figures have a decimal comma."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    for place, sheet in enumerate(sheets):
        for row in rows_of(sheet, place):
            cells = [text for _, text in row]
            writer.writerow([c.replace(".", ",") if delimiter == ";" and _is_figure(c) else c for c in cells])
    return out.getvalue()


def _is_figure(text: str) -> bool:
    return text.replace("-", "").replace(".", "").isdigit()


def picture_only() -> bytes:
    """A page without any text, as a scanner makes it."""
    pdf = FPDF(orientation="L", format="A4")
    pdf.add_page()
    pdf.rect(20, 20, 100, 60)
    return bytes(pdf.output())
