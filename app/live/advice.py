"""From the state of a live program to a question for the engine, and from its answer to one choice.

The engine knows rules, chances and points; this module knows the coach's limits and keeps to them:
only trained elements are ever offered, never more changes than allowed, nothing harder on the pass right
after a fall unless the coach allows it, and no swap that brings less than the threshold.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from app.chances.adjust import Moment, at_the_moment
from app.chances.outcomes import chances
from app.chances.prior import level_and_discipline
from app.chances.record import Record
from app.domain.elements import TAKEOFFS, JumpElement
from app.domain.notation import parse_jump_element
from app.domain.words import say
from app.live.entries import record_for, why_unfit
from app.live.events import PassLeftOut, PassSkated, Reading
from app.live.fold import LiveState
from app.live.merge import Slot
from app.live.program import KnownElement, Limits, Outcome, Plan, PlannedPass

AXEL_TURNS_MORE = 0.5
"""An Axel takes off forwards, so it turns half a turn more than its number says."""


@dataclass(frozen=True, slots=True)
class Swap:
    """Trying `element` (None: leaving the pass out) on pass `number` instead of the planned one.

    `gain` in points over keeping the whole plan, on average, misses included. With a total to reach, `chance` is that
    of reaching it, and `gain` is a chance too.
    """

    number: int
    planned: str
    element: str | None
    gain: float
    chance: float | None = None


def swap_words(swap: Swap) -> str:
    """A swap in a few words: "2A+2T on pass 4"."""
    if swap.element is None:
        return say("leave out pass %(number)s", number=swap.number)
    return say("%(element)s on pass %(number)s", element=swap.element, number=swap.number)


@dataclass(frozen=True, slots=True)
class Choice:
    """What to say: the one swap worth making, or None = keep the plan; `held_back` says what was not offered."""

    swap: Swap | None
    best_gain: float
    held_back: str = ""


def question(
    plan: Plan, offered: Mapping[str, KnownElement], known: Mapping[str, KnownElement], limits: Limits
) -> dict[str, Any]:
    """The advise request of a whole plan, without `done`. `offered` are the trained elements.

    A planned element is always an option; without chances of its own it is reckoned as official sheets of the level
    show, or as landed where they say nothing. Late passes and passes after a fall have chances of their own where
    the coach lets the published odds count.
    """
    options = [(row.code, *_options(row, offered)) for row in plan.passes]
    codes = sorted({code for row in options for code in row if code is not None})
    outcomes = {code: _outcomes(plan, code, known.get(code)) for code in codes}
    records = [{**known, **offered, row.code: known.get(row.code)} for row in plan.passes]
    passes = [
        {"planned": row.code, "late": row.late, "options": list(options[place])}
        | _own_chances(
            plan, place, {code: outcomes[code] for code in options[place] if code}, records[place], limits
        )
        for place, row in enumerate(plan.passes)
    ]
    return {
        "edition": plan.edition,
        "passes": passes,
        "attempts": {code: [_outcome(one) for one in ends] for code, ends in outcomes.items()},
        "aim": {"kind": "expected"},
        "max_changes": limits.most_changes,
    }


def layout_question(
    plan: Plan, offered: Mapping[str, KnownElement], known: Mapping[str, KnownElement], limits: Limits
) -> dict[str, Any]:
    """The same with every trained element that fits as an option of every pass: to arrange a layout anew."""
    wide = replace(plan, passes=tuple(replace(row, options=(*row.options, *offered)) for row in plan.passes))
    return question(wide, offered, known, limits)


def unknown_chances(plan: Plan, known: Mapping[str, KnownElement]) -> tuple[str, ...]:
    """Planned elements without chances of the skater's own: reckoned from others, which the screen says."""
    return tuple(row.code for row in plan.passes if row.code not in known or not known[row.code].outcomes)


def sure_things(plan: Plan, known: Mapping[str, KnownElement]) -> tuple[str, ...]:
    """Those of `unknown_chances` of which sheets say nothing either: reckoned as landed."""
    return tuple(code for code in unknown_chances(plan, known) if not _of_others(plan, code))


def done(state: LiveState) -> list[dict[str, Any]]:
    """The logged passes as the `done` list of the advise contract; a pass left out has code None.

    Leaving out what could not be attempted is no change of plan, so it carries no `tried`. Where people differ, every
    account is a reading; a change that any of them saw counts as one.
    """
    return [
        _done(slot, planned.code, late)
        for slot, planned, late in zip(state.slots, state.plan.passes, state.late, strict=False)
    ]


def choose(
    swaps: Iterable[Swap], state: LiveState, offered: Mapping[str, KnownElement], limits: Limits
) -> Choice:
    """The one swap worth making, or keep the plan.

    `swaps` are single changes with their gain; those the coach's limits forbid are dropped first.
    """
    allowed: list[Swap] = []
    held_back = ""
    for swap in sorted(swaps, key=lambda swap: -swap.gain):
        if swap.element is not None and swap.element not in offered:
            continue
        if too_hard_after_fall(swap, state, limits):
            if swap.gain >= limits.threshold and not held_back:
                held_back = say(
                    "%(element)s right now: nothing harder is added right after a fall", element=swap.element
                )
            continue
        allowed.append(swap)
    if not allowed or state.changes >= limits.most_changes:
        return Choice(None, 0.0, held_back)
    best = allowed[0]
    return Choice(best if best.gain >= limits.threshold else None, best.gain, held_back)


def too_hard_after_fall(swap: Swap, state: LiveState, limits: Limits) -> bool:
    """Whether the swap would put something harder on the pass right after a fall."""
    if limits.harder_after_fall or not state.just_fell or swap.number != state.next_number:
        return False
    return swap.element is not None and is_harder(swap.element, swap.planned)


