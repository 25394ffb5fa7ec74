"""The report as a PDF of exactly one page of A4, made without a browser by fpdf2.

The letters come from the fonts that set-up takes from their wheel (Latin, Greek, Cyrillic). A text that needs others is
refused in words, because a page with empty boxes in a child's name helps nobody; the page in the browser prints it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache

from fpdf import FPDF
from fpdf.enums import XPos, YPos
from fpdf.fonts import FontFace, TTFFont

from app.domain.words import say
from app.errors import InputError
from app.settings import PROJECT
from app.web.languages import language, shown_text
from app.web.views.report import ReportView, SectionView

FONTS = PROJECT / "static" / "vendor" / "fonts"
FAMILY = "SourceSansPro"
MARGIN = 18
SIZES = (12.0, 11.0, 10.0, 9.0, 8.0, 7.0, 6.0)
"""Sizes of the text in points, tried in turn until all is on one page."""
LINE = 0.5
"""Height of a line in millimetres for each point of the letters."""
NARROW = 0.6
"""Width of the columns of a pass's number and of points, beside 1 of an element."""


def report_pdf(view: ReportView) -> bytes:
    """The report of one audience. Raises InputError when the page cannot be written with the letters there are."""
    view = _in_words_of(view)
    missing = _missing(view)
    if missing:
        raise InputError(
            say("report"),
            say(
                "the PDF has no letters for %(missing)s; print the page from the browser, or share it as a web file",
                missing=repr(missing),
            ),
        )
    for size in SIZES:
        with _paper() as pdf:
            _write(pdf, view, size)
            if pdf.page_no() == 1:
                return bytes(pdf.output())
    raise InputError(say("report"), say("more to say than fits on one page; print the page from the browser"))


@contextmanager
def _paper() -> Iterator[FPDF]:
    """An empty document with its fonts, whose files are closed at the end: only a finished one closes them itself."""
    pdf = FPDF(format="A4")
    pdf.set_margins(MARGIN, MARGIN, MARGIN)
    pdf.set_auto_page_break(True, MARGIN)
    for style, ending in (("", "Regular"), ("B", "Bold")):
        pdf.add_font(FAMILY, style, FONTS / f"{FAMILY}-{ending}.ttf")
    try:
        yield pdf
    finally:
        for font in pdf.fonts.values():
            if isinstance(font, TTFFont):
                font.close()


def _missing(view: ReportView) -> str:
    """Letters that the fonts do not have, each once."""
    return "".join(
        dict.fromkeys(sign for text in _texts(view) for sign in text if ord(sign) not in _letters())
    )


@cache
def _letters() -> frozenset[int]:
    """The letters of the plainer font; both have the same."""
    with _paper() as pdf:
        fonts = [font for font in pdf.fonts.values() if isinstance(font, TTFFont)]
        return frozenset(fonts[0].cmap)


def _in_words_of(view: ReportView) -> ReportView:
    """The report in the reader's language; in English where the fonts have no letters for that language."""
    said = _each(view, shown_text)
    return said if not _missing(said) or _missing(_each(view, str)) else _each(view, str)


def _each(view: ReportView, tell: Callable[[str], str]) -> ReportView:
    def all_of(texts: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(tell(text) for text in texts)

    sections = tuple(
        replace(
            one,
            heading=tell(one.heading),
            lines=all_of(one.lines),
            head=all_of(one.head),
            rows=tuple(all_of(row) for row in one.rows),
        )
        for one in view.sections
    )
    return replace(
        view, title=tell(view.title), about=tell(view.about), sections=sections, notes=all_of(view.notes)
    )


def _texts(view: ReportView) -> Iterator[str]:
    yield view.title
    yield view.about
    yield from view.notes
    for section in view.sections:
        yield section.heading
        yield from section.lines
        yield from section.head
        for row in section.rows:
            yield from row


def _write(pdf: FPDF, view: ReportView, size: float) -> None:
    pdf.set_title(f"{view.title}, for the {view.audience}")
    pdf.set_lang(language().page)
    pdf.add_page()
    _line(pdf, view.title, size * 1.9, bold=True)
    _line(pdf, view.about, size)
    for section in view.sections:
        _section(pdf, section, size)
    pdf.ln(size * LINE)
    for note in view.notes:
        _line(pdf, note, size * 0.8)


def _section(pdf: FPDF, section: SectionView, size: float) -> None:
    pdf.ln(size * LINE * 0.9)
    top = pdf.get_y()
    if section.is_main:
        pdf.set_left_margin(MARGIN + 5)
        pdf.set_x(MARGIN + 5)
    _line(pdf, section.heading, size * 1.25, bold=True)
    if section.rows:
        _table(pdf, section, size)
    for text in section.lines:
        bullet = len(section.lines) > 1 and not section.is_main
        _line(pdf, f"•  {text}" if bullet else text, size)
    if section.is_main:
        pdf.set_left_margin(MARGIN)
        pdf.set_x(MARGIN)
        pdf.set_line_width(1.2)
        pdf.line(MARGIN + 1, top, MARGIN + 1, pdf.get_y())
        pdf.set_line_width(0.2)


def _line(pdf: FPDF, text: str, size: float, *, bold: bool = False) -> None:
    pdf.set_font(FAMILY, "B" if bold else "", size)
    pdf.multi_cell(0, size * LINE, text, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)


def _table(pdf: FPDF, section: SectionView, size: float) -> None:
    pdf.set_font(FAMILY, "", size)
    last = len(section.head) - 1
    widths = tuple(NARROW if place in (0, last) else 1.0 for place in range(last + 1))
    head = FontFace(emphasis="BOLD")
    with pdf.table(
        col_widths=widths,
        text_align=tuple("RIGHT" if place == last else "LEFT" for place in range(last + 1)),
        borders_layout="HORIZONTAL_LINES",
        line_height=size * LINE * 1.15,
        headings_style=head,
    ) as table:
        for row in (section.head, *section.rows):
            table.row(row)
    pdf.ln(size * LINE * 0.3)
