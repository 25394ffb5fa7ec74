"""The invented demo skater's free skating of 2025/26 with a lost tail, and the sheet a panel might print for it.

Figures are the rulebook's own for these calls, every grade -1, 0 or 1: what the rulebook makes of a skate is checked
elsewhere; here a sheet that agrees with it is needed.
"""

from __future__ import annotations

from typing import Any

from app import engine

FREE = "isu/2025-26/senior/women/free"
TAPS = (
    "3Lz+3T lost-2",
    "3F planned",
    "2A planned",
    "3Lo planned",
    "3F+2T+2Lo planned",
    "3S+2T planned",
    "2A planned",
)
"""What was logged: the tail of the first pass lost, nothing tried in its place."""

CALLED = (
    ("3Lz", False, 0),
    ("3F<", False, -1),
    ("2A", False, 1),
    ("FCSp4", False, 1),
    ("StSq3", False, 1),
    ("3Lo", True, 1),
    ("3F+2T+2Lo", True, 0),
    ("CCoSp4", False, 1),
    ("3S+2T", True, 1),
    ("2A", True, 0),
    ("ChSq1", False, 1),
    ("LSp4", False, 0),
)


def sheet() -> dict[str, Any]:
    """The sheet as a row of check data."""
    marks = [{"code": code, "late": late, "judges": [grade] * 5} for code, late, grade in CALLED]
    said = engine.score({"edition": FREE, "elements": marks})
    elements = [
        {
            "n": number,
            "code": line.code,
            "info": "<" if "<" in line.code else "",
            "base_value": line.base_value / 100,
            "x": line.credited,
            "goe": goe / 100,
            "judges": mark["judges"],
            "score": (line.base_value + goe) / 100,
        }
        for number, (line, goe, mark) in enumerate(zip(said.lines, said.goes, marks, strict=True), start=1)
    ]
    score = said.element_score / 100
    return {
        "elements": elements,
        "components": [{"name": "Composition", "factor": 2.67, "judges": [8.0] * 5, "score": 8.0}],
        "tes": score,
        "pcs": 21.36,
        "deductions": 0.0,
        "deduction_detail": {},
        "falls": 0,
        "total": round(score + 21.36, 2),
    }
