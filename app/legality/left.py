"""What the rulebook still leaves after the jumps done so far, in numbers and in words.

Written from the quotas, not by asking the judge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from app.domain.words import both, say
from app.legality.limits import admitted_to, executed_of, group_words, limits_of
from app.legality.repeats import CLAUSE, holders, holders_within, repeat_class
from app.legality.tally import Executed, Tally
from app.legality.units import BESIDE, NEVER
from app.rulebook.editions import Edition
from app.rulebook.schema import RepeatClass

DOUBLES = ("2T", "2S", "2Lo", "2F", "2Lz", "2A")
TAKEOFFS = ("T", "S", "Lo", "F", "Lz", "A")
NO_LIMIT = 99
"""Stands for any number where the rulebook sets none."""


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
    """Different triples, quads and quintuples that may still be executed a second time; NO_LIMIT without a quota."""
    quad_repeats: int
    doubles: dict[str, int]
    """Executions left of each double, the double Axel included; NO_LIMIT where they are not limited."""
    families: dict[str, int] | None
    """Executions left of each take-off; None where there is no such cap."""
    axel_owed: bool
    used_up: tuple[str, ...]
    """What is gone, in words."""


def left_to_use(edition: Edition, tally: Tally) -> LeftToUse:
    """What is left after `tally`, in numbers and words."""
    units = edition.rules.units
    places = max(units.most - tally.units, 0) if units else 0
    repeats, quads = repeats_left(edition, tally)
    families = families_left(edition, tally)
    return LeftToUse(
        boxes=max(edition.boxes - tally.boxes, 0),
        units=places,
        three_jump_unit=bool(units and places and tally.long_units < units.most_long),
        sequence=places > 0 and _sequence_left(edition, tally),
        euler=_euler_left(edition, tally, places),
        repeats=repeats,
        quad_repeats=quads,
        doubles={name: executions_left(edition, tally, name) for name in DOUBLES},
        families=families,
        axel_owed=edition.rules.axel.required and not tally.axel,
        used_up=tuple(_used_up(edition, tally)),
    )


def _sequence_left(edition: Edition, tally: Tally) -> bool:
    units = edition.rules.units
    if units is None or tally.sequences >= units.most_sequences:
        return False
    reading = edition.reading(BESIDE)
    earlier = tally.eulers if reading == NEVER else tally.eulers_in_combinations
    return reading is None or not earlier


def _euler_left(edition: Edition, tally: Tally, places: int) -> bool | None:
    """May an Euler still count? Beside a sequence only inside one, by the reading in force."""
    most = edition.rules.euler.most
    if most is None:
        return None
    if tally.eulers >= most or not places:
        return False
    reading = edition.reading(BESIDE)
    # A sequence already done bars the Euler from every combination; another sequence would have to be left.
    return reading is None or not tally.sequences or (reading != NEVER and _sequence_left(edition, tally))


def executions_left(edition: Edition, tally: Tally, name: str) -> int:
    """How often one jump may still be executed; NO_LIMIT where it is not limited."""
    governing = repeat_class(edition, name)
    times = tally.times(name)
    left = max(governing.executions - times, 0) if governing else NO_LIMIT
    if governing and left:
        # The first execution is free, the second needs a place of the quota.
        barred = repeat_barred(edition, tally, governing, name)
        left = min(left, max(1 - times, 0)) if barred else left
    families = families_left(edition, tally)
    left = min(left, families[name[1:]]) if families else left
    if takeoff_barred(edition, tally, name[1:]):
        left = min(left, 0 if tally.family_times(name[1:]) else 1)
    return min(left, group_left(edition, tally, name))


def takeoff_barred(edition: Edition, tally: Tally, takeoff: str) -> str:
    """The take-offs whose repeats leave no place for another one's, in words; empty: there is a place."""
    family = edition.rules.family
    others = tally.repeated_takeoffs
    if family is None or family.most_repeated is None or takeoff in others:
        return ""
    return (both(others) or say("no take-off")) if len(others) >= family.most_repeated else ""


def group_left(edition: Edition, tally: Tally, name: str) -> int:
    """Executions that the quotas of its groups leave a jump; NO_LIMIT where there are none."""
    left = NO_LIMIT
    for place, group in enumerate(limits_of(edition)):
        if not group.holds(name):
            continue
        if group.most is not None:
            left = min(left, max(group.most - executed_of(tally, group), 0))
        others = admitted_to(tally, place)
        if group.most_different is not None and name not in others and len(others) >= group.most_different:
            left = 0
    return left


