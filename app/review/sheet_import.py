"""Official sheets out of a PDF's text, pasted text or a table: every skater in it, and every line that was not read.

Nothing is guessed: a line that fits no form of `sheet_lines` is listed with its text and the reason, and a sheet says
which of its rows are missing. A table is read by the same forms, its cells put side by side.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from app.domain.words import say
from app.errors import InputError
from app.review.official import OfficialSheet, SheetComponent, SheetRow
from app.review.sheet_lines import (
    BaseLine,
    ComponentSum,
    Deductions,
    Other,
    Summary,
    Unread,
    read_line,
)

MOST_BYTES = 4_000_000
MOST_LINES = 6_000
MOST_SHEETS = 80


@dataclass(frozen=True, slots=True)
class UnreadLine:
    """A line that was not read. `matters`: it holds figures, or stands where a sheet's line was expected."""

    number: int
    text: str
    why: str
    matters: bool


@dataclass(frozen=True, slots=True)
class FoundSheet:
    """One skater's sheet. `who` as printed, for choosing only: it is not part of the sheet and never stored."""

    who: str
    rank: int | None
    start: int | None
    sheet: OfficialSheet


@dataclass(frozen=True, slots=True)
class SheetReading:
    """What was understood of a file."""

    sheets: tuple[FoundSheet, ...]
    unread: tuple[UnreadLine, ...]

    @property
    def doubtful(self) -> tuple[UnreadLine, ...]:
        """Unread lines that may belong to a sheet."""
        return tuple(line for line in self.unread if line.matters)


@dataclass
class _Draft:
    """A sheet while its lines are read."""

    summary: Summary | None = None
    rows: list[SheetRow] = field(default_factory=list)
    components: list[SheetComponent] = field(default_factory=list)
    base_line: BaseLine | None = None
    component_sum: int | None = None
    deductions: Deductions | None = None

    def found(self) -> FoundSheet:
        """The finished sheet."""
        said, below, base = self.summary, self.deductions, self.base_line
        sheet = OfficialSheet(
            rows=tuple(self.rows),
            components=tuple(self.components),
            base_total=base.base if base else None,
            element_score=base.elements if base else said.elements if said else None,
            component_score=said.components if said else self.component_sum,
            component_sum=self.component_sum,
            deductions=said.deductions if said else below.total if below else None,
            detail=below.detail if below else (),
            total=said.total if said else None,
        )
        if said is None:
            return FoundSheet("", None, None, sheet)
        return FoundSheet(said.who, said.rank, said.start, sheet)


def read_text(text: str) -> SheetReading:
    """Every sheet in pasted text or in a table. Raises InputError when it is too long to be sheets."""
    return read_lines(_table_lines(text) or text.splitlines())


def read_lines(lines: Iterable[str]) -> SheetReading:
    """Every sheet in these lines."""
    drafts: list[_Draft] = []
    unread: list[UnreadLine] = []
    for number, text in enumerate(lines, start=1):
        if number > MOST_LINES:
            raise InputError(
                say("sheet"),
                say(
                    "more than %(given)s lines given; expected the sheets of one event",
                    given=MOST_LINES,
                ),
            )
        if not text.strip():
            continue
        why = _take(drafts, read_line(text))
        if why is not None:
            said, matters = why
            unread.append(UnreadLine(number, text.strip()[:200], said, matters))
        if len(drafts) > MOST_SHEETS:
            raise InputError(
                say("sheet"),
                say(
                    "more than %(most_sheets)s skaters; expected the sheets of one event",
                    most_sheets=MOST_SHEETS,
                ),
            )
    found = tuple(draft.found() for draft in drafts if draft.rows)
    return SheetReading(found, tuple(unread))


def _take(drafts: list[_Draft], line: object) -> tuple[str, bool] | None:
    """Put a line where it belongs; the reason, and whether it matters, where it belongs nowhere."""
    if isinstance(line, Other):
        return say("no part of a sheet: a title, a column's head or a legend"), False
    if isinstance(line, Unread):
        return line.why, True
    if isinstance(line, Summary):
        drafts.append(_Draft(line))
        return None
    if isinstance(line, SheetRow):
        if not drafts or (drafts[-1].rows and line.number <= drafts[-1].rows[-1].number):
            drafts.append(_Draft())
        drafts[-1].rows.append(line)
        return None
    if not drafts or not drafts[-1].rows:
        return say("stands before the first element of a sheet"), True
    return _below(drafts[-1], line)


def _below(draft: _Draft, line: object) -> tuple[str, bool] | None:
    """A line below the elements: each stands once on a sheet."""
    if isinstance(line, SheetComponent):
        if line.name in {one.name for one in draft.components}:
            return say("%(name)s stands on this sheet already", name=line.name), True
        draft.components.append(line)
    elif isinstance(line, BaseLine) and draft.base_line is None:
        draft.base_line = line
    elif isinstance(line, ComponentSum) and draft.component_sum is None:
        draft.component_sum = line.points
    elif isinstance(line, Deductions) and draft.deductions is None:
        draft.deductions = line
    else:
        return say("a line of this kind stands on this sheet already"), True
    return None


_DELIMITED = re.compile(r"\s*\"?\d{1,2}\"?\s*(?P<delimiter>[,;\t])\s*\"?[1-5A-Z]")


def _table_lines(text: str) -> list[str] | None:
    """The lines of a table with its cells put side by side; None when the text is no table."""
    found = next((m for m in map(_DELIMITED.match, text.splitlines()[:MOST_LINES]) if m), None)
    if found is None:
        return None
    delimiter = found["delimiter"]
    try:
        cells = list(csv.reader(io.StringIO(text), delimiter=delimiter))
    except csv.Error as error:
        raise InputError(say("sheet"), say("a table that cannot be read: %(error)s", error=error)) from None
    return [" ".join(_cell(one, delimiter) for one in row if one.strip()) for row in cells]


def _cell(text: str, delimiter: str) -> str:
    """A cell; a decimal comma, where commas do not part the cells, becomes a point."""
    return text.strip() if delimiter == "," else re.sub(r"(?<=\d),(?=\d\d\b)", ".", text.strip())
