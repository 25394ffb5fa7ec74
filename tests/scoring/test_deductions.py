"""Falls. Sheets 2018/19-2025/26: seniors 2, 4, 6 points for two, three, four falls; juniors one each.

The fifth fall (3 points): technical panel slides 2026. Novice 0.5 each: Communication 2396.
"""

from __future__ import annotations

import pytest

from app.errors import InputError
from app.rulebook.editions import edition
from app.scoring.deductions import falls_deduction


@pytest.mark.parametrize(
    ("name", "falls", "points"),
    [
        *(
            ("isu/2025-26/senior/women/free", falls, points)
            for falls, points in enumerate([0, -100, -200, -400, -600])
        ),
        ("isu/2025-26/senior/women/free", 5, -900),
        ("isu/2025-26/senior/women/free", 6, -1200),
        ("isu/2025-26/senior/men/short", 3, -400),
        ("isu/2018-19/senior/men/free", 4, -600),
        ("isu/2025-26/junior/men/free", 5, -500),
        ("isu/2022-23/intermediate-novice/all/free", 3, -150),
    ],
)
def test_falls_grow_dearer_for_seniors(name: str, falls: int, points: int) -> None:
    assert falls_deduction(edition(name), falls) == points


def test_fewer_than_no_falls_is_refused() -> None:
    with pytest.raises(InputError, match="falls: -1; expected zero or more"):
        falls_deduction(edition("isu/2025-26/junior/men/free"), -1)
