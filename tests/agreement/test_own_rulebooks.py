"""The same agreement under rulebooks of one's own: whatever number a coach changes, every solver still says the same.

Outside fact: the definition of `value` in the `advise` contract, computed term by term (app/planner/exhaustive.py).
The changes are invented.
"""

from __future__ import annotations

from random import Random

import pytest

from app.rulebook.editions import SHELF, edition
from app.rulebook.own import changed, named
from tests.agreement.compare import faults_of
from tests.agreement.level_cases import HIGH, LevelDraw

WOMEN = "isu/2026-27/senior/women/free"
CHANGES = (
    {"boxes.most": "4"},
    {"repeats.classes.0.executions": "3"},
    {"repeats.classes.1.executions": "1"},
    {"repeats.classes.1.most_repeated": "0", "repeats.classes.1.most_repeated_within": "0"},
    {"repeats.classes.1.within": "", "repeats.classes.1.most_repeated_within": ""},
    {"repeats.classes.1.most_repeated": "5"},
    {"repeats.classes.1.solo_loses": "no"},
    {"repeats.classes.1.solo_keeps": "nothing"},
    {"family.most": ""},
    {"family.most": "1"},
    {"family.most": "5", "family.most_repeated": "1"},
    {"units.most": "1"},
    {"units.most_sequences": "0"},
    {"units.most_long": "0", "units.most_jumps": "2"},
    {"units.most_jumps": "4", "units.usual_jumps": "3"},
    {"units.marked_percent": "80"},
    {"euler.most": ""},
    {"euler.most": "0"},
    {"part.percent": "0"},
    {"part.percent": "100"},
    {"late.last": "5", "late.percent": "150"},
    {"late.first": "yes"},
    {"axel.required": "no"},
    {"falls.each.0": "0.00"},
    {"allowed.revolutions": "2, 3", "allowed.also": "1A", "allowed.forbidden": "3T"},
    {"grades.percent": "5"},
    {"grades.percent": "20"},
    # Late credit of more than 10.23 points for one element: the loops used to lose what was above.
    {"late.percent": "400"},
)  # fmt: skip


class OwnDraw(LevelDraw):
    """Draws one request under an own rulebook."""

    def _pool_of_jumps(self) -> list[str]:
        return self._random.sample(HIGH, self._random.randint(3, 6))


@pytest.mark.parametrize("number", range(len(CHANGES)))
def test_expected_points(number: int) -> None:
    draft = changed(edition(WOMEN), CHANGES[number])
    assert draft.edition is not None, draft.faults
    book = named(draft.edition, f"Change {number}", 1)
    SHELF.own[book.name] = book
    seeds = range(100 * number, 100 * number + 6)
    faults = {
        seed: found for seed in seeds if (found := faults_of(OwnDraw(Random(seed), book.name).request()))
    }
    assert not faults
