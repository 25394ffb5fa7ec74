"""Rules about repetition: executions of one jump, repeat quotas, `+REP`, the cap per take-off.

A jump is known by what was intended: quarter, under-rotated and downgraded jumps count as the intended
jump (technical panel handbook; sheets agree), so `3T<<` is a triple toe loop here.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.elements import Jump, JumpElement
from app.domain.rulings import RuleRef, Ruling, ruling
from app.domain.words import both, say
from app.legality.limits import Bar, admit, limit_bar
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


def repeat_class(edition: Edition, name: str) -> RepeatClass | None:
    """The quota that governs a jump, `3T`: the one that names it, else that of its revolutions; None: free."""
    repeats = edition.rules.repeats
    if repeats is None:
        return None
    named = next((one for one in repeats.classes if name in one.jumps), None)
    return named or next((one for one in repeats.classes if int(name[0]) in one.revolutions), None)


def holders(edition: Edition, tally: Tally, governing: RepeatClass) -> tuple[str, ...]:
    """Jumps that hold a place of this repeat quota."""
    return tuple(
        one.name for one in tally.executed if one.repeated and repeat_class(edition, one.name) is governing
    )


def holders_within(edition: Edition, tally: Tally, governing: RepeatClass) -> tuple[str, ...]:
    """Those among them that the tighter quota inside looks at."""
    return tuple(name for name in holders(edition, tally, governing) if int(name[0]) in governing.within)


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
    if not barred:
        tally = _take_places(edition, tally, jump)
    return RepeatOutcome(found, tally.with_execution(after))


def _take_places(edition: Edition, tally: Tally, jump: Jump) -> Tally:
    """A jump that was not barred takes its places in the quotas of take-offs and groups."""
    family = edition.rules.family
    if family and family.most_repeated is not None and tally.family_times(jump.takeoff):
        tally = tally.with_repeated_takeoff(jump.takeoff)
    return admit(edition, tally, jump)


def note_starred(edition: Edition, tally: Tally, jump: Jump, in_unit: bool) -> Tally:
    """A jump without value for another reason: whether it uses up an execution is a switch."""
    if edition.reading(STARRED) == "no":
        return tally
    before = tally.of(jump.name)
    # It holds a place of a quota only where it could have had one.
    free = _bar(edition, tally, before, jump) is None
    repeated = before.repeated or (before.times == 1 and free)
    if free:
        tally = _take_places(edition, tally, jump)
    return tally.with_execution(Executed(jump.name, before.times + 1, before.in_unit or in_unit, repeated))


def _ruling(
    edition: Edition, tally: Tally, before: Executed, jump: Jump, number: int, in_unit: bool
) -> Ruling | None:
    bar = _bar(edition, tally, before, jump)
    if bar:
        return ruling(number, "nothing", *bar)
    governing, repeats = repeat_class(edition, jump.name), edition.rules.repeats
    if governing is None or repeats is None or before.times == 0:
        return None
    # One of the two executions must stand in a unit, else the second keeps a part, or nothing.
    part = edition.rules.part
    lone = governing.solo_loses and not in_unit and not before.in_unit
    if lone and governing.solo_keeps == "nothing":
        why = say("second solo %(jump)s: a repeat must stand in a unit", jump=jump.name)
        return ruling(number, "nothing", repeats.ref, why)
    if part and lone:
        why = say(
            "second solo %(jump)s, none in a unit: keeps %(percent)s %%", jump=jump.name, percent=part.percent
        )
        return ruling(number, "part", repeats.ref, why)
    return None


def _bar(edition: Edition, tally: Tally, before: Executed, jump: Jump) -> Bar | None:
    """The quota that leaves this jump no place, if one does."""
    # Quotas of its take-off, and of the group it belongs to.
    bar = _family_bar(edition, tally, jump) or limit_bar(edition, tally, jump)
    governing, repeats = repeat_class(edition, jump.name), edition.rules.repeats
    if bar or governing is None or repeats is None or before.times == 0:
        return bar
    # No jump more often than the rulebook allows.
    if before.times >= governing.executions:
        times = _times(governing.executions)
        return repeats.ref, say("no more %(jump)s: executed %(times)s", jump=jump.name, times=times)
    # Only so many different jumps may be executed twice.
    return None if before.repeated else _quota_bar(edition, tally, governing, jump, repeats.ref)


def _family_bar(edition: Edition, tally: Tally, jump: Jump) -> Bar | None:
    family = edition.rules.family
    times = tally.family_times(jump.takeoff)
    if family is None or not times:
        return None
    # The same take-off, whatever the revolutions, only so many times …
    if family.most is not None and times >= family.most:
        return family.ref, say(
            "no more %(takeoff)s: %(times)s this take-off, whatever the revolutions",
            takeoff=jump.takeoff,
            times=_times(family.most),
        )
    # … and only so many take-offs more than once.
    others = tally.repeated_takeoffs
    if (
        family.most_repeated is not None
        and jump.takeoff not in others
        and len(others) >= family.most_repeated
    ):
        return family.ref, say(
            "no more %(takeoff)s: take-offs already repeated: %(others)s",
            takeoff=jump.takeoff,
            others=both(others) or say("none may be"),
        )
    return None


def _quota_bar(
    edition: Edition, tally: Tally, governing: RepeatClass, jump: Jump, ref: RuleRef
) -> Bar | None:
    if governing.most_repeated is None:
        return None
    if CLAUSE in edition.rules.switches:
        if edition.reading(CLAUSE) == "dropped":
            return None
        ref = edition.reading_ref(CLAUSE)
    repeated = holders(edition, tally, governing)
    if len(repeated) >= governing.most_repeated:
        return ref, say(
            "%(jump)s may not be repeated: %(others)s already are", jump=jump.name, others=both(repeated)
        )
    within = holders_within(edition, tally, governing)
    tighter = governing.most_repeated_within
    if jump.revolutions in governing.within and tighter is not None and len(within) >= tighter:
        return ref, say(
            "%(jump)s may not be repeated: %(others)s already is, and only one quad may be",
            jump=jump.name,
            others=both(within),
        )
    return None


def _times(times: int) -> str:
    words = {1: say("once"), 2: say("twice"), 3: say("three times")}
    return words.get(times) or say("%(times)s times", times=times)


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
            found[number] = outcome.ruling
    return found, tally
