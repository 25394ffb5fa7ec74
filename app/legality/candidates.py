"""The second door to legality: would a next element count in full?

Written from the quotas, not by asking the judge; a test holds the two to each other on thousands of states.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from app.domain.elements import Jump, JumpElement
from app.legality.left import LeftToUse, families_left, left_to_use
from app.legality.limits import limits_of
from app.legality.repeats import CLAUSE, repeat_class
from app.legality.tally import Tally
from app.legality.units import BESIDE, NEVER, holds_inside, unit_facts
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
    # No more jumps of some revolutions than one unit of that length may hold.
    for limit in units.inside:
        if facts.listed >= limit.jumps and sum(holds_inside(limit, j) for j in element.jumps) > limit.most:
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
    if jump.revolutions is None or not allowed.allows(jump.name):
        return False
    return jump.revolutions not in allowed.solo_only or jumps == 1


@dataclass
class _Counts:
    """Running counts while the jumps of one element are added."""

    times: dict[str, int]
    in_unit: dict[str, bool]
    repeated: set[str]
    takeoffs: set[str] = field(default_factory=set)
    """Take-offs that hold a place of the quota of repeated take-offs."""
    groups: list[set[str]] = field(default_factory=list)
    """Different jumps of each limit."""
    families: dict[str, int] | None = field(default=None)

    @classmethod
    def of(cls, edition: Edition, tally: Tally) -> _Counts:
        return cls(
            {one.name: one.times for one in tally.executed},
            {one.name: one.in_unit for one in tally.executed},
            {one.name for one in tally.executed if one.repeated},
            set(tally.repeated_takeoffs),
            [
                {name for number, name in tally.admitted if number == place}
                for place in range(len(limits_of(edition)))
            ],
            families_left(edition, tally),
        )

    def takes(self, edition: Edition, jump: Jump, in_unit: bool) -> bool:
        """Count one more jump; False when a quota is exceeded or the repeat would lose."""
        name = jump.name
        if self.families is not None:
            self.families[jump.takeoff] -= 1
            if self.families[jump.takeoff] < 0:
                return False
        if not self._takeoff_fits(edition, jump) or not self._groups_fit(edition, name):
            return False
        before = self.times.get(name, 0)
        self.times[name] = before + 1
        seen_in_unit = self.in_unit.get(name, False)
        self.in_unit[name] = seen_in_unit or in_unit
        governing = repeat_class(edition, name)
        if governing is None or before == 0:
            return True
        self.repeated.add(name)
        if before >= governing.executions:
            return False
        if edition.reading(CLAUSE) != "dropped" or governing.most_repeated is None:
            same = [other for other in self.repeated if repeat_class(edition, other) is governing]
            if governing.most_repeated is not None and len(same) > governing.most_repeated:
                return False
            within = [other for other in same if int(other[0]) in governing.within]
            if governing.most_repeated_within is not None and len(within) > governing.most_repeated_within:
                return False
        return not governing.solo_loses or in_unit or seen_in_unit

    def _takeoff_fits(self, edition: Edition, jump: Jump) -> bool:
        """Is there a place for one more of this take-off, where only some may be repeated?"""
        family = edition.rules.family
        if family is None or family.most_repeated is None:
            return True
        if any(times and name[1:] == jump.takeoff for name, times in self.times.items()):
            self.takeoffs.add(jump.takeoff)
        return len(self.takeoffs) <= family.most_repeated

    def _groups_fit(self, edition: Edition, name: str) -> bool:
        """Is there a place in every limit of a group that holds this jump?"""
        for group, different in zip(limits_of(edition), self.groups, strict=True):
            if not group.holds(name):
                continue
            together = sum(times for other, times in self.times.items() if group.holds(other))
            if group.most is not None and together >= group.most:
                return False
            if group.most_different is not None:
                different.add(name)
                if len(different) > group.most_different:
                    return False
        return True
