"""An official score sheet as values: what the judges' details print for one skater, without the skater's name.

All points are whole hundredths; grades are whole; component marks are hundredths. Order of the columns as published
(public "judges details per skater" sheets): number, executed element, info, base value, x, GOE, each judge, reference,
panel score; components with factor; deductions; segment score = elements + components - deductions.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from pydantic import TypeAdapter

from app.domain.elements import Element, JumpElement
from app.domain.notation import parse_element
from app.domain.points import Points


@dataclass(frozen=True)
class SheetRow:
    """One printed element. `code` as printed, with `*` and `+REP`; `judges` hold None for a judge without a mark."""

    number: int
    code: str
    info: str
    base: Points
    late: bool
    """An x behind the base value."""
    goe: Points
    judges: tuple[int | None, ...]
    score: Points

    @cached_property
    def element(self) -> Element:
        """The printed code, read."""
        return parse_element(self.code)

    @property
    def is_jump(self) -> bool:
        return isinstance(self.element, JumpElement)

    @property
    def called(self) -> str:
        """The panel's own marks only, without `*` and `+REP`, which the rulebook finds."""
        return str(self.element.without_rulings())

    @property
    def fell(self) -> bool:
        """An F in the info column (printed from 2022/23 on)."""
        return "F" in self.info.split()

    @property
    def failed(self) -> bool:
        """An error that the sheet shows: a fall, a downgraded first jump, one popped to a single or to nothing."""
        first = self.called.split("+")[0]
        return self.fell or "<<" in first or first[0] not in "2345"


@dataclass(frozen=True, slots=True)
class SheetComponent:
    """One program component. `factor` in hundredths, `judges` in hundredths, `score` the mean before the factor."""

    name: str
    factor: int
    judges: tuple[int | None, ...]
    score: Points


@dataclass(frozen=True, slots=True)
class Deduction:
    """One kind of deduction: zero or negative; `count` where the sheet prints how many."""

    kind: str
    points: Points
    count: int | None = None

    @property
    def is_falls(self) -> bool:
        return self.kind.casefold().startswith("fall")


@dataclass(frozen=True, slots=True)
class OfficialSheet:
    """One skater's sheet. What a sheet does not print is None; `deductions` is zero or negative."""

    rows: tuple[SheetRow, ...]
    components: tuple[SheetComponent, ...] = ()
    base_total: Points | None = None
    element_score: Points | None = None
    component_score: Points | None = None
    component_sum: Points | None = None
    """The component score as printed a second time, below the components."""
    deductions: Points | None = None
    detail: tuple[Deduction, ...] = ()
    total: Points | None = None

    @property
    def jumps(self) -> tuple[SheetRow, ...]:
        return tuple(row for row in self.rows if row.is_jump)

    @property
    def gaps(self) -> tuple[int, ...]:
        """Numbers missing between the first and the last row."""
        there = {row.number for row in self.rows}
        return tuple(n for n in range(1, max(there, default=0)) if n not in there)

    @property
    def falls(self) -> int | None:
        """Falls as the deductions print them, else the F marks; None when the sheet has no deductions at all."""
        if self.deductions is None:
            return None
        printed = [one.count for one in self.detail if one.is_falls]
        if printed and printed[0] is not None:
            return printed[0]
        return 0 if not self.deductions else sum(row.fell for row in self.rows)

    @property
    def other_deductions(self) -> Points | None:
        """Deductions that are not for falls, where the sheet says which are which; None where it prints a sum only."""
        if self.detail or not self.deductions:
            return sum(one.points for one in self.detail if not one.is_falls)
        return None

    def late_flags(self) -> tuple[bool, ...]:
        """Which rows started in the second half, as far as a sheet tells.

        Credit goes to the last jump elements that started late, so behind the first x every jump was late too.
        """
        flags, started = [], False
        for row in self.rows:
            started = started or (row.is_jump and row.late)
            flags.append(started and row.is_jump)
        return tuple(flags)


_READER = TypeAdapter(OfficialSheet)


def sheet_json(sheet: OfficialSheet) -> dict[str, Any]:
    """A sheet as plain JSON data."""
    plain = asdict(sheet)
    for row in plain["rows"]:
        row.pop("element", None)
    return plain


def sheet_from_json(data: Any) -> OfficialSheet:
    """The other way; what is no part of a sheet is dropped.

    Raises ValueError for data that were never a sheet, NotationError for a code that cannot be read.
    """
    sheet = _READER.validate_python(data)
    for row in sheet.rows:
        parse_element(row.code)
    return sheet


def as_decimal(hundredths: int) -> Decimal:
    """Hundredths as the decimal number printed."""
    return Decimal(hundredths) / 100
