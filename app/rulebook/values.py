"""Value tables: base value of every code and variant, in hundredths, with its source.

One CSV a season under `data/values/`, columns code, variant, base_value, source. Spins carry the
variant `V`. Source of the figures: the `source` column of each row.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

from app.domain.points import Points, read_points
from app.errors import InputError, RulebookError

_COLUMNS = ["code", "variant", "base_value", "source"]


@dataclass(frozen=True, slots=True)
class ValueTable:
    """Base values of one season."""

    name: str
    rows: Mapping[tuple[str, str], Points]
    sources: Mapping[tuple[str, str], str]

    def value(self, code: str, variant: str = "clean") -> Points:
        """Base value in hundredths. Raises InputError naming the code when the table has no such row."""
        try:
            return self.rows[code, variant]
        except KeyError:
            raise InputError("code", self._missing(code, variant)) from None

    def has(self, code: str, variant: str = "clean") -> bool:
        return (code, variant) in self.rows

    def _missing(self, code: str, variant: str) -> str:
        variants = sorted(v for c, v in self.rows if c == code)
        if variants:
            return f"the values of {self.name} know {code} only as {', '.join(variants)}, not {variant!r}"
        return f"the values of {self.name} have no {code!r}; add a row to data/values/{self.name}.csv"


def load_values(path: Path) -> ValueTable:
    """Read and check one value table. Raises RulebookError naming file and row."""
    rows: dict[tuple[str, str], Points] = {}
    sources: dict[tuple[str, str], str] = {}
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise RulebookError(path.name, f"not UTF-8 text ({error.reason}); save it as UTF-8") from None
    with StringIO(text, newline="") as file:
        reader = csv.reader(file)
        if next(reader, None) != _COLUMNS:
            raise RulebookError(path.name, f"first line must be {','.join(_COLUMNS)}")
        for number, row in enumerate(reader, start=2):
            key, points, source = _read_row(f"{path.name}, row {number}", row)
            if key in rows:
                raise RulebookError(f"{path.name}, row {number}", f"{key[0]} {key[1]} stands twice")
            rows[key], sources[key] = points, source
    return ValueTable(path.stem, rows, sources)


def _read_row(where: str, row: list[str]) -> tuple[tuple[str, str], Points, str]:
    if len(row) != len(_COLUMNS):
        raise RulebookError(where, f"expected {len(_COLUMNS)} columns, got {len(row)}")
    code, variant, base_value, source = row
    if not source.strip():
        raise RulebookError(where, f"{code} {variant} has no source")
    try:
        points = read_points(base_value)
    except ValueError as error:
        raise RulebookError(where, f"base_value {error}") from None
    if points < 0:
        raise RulebookError(where, f"base_value {base_value} is below zero")
    return (code, variant), points, source
