"""Rules about repetition: executions of one jump, repeat quotas, `+REP`, the cap per take-off.

A jump is known by what was intended: quarter, under-rotated and downgraded jumps count as the intended
jump (technical panel handbook; sheets agree), so `3T<<` is a triple toe loop here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.domain.elements import Jump, JumpElement
from app.domain.rulings import RuleRef, Ruling, ruling
from app.legality.tally import Executed, Tally
from app.rulebook.editions import Edition
from app.rulebook.schema import RepeatClass

STARRED = "starred_jumps_use_up_an_execution"
CLAUSE = "repeats_clause_beside_the_family_cap"


@dataclass(frozen=True, slots=True)
class RepeatOutcome:
    """One jump under the repeat rules: its ruling, if not full, and the tally behind it."""

    ruling: Ruling | None
    tally: Tally


def repeat_class(edition: Edition, revolutions: int) -> RepeatClass | None:
    """The quota that governs jumps of these revolutions; None where they are free."""
    repeats = edition.rules.repeats
    if repeats is None:
        return None
    return next((one for one in repeats.classes if revolutions in one.revolutions), None)


def repeat_outcome(edition: Edition, tally: Tally, jump: Jump, number: int, in_unit: bool) -> RepeatOutcome:
    """Rule on one counted jump (not an Euler, with revolutions), number `number` of its element."""
    before = tally.of(jump.name)
    found = _ruling(edition, tally, before, jump, number, in_unit)
    barred = found is not None and found.ruling == "nothing"
    if barred and edition.reading(STARRED) == "no":
        return RepeatOutcome(found, tally)
    after = Executed(
        jump.name,
        before.times + 1,
        before.in_unit or in_unit,
        before.repeated or (before.times == 1 and not barred),
    )
    return RepeatOutcome(found, tally.with_execution(after))


def note_starred(edition: Edition, tally: Tally, jump: Jump, in_unit: bool) -> Tally:
    """A jump without value for another reason: whether it uses up an execution is a switch."""
    if edition.reading(STARRED) == "no":
        return tally
    before = tally.of(jump.name)
    repeated = before.repeated or (before.times == 1 and _quota_free(edition, tally, jump))
    return tally.with_execution(Executed(jump.name, before.times + 1, before.in_unit or in_unit, repeated))


def _quota_free(edition: Edition, tally: Tally, jump: Jump) -> bool:
    """Could this jump hold a place of its repeat quota? Never beyond the cap of its take-off."""
    if _family_full(edition, tally, jump):
        return False
    governing = repeat_class(edition, jump.revolutions or 0)
    no_ref = RuleRef("", "", "inferred")
    return governing is None or _quota(edition, tally, governing, jump, 0, no_ref) is None


def _family_full(edition: Edition, tally: Tally, jump: Jump) -> bool:
    family = edition.rules.family
    most = family.most if family else None
    return most is not None and tally.family_times(jump.takeoff) >= most


def _ruling(
    edition: Edition, tally: Tally, before: Executed, jump: Jump, number: int, in_unit: bool
) -> Ruling | None:
    # The same take-off, whatever the revolutions, only so many times.
    family = edition.rules.family
    if family and family.most is not None and _family_full(edition, tally, jump):
        why = f"no more {jump.takeoff}: {_times(family.most)} this take-off, whatever the revolutions"
        return ruling(number, "nothing", family.ref, why)
    governing = repeat_class(edition, jump.revolutions or 0)
    if governing is None or edition.rules.repeats is None or before.times == 0:
        return None
    ref = edition.rules.repeats.ref
    # No jump more often than the rulebook allows.
    if before.times >= governing.executions:
        return ruling(number, "nothing", ref, f"no more {jump.name}: executed {_times(governing.executions)}")
    # Only so many different jumps may be executed twice …
    if not before.repeated:
        barred = _quota(edition, tally, governing, jump, number, ref)
        if barred:
            return barred
    # … and one of the two executions must stand in a unit, else the second keeps a part.
    part = edition.rules.part
    if part and governing.solo_loses and not in_unit and not before.in_unit:
        why = f"second solo {jump.name}, none in a unit: keeps {part.percent} %"
        return ruling(number, "part", ref, why)
    return None


def _quota(
    edition: Edition, tally: Tally, governing: RepeatClass, jump: Jump, number: int, ref: RuleRef
) -> Ruling | None:
    if governing.most_repeated is None:
        return None
    if CLAUSE in edition.rules.switches:
        if edition.reading(CLAUSE) == "dropped":
            return None
        ref = edition.reading_ref(CLAUSE)
    repeated = tally.repeated_names(governing.revolutions)
    if len(repeated) >= governing.most_repeated:
        why = f"{jump.name} may not be repeated: {' and '.join(repeated)} already are"
        return ruling(number, "nothing", ref, why)
    within = tally.repeated_names(governing.within)
    tighter = governing.most_repeated_within
    if jump.revolutions in governing.within and tighter is not None and len(within) >= tighter:
        why = f"{jump.name} may not be repeated: {' and '.join(within)} already is, and only one quad may be"
        return ruling(number, "nothing", ref, why)
    return None


def _times(times: int) -> str:
    return {1: "once", 2: "twice", 3: "three times"}.get(times, f"{times} times")


def repeat_rulings(
    edition: Edition, tally: Tally, element: JumpElement, in_unit: bool, earlier: dict[int, Ruling]
) -> tuple[dict[int, Ruling], Tally]:
    """All jumps of an element, left to right; `earlier` holds the rulings of the other rules."""
    found: dict[int, Ruling] = {}
    for number, jump in enumerate(element.jumps, start=1):
        if jump.is_euler or jump.revolutions is None:
            continue
        before = earlier.get(number)
        if before and before.ruling == "nothing":
            tally = note_starred(edition, tally, jump, in_unit)
            continue
        outcome = repeat_outcome(edition, tally, jump, number, in_unit)
        tally = outcome.tally
        if outcome.ruling and (before is None or outcome.ruling.ruling == "nothing"):
            found[number] = replace(outcome.ruling, jump=number)
    return found, tally
