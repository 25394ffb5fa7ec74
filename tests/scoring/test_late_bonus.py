"""Which jump elements get the late factor: the last three (free) or the last one (short) of those started late.

Source: Communication 2176; sheets: an element without value uses up a place (no program of 1605 has it otherwise).
"""

from __future__ import annotations

import pytest

from app.rulebook.editions import edition
from app.scoring.late_bonus import credited

FREE, SHORT = "isu/2025-26/senior/women/free", "isu/2025-26/senior/women/short"
NOVICE = "isu/2022-23/intermediate-novice/all/free"


@pytest.mark.parametrize(
    ("name", "late", "chosen"),
    [
        (FREE, "eeeelll", "....xxx"),
        (FREE, "eeellll", "....xxx"),  # the fourth from the end gets nothing
        (FREE, "eeeeell", ".....xx"),  # fewer done: only those
        (FREE, "eeeeeee", "......."),
        (FREE, "lllllll", "....xxx"),
        (FREE, "lleeeee", "xx....."),  # by order of starting late, not by place (an odd log, still answered)
        (FREE, "", ""),
        (SHORT, "ell", "..x"),
        (SHORT, "eel", "..x"),
        (SHORT, "eee", "..."),
        (NOVICE, "eelll", "....."),  # no second-half factor for novices (common practice)
    ],
)
def test_the_last_ones_are_credited(name: str, late: str, chosen: str) -> None:
    answer = credited(edition(name), [one == "l" for one in late])
    assert "".join("x" if yes else "." for yes in answer) == chosen