def repeat_barred(edition: Edition, tally: Tally, governing: RepeatClass, name: str) -> str:
    """The jumps whose repeats leave no place for a repeat of `name`, in words; empty: there is a place."""
    if tally.of(name).repeated or (
        governing.most_repeated is not None and edition.reading(CLAUSE) == "dropped"
    ):
        return ""
    repeated = holders(edition, tally, governing)
    if governing.most_repeated is not None and len(repeated) >= governing.most_repeated:
        return both(repeated)
    within = holders_within(edition, tally, governing)
    most = governing.most_repeated_within
    if most is not None and int(name[0]) in governing.within and len(within) >= most:
        return both(within)
    return ""


def families_left(edition: Edition, tally: Tally) -> dict[str, int] | None:
    """Executions left of each take-off; None without such a cap."""
    family = edition.rules.family
    if family is None or family.most is None:
        return None
    return {takeoff: max(family.most - tally.family_times(takeoff), 0) for takeoff in TAKEOFFS}


def repeats_left(edition: Edition, tally: Tally) -> tuple[int, int]:
    """Places left in the repeat quota of triples and more, and in its part for quads; NO_LIMIT without a quota."""
    governing = repeat_class(edition, "3T")
    if governing is None or governing.most_repeated is None or edition.reading(CLAUSE) == "dropped":
        return NO_LIMIT, NO_LIMIT
    left = max(governing.most_repeated - len(holders(edition, tally, governing)), 0)
    within = governing.most_repeated_within
    quads = left if within is None else max(within - len(holders_within(edition, tally, governing)), 0)
    return left, min(left, quads)


def _used_up(edition: Edition, tally: Tally) -> Iterator[str]:
    """Sentences on what is gone, the widest first."""
    if tally.boxes >= edition.boxes:
        yield say("no more jump elements: all boxes used")
    yield from _units_gone(edition, tally)
    families = families_left(edition, tally) or {}
    most = edition.rules.family.most if edition.rules.family else None
    for takeoff, count in families.items():
        if not count and most is not None:
            yield say(
                "no more %(takeoff)s of any kind: %(count)s used", takeoff=takeoff, count=count_word(most)
            )
    yield from _groups_gone(edition, tally)
    for one in tally.executed:
        told = not families.get(one.name[1:], 1) or not group_left(edition, tally, one.name)
        if not told and not executions_left(edition, tally, one.name):
            yield say("no more %(what)s: %(why)s", what=one.name, why=_why_gone(edition, tally, one))


def _why_gone(edition: Edition, tally: Tally, one: Executed) -> str:
    governing = repeat_class(edition, one.name)
    barred = repeat_barred(edition, tally, governing, one.name) if governing and one.times == 1 else ""
    barred = barred or takeoff_barred(edition, tally, one.name[1:])
    if barred:
        return say("%(others)s already repeated", others=barred)
    return say("%(count)s used", count=count_word(one.times))


def _groups_gone(edition: Edition, tally: Tally) -> Iterator[str]:
    """Quotas of groups of jumps that are used up."""
    for place, group in enumerate(limits_of(edition)):
        others = admitted_to(tally, place)
        if group.most is not None and executed_of(tally, group) >= group.most:
            used = say("%(count)s used", count=count_word(group.most))
            yield say("no more %(what)s: %(why)s", what=group_words(group), why=used)
        elif group.most_different is not None and len(others) >= group.most_different:
            yield say("of %(group)s only %(others)s", group=group_words(group), others=both(others))


def _units_gone(edition: Edition, tally: Tally) -> Iterator[str]:
    units = edition.rules.units
    if units is None:
        return
    if tally.units >= units.most:
        yield say("no more combinations or sequences")
        return
    if units.most_long and tally.long_units >= units.most_long:
        yield say("no more three-jump unit")
    if units.most_sequences and not _sequence_left(edition, tally):
        done = tally.sequences >= units.most_sequences
        yield (
            say("no more sequence: one used")
            if done
            else say("no more sequence: an Euler stands in a combination")
        )
    if _euler_left(edition, tally, units.most - tally.units) is False:
        used = tally.eulers >= (edition.rules.euler.most or 0)
        yield say("no more Euler: one used") if used else say("no more Euler: a sequence is used")


def count_word(count: int) -> str:
    """Small counts as words."""
    words: dict[int, str] = {1: say("one"), 2: say("two"), 3: say("three")}
    return words.get(count, str(count))
