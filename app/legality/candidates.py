"""The second door to legality: what the rulebook still leaves, and whether a next element counts in full.

Written from the quotas, not by asking the judge; a test holds the two to each other on thousands of states.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.elements import JumpElement
from app.legality.repeats import CLAUSE, repeat_class
from app.legality.tally import Tally
from app.legality.units import BESIDE, NEVER, unit_facts
from app.rulebook.editions import Edition

_NAMES = ("2T", "2S", "2Lo", "2F", "2Lz", "2A")


@dataclass(frozen=True, slots=True)
class LeftToUse:
    """What a free skating still has room for."""

    boxes: int
    units: int
    three_jump_unit: bool
    sequence: bool
    euler: bool | None
    """None where Eulers are not limited."""
    repeats: int
    """Different triples, quads and quintuples that may still be executed a second time."""
    quad_repeats: int
    doubles: dict[str, int]
    """Executions left of each double, the double Axel included."""
    families: dict[str, int] | None
    """Executions left of each take-off; None where there is no such cap."""
    axel_owed: bool
    used_up: tuple[str, ...]
    """What is gone, in words."""


def left_to_use(edition: Edition, tally: Tally) -> LeftToUse:
    """What is left after `tally`, in numbers and words."""
    units = edition.rules.units
    unit_places = max(units.most - tally.units, 0) if units else 0
    repeats, quads = _repeats_left(edition, tally)
    families = _families_left(edition, tally)
    doubles = {name: _executions_left(edition, tally, name) for name in _NAMES}
    euler_most = edition.rules.euler.most
    left = LeftToUse(
        boxes=max(edition.boxes - tally.boxes, 0),
        units=unit_places,
        three_jump_unit=bool(units and unit_places and tally.long_units < units.most_long),
        sequence=bool(units and unit_places and tally.sequences < units.most_sequences),
        euler=None if euler_most is None else tally.eulers < euler_most,
        repeats=repeats,
        quad_repeats=quads,
        doubles=doubles,
        families=families,
        axel_owed=edition.rules.axel.required and not tally.axel,
        used_up=(),
    )
    return LeftToUse(**{**_as_dict(left), "used_up": _used_up(edition, tally, left)})


def _as_dict(left: LeftToUse) -> dict[str, object]:
    return {name: getattr(left, name) for name in LeftToUse.__slots__}


def _executions_left(edition: Edition, tally: Tally, name: str) -> int:
    governing = repeat_class(edition, int(name[0]))
    most = governing.executions if governing else 99
    if governing and governing.most_repeated is not None:
        repeated = tally.repeated_names(governing.revolutions)
        if len(repeated) >= governing.most_repeated and name not in repeated:
            most = 1
    left = max(most - tally.times(name), 0)
    families = _families_left(edition, tally)
    return min(left, families[name[1:]]) if families else left


def _families_left(edition: Edition, tally: Tally) -> dict[str, int] | None:
    family = edition.rules.family
    if family is None or family.most is None:
        return None
    return {t: max(family.most - tally.family_times(t), 0) for t in ("T", "S", "Lo", "F", "Lz", "A")}


def _repeats_left(edition: Edition, tally: Tally) -> tuple[int, int]:
    governing = repeat_class(edition, 3)
    if governing is None or governing.most_repeated is None:
        return 0, 0
    left = max(governing.most_repeated - len(tally.repeated_names(governing.revolutions)), 0)
    within = governing.most_repeated_within or 0
    return left, min(left, max(within - len(tally.repeated_names(governing.within)), 0))


def _used_up(edition: Edition, tally: Tally, left: LeftToUse) -> tuple[str, ...]:
    words = []
    if not left.boxes:
        words.append("no more jump elements: all boxes used")
    if edition.rules.units and not left.units:
        words.append("no more combinations or sequences")
    elif not left.three_jump_unit and edition.rules.units and edition.rules.units.most_long:
        words.append("no more three-jump unit")
    for takeoff, count in (left.families or {}).items():
        if not count:
            words.append(f"no more {takeoff} of any kind: three used")
    gone = {takeoff for takeoff, count in (left.families or {}).items() if not count}
    for name, count in left.doubles.items():
        if not count and name[1:] not in gone:
            words.append(f"no more {name}: {_word(tally.times(name))} used")
    words.extend(_triples_gone(edition, tally, gone, left.repeats))
    if left.euler is False:
        words.append("no more Euler: one used")
    return tuple(words)


def _triples_gone(edition: Edition, tally: Tally, gone: set[str], repeats: int) -> list[str]:
    words = []
    for one in tally.executed:
        governing = repeat_class(edition, int(one.name[0]))
        if int(one.name[0]) < 3 or one.name[1:] in gone or governing is None:
            continue
        if one.times >= governing.executions:
            words.append(f"no more {one.name}: {_word(one.times)} used")
        elif not repeats and governing.most_repeated is not None:
            words.append(f"no more {one.name}: both repeats used")
    return words


def _word(times: int) -> str:
    return {1: "one", 2: "two", 3: "three"}.get(times, str(times))


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
    allowed = edition.rules.allowed
    times = {one.name: one.times for one in tally.executed}
    units_seen = {one.name: one.in_unit for one in tally.executed}
    repeated = {one.name for one in tally.executed if one.repeated}
    families = _families_left(edition, tally)
    for jump in element.jumps:
        if jump.is_euler:
            continue
        name, revolutions = jump.name, jump.revolutions
        if revolutions not in allowed.revolutions or name in allowed.forbidden:
            return False
        if revolutions in allowed.solo_only and len(element.jumps) > 1:
            return False
        if families is not None:
            families[jump.takeoff] -= 1
            if families[jump.takeoff] < 0:
                return False
        governing = repeat_class(edition, revolutions or 0)
        count = times.get(name, 0)
        times[name] = count + 1
        if governing is None or count == 0:
            units_seen[name] = units_seen.get(name, False) or in_unit
            continue
        if count >= governing.executions:
            return False
        repeated.add(name)
        if edition.reading(CLAUSE) != "dropped":
            if not _within(repeated, governing.revolutions, governing.most_repeated):
                return False
            if not _within(repeated, governing.within, governing.most_repeated_within):
                return False
        if governing.solo_loses and not (in_unit or units_seen[name]):
            return False
    return True


def _within(repeated: set[str], revolutions: tuple[int, ...], most: int | None) -> bool:
    return most is None or sum(1 for name in repeated if int(name[0]) in revolutions) <= most