def is_harder(element: str, planned: str) -> bool:
    """Whether `element` has a jump more than `planned` (an Euler is one), or a harder jump in any place.

    Harder: more turns, an Axel turning half a turn more; with equal turns a take-off of more value (ISU scales of
    values: T, S, Lo, F, Lz).
    """
    mine, theirs = parse_jump_element(element), parse_jump_element(planned)
    if len(mine.jumps) > len(theirs.jumps):
        return True
    pairs = zip(_difficulties(mine), _difficulties(theirs), strict=False)
    return any(new > old for new, old in pairs)


def _difficulties(element: JumpElement) -> list[tuple[float, int]]:
    """How hard each listed jump is: turns in the air, then the place of its take-off from easy to hard."""
    return [
        ((jump.revolutions or 0) + AXEL_TURNS_MORE * jump.is_axel, TAKEOFFS.index(jump.takeoff))
        for jump in element.jumps
        if not jump.is_euler
    ]


def adds_a_jump(element: str, planned: str) -> bool:
    """Whether `element` has more jumps than `planned` (the Euler aside)."""
    return _listed(element) > _listed(planned)


def _listed(code: str) -> int:
    return sum(not jump.is_euler for jump in parse_jump_element(code).jumps)


def _options(row: PlannedPass, offered: Mapping[str, KnownElement]) -> tuple[str | None, ...]:
    """What may be tried instead of the planned element: trained, from an entry that fits, with time for its tails."""
    rest = (code for code in row.options if code != row.code)
    return tuple(
        dict.fromkeys(
            code for code in rest if code is None or (code in offered and not why_unfit(row, offered[code]))
        )
    )


def _outcomes(plan: Plan, code: str, known: KnownElement | None) -> tuple[Outcome, ...]:
    """What an attempt may become: the skater's own chances, those of others at the level, or as tried."""
    own = known.outcomes if known else ()
    return own or _of_others(plan, code) or (Outcome(code, 1.0),)


def _of_others(plan: Plan, code: str) -> tuple[Outcome, ...]:
    """What official sheets of the level show of an element; empty where they say nothing."""
    found = chances(*level_and_discipline(plan.edition), code, Record(0, 0))
    fates = found.fates if found else ()
    return tuple(Outcome(one.becomes, one.chance, one.grade, one.fall, one.error) for one in fates)


def _own_chances(
    plan: Plan,
    place: int,
    usual: Mapping[str, tuple[Outcome, ...]],
    records: Mapping[str, KnownElement | None],
    limits: Limits,
) -> dict[str, dict[str, list[dict[str, Any]]]]:
    """A pass's own chances, of the entry it is skated from and of the moment; empty where both are usual.

    `usual`: chances by element, `records`: what is known of each, with all its entries.
    """
    here = {}
    for code in usual:
        known = records.get(code)
        here[code] = _outcomes(plan, code, record_for(plan.passes[place], known) if known else None)
    tables = _of_the_moment(plan, place, here, limits)
    other = {code: [_outcome(one) for one in ends] for code, ends in here.items() if ends != usual[code]}
    attempts = other | tables.get("attempts", {})
    return tables | ({"attempts": attempts} if attempts else {})


def _of_the_moment(
    plan: Plan, place: int, outcomes: Mapping[str, tuple[Outcome, ...]], limits: Limits
) -> dict[str, dict[str, list[dict[str, Any]]]]:
    """A pass's own chances: late in a free skating, and after a fall; empty where they are the usual ones.

    The sample of the second half is free skatings only. Nothing comes before the first pass.
    """
    late = limits.second_half_odds and plan.passes[place].late and not plan.is_short
    kinds = {"attempts": Moment(late=late)}
    if limits.after_fall_odds and place:
        kinds["attempts_after_fall"] = Moment(late=late, after_fall=True)
    _, discipline = level_and_discipline(plan.edition)
    tables: dict[str, dict[str, list[dict[str, Any]]]] = {kind: {} for kind in kinds}
    for code, ends in outcomes.items():
        for kind, moment in kinds.items():
            found = at_the_moment(code, ends, discipline, moment)
            changed = tuple(replace(one, chance=p) for one, p in zip(ends, found, strict=True))
            if changed != ends:
                tables[kind][code] = [_outcome(one) for one in changed]
    return {kind: table for kind, table in tables.items() if table}


def _outcome(outcome: Outcome) -> dict[str, Any]:
    said: dict[str, Any] = {"becomes": outcome.becomes, "chance": outcome.chance, "goe": outcome.goe}
    if outcome.fall:
        said["fall"] = True
    if outcome.error:
        said["error"] = True
    return said


def _done(slot: Slot, planned: str, late: bool) -> dict[str, Any]:
    if isinstance(slot.entry, PassLeftOut):
        return {"code": None, "late": late}
    tried = (one.what.tried for one in slot.candidates if isinstance(one.what, PassSkated))
    changed = next((code for code in tried if code != planned), planned)
    said: dict[str, Any] = {"late": late, "planned": planned, "tried": changed}
    readings = [_reading(one) | {"chance": one.chance * (1 - slot.left_out)} for one in slot.entry.readings]
    if slot.left_out:
        readings.append({"code": None, "chance": slot.left_out})
    if len(readings) == 1:
        del readings[0]["chance"]
        return said | readings[0]
    return said | {"any_of": readings}


def _reading(reading: Reading) -> dict[str, Any]:
    said: dict[str, Any] = {"code": reading.code}
    if reading.fall:
        said["fall"] = True
    if reading.error:
        said["error"] = True
    return said
