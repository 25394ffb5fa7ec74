"""Generated `advise` requests under the rulebooks of children's and national levels; one seed, one case.

Drawn like `cases`, with jumps of those levels and every kind of rule that the compiled loops do not know: bonuses,
quotas of groups and take-offs, limits inside a unit, no sequences. The bonus switch of Advanced Novice is drawn too.
"""

from __future__ import annotations

from random import Random

from app.rulebook.editions import edition
from tests.agreement.cases import Draw, Request

LOW = ["1T", "1Lo", "1S", "1F", "1A", "2T", "2Lo", "2S", "2F", "2A"]
HIGH = ["2T", "2Lo", "2S", "2A", "3T", "3S", "3Lo", "3F", "3A", "1A", "1Lo"]
LEVELS = {
    "isu/2022-23/basic-novice/all/free": LOW,
    "isu/2026-27/intermediate-novice/all/free": LOW,
    "isu/2024-25/advanced-novice/girls/free": HIGH,
    "isu/2026-27/advanced-novice/boys/free": HIGH,
    "isu/2024-25/advanced-novice/girls/short": HIGH,
    "usa/2025-26/aspire-4/all/free": LOW[:6],
    "usa/2025-26/preliminary/all/free": LOW,
    "usa/2025-26/juvenile/all/free": HIGH,
    "usa/2026-27/juvenile/all/free": HIGH,
    "usa/2025-26/intermediate/all/free": HIGH,
    "usa/2026-27/novice/women/free": HIGH,
    "usa/2025-26/junior/women/short": HIGH,
    "usa/2026-27/junior/men/free": [*HIGH, "4T", "4S"],
    "canada/2022-23/juvenile/all/free": LOW,
    "canada/2022-23/star-5/all/free": LOW,
    "canada/2022-23/pre-novice/all/free": HIGH,
    "club/2022-23/cubs-b/all/free": LOW,
    "club/2022-23/novice-b/girls/free": LOW,
}


def level_case(seed: int) -> Request:
    """The request of one seed; every seventeenth or so shares an edition."""
    return LevelDraw(Random(seed), list(LEVELS)[seed % len(LEVELS)]).request()


class LevelDraw(Draw):
    """Draws one request under a given rulebook."""

    def __init__(self, random: Random, name: str) -> None:
        self._name = name
        super().__init__(random)
        self._euler = edition(name).rules.euler.code

    def _edition(self) -> str:
        return self._name

    def _boxes(self) -> int:
        return edition(self._name).boxes

    def _pool_of_jumps(self) -> list[str]:
        return self._random.sample(LEVELS[self._name], self._random.randint(3, 6))

    def _switches(self) -> Request:
        switches = edition(self._name).rules.switches
        drawn = {
            name: self._random.choice(sorted(switch.readings))
            for name, switch in sorted(switches.items())
            if self._random.random() < 0.4
        }
        return {"switches": drawn} if drawn else {}
