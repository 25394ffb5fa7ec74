"""Rules about combinations and sequences: how many, how long, one sequence, the Euler, broken units."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from app.domain.elements import Jump, JumpElement
from app.domain.rulings import HANDBOOK, RuleRef, Ruling, ruling
from app.domain.words import either, say, say_many
from app.legality.tally import Tally
from app.rulebook.editions import Edition
from app.rulebook.schema import Inside, Units

BROKEN = RuleRef(HANDBOOK, "fall, step-out or weight transfer between the jumps of a unit", "read")
EULER_PLACE = RuleRef(HANDBOOK, "Euler only between two listed jumps", "read")

BESIDE = "euler_beside_a_sequence"
NEVER = "never"


@dataclass(frozen=True, slots=True)
class UnitFacts:
    """What the unit rules need to know of one element."""

    is_unit: bool
    is_sequence: bool
    listed: int
    """Jumps that count towards the length, breaks ignored."""
    eulers: int

    @property
    def is_combination(self) -> bool:
        return self.is_unit and not self.is_sequence


@lru_cache(maxsize=20_000)
def unit_facts(edition: Edition, element: JumpElement) -> UnitFacts:
    """Read an element the way the unit rules look at it. An Euler at either end is not listed."""
    placed = [number for number in range(1, len(element.jumps) + 1) if not misplaced_euler(element, number)]
    marked = element.is_marked_combo or element.is_sequence
    jumps = [element.jumps[number - 1] for number in placed]
    return UnitFacts(
        is_unit=len(placed) > 1 or marked,
        is_sequence=element.is_sequence,
        listed=sum(1 for jump in jumps if edition.rules.euler.counts_as_jump or not jump.is_euler),
        eulers=sum(1 for jump in jumps if jump.is_euler),
    )


def misplaced_euler(element: JumpElement, number: int) -> bool:
    """An Euler that does not stand between two listed jumps is not a listed jump."""
    if not element.jumps[number - 1].is_euler:
        return False
    before = any(not jump.is_euler for jump in element.jumps[: number - 1])
    after = any(not jump.is_euler for jump in element.jumps[number:])
    return not (before and after)


def first_euler(element: JumpElement) -> int | None:
    """Number of the first Euler that stands between two listed jumps."""
    eulers = [number for number, jump in enumerate(element.jumps, start=1) if jump.is_euler]
    return next((number for number in eulers if not misplaced_euler(element, number)), None)


def unit_rulings(edition: Edition, tally: Tally, element: JumpElement) -> dict[int, Ruling]:
    """Rulings of the unit rules on one element of a free skating; the gravest reason of each jump."""
    found: dict[int, Ruling] = {}
    for number in range(1, len(element.jumps) + 1):
        if misplaced_euler(element, number):
            why = say("an Euler counts only between two listed jumps")
            found[number] = ruling(number, "nothing", EULER_PLACE, why)
    units = edition.rules.units
    facts = unit_facts(edition, element)
    if units is None or not facts.is_unit:
        return found
    surplus = _surplus(edition, units, tally, facts)
    if surplus:
        return {**found, **_first_jump_only(edition, element, *surplus)}
    for part in (
        _too_long(edition, units, tally, element),
        _inside(edition, units, element),
        _eulers(edition, tally, element, facts),
    ):
        found = {**part, **found}
    return {**_broken(element), **found}


def _surplus(edition: Edition, units: Units, tally: Tally, facts: UnitFacts) -> tuple[RuleRef, str] | None:
    """Why this whole unit is one too many, if it is."""
    # No more combinations and sequences than the rulebook allows.
    if tally.units >= units.most:
        return units.ref, say_many(
            "only %(count)s combination or sequence counts",
            "only %(count)s combinations and sequences count",
            units.most,
        )
    if not facts.is_sequence:
        return None
    # Only so many of them may be sequences.
    if tally.sequences >= units.most_sequences:
        return units.ref, say_many(
            "only %(count)s sequence counts", "only %(count)s sequences count", units.most_sequences
        )
    # A sequence may be barred by an Euler that was already done.
    reading = edition.reading(BESIDE)
    earlier = tally.eulers if reading == NEVER else tally.eulers_in_combinations
    if reading is not None and earlier:
        why = say("no sequence after a combination with an Euler")
        return unwritten_cost(edition.reading_ref(BESIDE)), why
    return None


def _first_jump_only(edition: Edition, element: JumpElement, ref: RuleRef, why: str) -> dict[int, Ruling]:
    percent = edition.rules.part.percent if edition.rules.part else 100
    found = {
        1: ruling(
            1, "part", ref, say("%(why)s: the first jump keeps %(percent)s %%", why=why, percent=percent)
        )
    }
    for number in range(2, len(element.jumps) + 1):
        found[number] = ruling(number, "nothing", ref, why)
    return found


def _too_long(edition: Edition, units: Units, tally: Tally, element: JumpElement) -> dict[int, Ruling]:
    """Jumps beyond the length this unit may have; an Euler keeps its place, the surplus jump does not."""
    may_be_long = tally.long_units < units.most_long
    longest = units.most_jumps if may_be_long else units.usual_jumps
    found: dict[int, Ruling] = {}
    listed = 0
    for number, jump in enumerate(element.jumps, start=1):
        if not jump.is_euler or (edition.rules.euler.counts_as_jump and not misplaced_euler(element, number)):
            listed += 1
        if listed > longest:
            why = say_many(
                "only %(count)s jump counts in this unit", "only %(count)s jumps count in this unit", longest
            )
            if not may_be_long and units.most_long:
                why = say(
                    "%(limit)s: the unit of %(jumps)s jumps is already used",
                    limit=why,
                    jumps=units.most_jumps,
                )
            found[number] = ruling(number, "nothing", units.ref, why)
    return found


def _inside(edition: Edition, units: Units, element: JumpElement) -> dict[int, Ruling]:
    """Jumps beyond what one unit may hold of some revolutions, counted left to right."""
    found: dict[int, Ruling] = {}
    listed = unit_facts(edition, element).listed
    for limit in units.inside:
        if listed < limit.jumps:
            continue
        counted = 0
        for number, jump in enumerate(element.jumps, start=1):
            counted += holds_inside(limit, jump)
            if counted > limit.most and holds_inside(limit, jump):
                why = say(
                    "only %(most)s jumps of %(turns)s revolutions in a unit of %(jumps)s",
                    most=limit.most,
                    turns=either(map(str, limit.revolutions)),
                    jumps=limit.jumps,
                )
                found[number] = ruling(number, "nothing", units.ref, why)
    return found


def holds_inside(limit: Inside, jump: Jump) -> bool:
    """Does a jump count towards a limit inside a unit? Downgraded ones may count as the lower jump."""
    if jump.is_euler or jump.revolutions is None:
        return False
    if jump.rotation == "<<" and limit.downgraded_counts:
        return jump.revolutions in limit.revolutions or jump.revolutions - 1 in limit.revolutions
    return jump.revolutions in limit.revolutions and jump.name not in limit.exempt


def _eulers(edition: Edition, tally: Tally, element: JumpElement, facts: UnitFacts) -> dict[int, Ruling]:
    """An Euler too many, or beside a sequence: it and what hangs on it count for nothing."""
    euler = edition.rules.euler
    first = first_euler(element)
    if first is None:
        return {}
    reading = edition.reading(BESIDE)
    if euler.most is not None and tally.eulers + facts.eulers > euler.most:
        why, ref = say("only %(most)s Euler in the program", most=euler.most), euler.ref
    elif reading is not None and tally.sequences and facts.is_combination:
        why, ref = say("no Euler in a combination beside a sequence"), edition.reading_ref(BESIDE)
    elif reading == NEVER and (tally.sequences or facts.is_sequence):
        why, ref = say("no Euler and sequence in one program"), edition.reading_ref(BESIDE)
    else:
        return {}
    cost = unwritten_cost(ref)
    return {number: ruling(number, "nothing", cost, why) for number in range(first, len(element.jumps) + 1)}


def unwritten_cost(ref: RuleRef) -> RuleRef:
    """A rule on Eulers whose breach costs something that no text states: its cost is an inference."""
    return RuleRef(str(ref), "what it costs is not written in any text read", "inferred")


def _broken(element: JumpElement) -> dict[int, Ruling]:
    """Behind a fall, a step-out or a transfer of weight nothing of the unit counts."""
    why = say("the unit was broken before this jump")
    return {
        number: ruling(number, "nothing", BROKEN, why)
        for number in range(element.broken_after + 1, len(element.jumps) + 1)
    }
