"""The second door to legality: would a next element count in full?

Written from the quotas, not by asking the judge; a test holds the two to each other on thousands of states.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from app.domain.elements import Jump, JumpElement
from app.legality.left import LeftToUse, families_left, left_to_use
from app.legality.repeats import CLAUSE, repeat_class
from app.legality.tally import Tally
from app.legality.units import BESIDE, NEVER, unit_facts
from app.rulebook.editions import Edition


def counts_in_full(edition: Edition, tally: Tally, element: JumpElement) -> bool:
    """Would every jump of this next element count in full? (Free skating.)"""
    facts = unit_facts(edition, element)
    units = edition.rules.units
    left = left_to_use(edition, tally)
    if not left.boxes or units is None:
        return False
    if left.axel_owed and left.boxes == 1 and not any(jump.is_axel for jump in element.jumps):
        return False
    if any(jump.is_euler for jump in (element.jumps[0], element.jumps[-1])):
        return False
    if element.broken_after < len(element.jumps):
        return False
    if facts.is_unit and not _unit_fits(edition, tally, element, left):
        return False
    return _jumps_fit(edition, tally, element, facts.is_unit)


def _unit_fits(edition: Edition, tally: Tally, element: JumpElement, left: LeftToUse) -> bool:
    facts = unit_facts(edition, element)
    units = edition.rules.units
    if units is None or not left.units or (facts.is_sequence and not left.sequence):
        return False
    if facts.listed > (units.most_jumps if left.three_jump_unit else units.usual_jumps):
        return False
    most = edition.rules.euler.most
    if most is not None and facts.eulers and tally.eulers + facts.eulers > most:
        return False
    reading = edition.reading(BESIDE)
    if reading is None:
        return True
    if reading == NEVER:
        return not (
            (facts.is_sequence and (tally.eulers or facts.eulers)) or (facts.eulers and tally.sequences)
        )
    if facts.is_sequence:
        return not tally.eulers_in_combinations
    return not (facts.eulers and tally.sequences)


def _jumps_fit(edition: Edition, tally: Tally, element: JumpElement, in_unit: bool) -> bool:
    """Every jump allowed, and its executions within every quota, counted left to right."""
    counts = _Counts.of(edition, tally)
    jumps = [jump for jump in element.jumps if not jump.is_euler]
    return all(
        _allowed(edition, jump, len(element.jumps)) and counts.takes(edition, jump, in_unit) for jump in jumps
    )


def _allowed(edition: Edition, jump: Jump, jumps: int) -> bool:
    allowed = edition.rules.allowed
    if jump.revolutions not in allowed.revolutions or jump.name in allowed.forbidden:
        return False
    return jump.revolutions not in allowed.solo_only or jumps == 1


@dataclass
class _Counts:
    """Running counts while the jumps of one element are added."""

    times: dict[str, int]
    in_unit: dict[str, bool]
    repeated: set[str]
    families: dict[str, int] | None = field(default=None)

    @classmethod
    def of(cls, edition: Edition, tally: Tally) -> _Counts:
        return cls(
            {one.name: one.times for one in tally.executed},
            {one.name: one.in_unit for one in tally.executed},
            {one.name for one in tally.executed if one.repeated},
            families_left(edition, tally),
        )

    def takes(self, edition: Edition, jump: Jump, in_unit: bool) -> bool:
        """Count one more jump; False when a quota is exceeded or the repeat would lose."""
        name = jump.name
        if self.families is not None:
            self.families[jump.takeoff] -= 1
            if self.families[jump.takeoff] < 0:
                return False
        before = self.times.get(name, 0)
        self.times[name] = before + 1
        seen_in_unit = self.in_unit.get(name, False)
        self.in_unit[name] = seen_in_unit or in_unit
        governing = repeat_class(edition, jump.revolutions or 0)
        if governing is None or before == 0:
            return True
        self.repeated.add(name)
        if before >= governing.executions:
            return False
        if edition.reading(CLAUSE) != "dropped" or governing.most_repeated is None:
            if not self._within(governing.revolutions, governing.most_repeated):
                return False
            if not self._within(governing.within, governing.most_repeated_within):
                return False
        return not governing.solo_loses or in_unit or seen_in_unit

    def _within(self, revolutions: tuple[int, ...], most: int | None) -> bool:
        return most is None or sum(1 for name in self.repeated if int(name[0]) in revolutions) <= most
