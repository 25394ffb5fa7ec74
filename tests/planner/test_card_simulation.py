"""Some thousands of random programs against the exact values; `scripts/simulate` plays a hundred thousand.

Four standard errors: a right value lies further off once in sixteen thousand times, and the seeds are fixed.
"""

from __future__ import annotations

import pytest

from app.planner.card import find_card
from tests.agreement.programs import Request, short_program, usual_program
from tests.planner.card_simulation import simulated

FEW = 2_000
CASES: dict[str, tuple[Request, int]] = {
    "women 2025/26": (usual_program("isu/2025-26/senior/women/free", 7, 4), 1),
    "men 2026/27": (usual_program("isu/2026-27/senior/men/free", 6, 5), 2),
    "short program": (short_program("isu/2025-26/senior/women/short", 5) | {"max_changes": 2}, 3),
}


@pytest.mark.parametrize("name", CASES)
def test_random_programs_agree_with_the_exact_values(name: str) -> None:
    request, seed = CASES[name]
    card = find_card(request, 4)
    assert card.rules, "a card without rules would be the plan over again"
    for way, found in simulated(request, card, FEW, seed).items():
        assert 0 < found.error < 0.3, way
        assert found.off <= 4, (way, found)
