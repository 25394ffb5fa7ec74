"""The tally: everything about the jumps done so far that any rule may still look at.

Rules see only the tally; tally and pass number together are the planner's state. A field that no rule
reads does not belong here, and a rule that needs more must add its field here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True, order=True)
class Executed:
    """How one jump (`3T`, whatever the calls) has been executed so far."""

    name: str
    times: int
    in_unit: bool
    """At least one execution stood in a combination or sequence."""
    repeated: bool
    """It holds one of the places of the repeat quota."""


@dataclass(frozen=True, slots=True)
class Tally:
    """Executed so far, in a free skating."""

    boxes: int = 0
    units: int = 0
    long_units: int = 0
    sequences: int = 0
    eulers: int = 0
    eulers_in_combinations: int = 0
    axel: bool = False
    """An Axel-type jump was attempted, with value or without."""
    executed: tuple[Executed, ...] = ()
    """Sorted by name, so that equal tallies compare equal."""
    repeated_takeoffs: tuple[str, ...] = ()
    """Take-offs that hold a place of the quota of repeated take-offs, sorted; empty without such a quota."""
    admitted: tuple[tuple[int, str], ...] = ()
    """Jumps that hold a place of a quota of different jumps: number of the limit, name; sorted."""
    bonuses: tuple[tuple[str, ...], ...] = ()
    """For each row of the bonus table what was rewarded (or seen, for a variety), sorted."""
    bonus_points: int = 0
    """Hundredths of bonus so far, where the whole program has a cap."""

    def of(self, name: str) -> Executed:
        """The record of one jump; a fresh one when it was not executed yet."""
        for one in self.executed:
            if one.name == name:
                return one
        return Executed(name, 0, False, False)

    def times(self, name: str) -> int:
        return self.of(name).times

    def family_times(self, takeoff: str) -> int:
        """Executions of one take-off, whatever the revolutions."""
        return sum(one.times for one in self.executed if one.name[1:] == takeoff)

    def repeated_names(self, revolutions: tuple[int, ...]) -> tuple[str, ...]:
        """Jumps of these revolutions that hold a place of the repeat quota."""
        return tuple(one.name for one in self.executed if one.repeated and int(one.name[0]) in revolutions)

    def with_repeated_takeoff(self, takeoff: str) -> Tally:
        """The tally in which this take-off holds a place of the quota of repeated take-offs."""
        return replace(self, repeated_takeoffs=tuple(sorted({*self.repeated_takeoffs, takeoff})))

    def with_execution(self, executed: Executed) -> Tally:
        """The tally with one record replaced or added."""
        others = tuple(one for one in self.executed if one.name != executed.name)
        return replace(self, executed=tuple(sorted((*others, executed))))
