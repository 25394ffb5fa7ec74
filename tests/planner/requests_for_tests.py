"""Small requests the planner tests start from. Invented figures."""

from __future__ import annotations

from typing import Any

FREE = "isu/2025-26/senior/women/free"
SHORT = "isu/2025-26/senior/women/short"
Request = dict[str, Any]


def clean(*codes: str) -> Request:
    """Attempts that always become themselves with a grade of 0."""
    return {code: [{"becomes": code, "chance": 1}] for code in codes}


def one_pass(options: list[str | None], planned: str | None = None, **more: Any) -> Request:
    """One pass of a free skating with attempts that always become themselves."""
    codes = [code for code in options if code is not None]
    request = {
        "edition": FREE,
        "passes": [{"planned": planned or options[0], "options": options}],
        "attempts": clean(*codes),
    }
    return {**request, **more}


def two_passes(first: list[str | None], second: list[str | None], **more: Any) -> Request:
    """Two passes, the first option of each planned."""
    codes = [code for code in (*first, *second) if code is not None]
    rows = [{"planned": row[0], "options": row} for row in (first, second)]
    return {"edition": FREE, "passes": rows, "attempts": clean(*codes), **more}
