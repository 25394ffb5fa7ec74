"""From an edition and a problem to the tables the kernels read, and from a history to a state.

Only free skatings whose rules the kernels know are packed (`packable`); everything else is solved by
`app.planner.worlds`, slower and with the same answers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.domain.elements import JumpElement
from app.legality.repeats import CLAUSE, STARRED
from app.legality.slots import value_rulings
from app.legality.tally import Tally
from app.legality.units import BESIDE, NEVER, first_euler, misplaced_euler, unit_facts
from app.planner.ahead import FAMILIES, Ints, ahead_table, bits, landed
from app.planner.kernels import layout as k
from app.planner.problem import Attempt, Option, Problem
from app.rulebook.editions import Edition
from app.rulebook.schema import RepeatClass
from app.scoring.base_value import jump_value

MOST_CHANGES = 15
"""Changes that the packed state can count."""
USUAL = 16
"""Options a pass up to which a program counts as a usual layout (chosen by measurement)."""
FEW = 4
"""Hardest jumps that the second loosest level still tracks (chosen by measurement)."""


@dataclass(frozen=True, slots=True)
class Packed:
    """Tables of one problem, with the names behind the slots."""

    tables: k.Tables
    slots: dict[str, int]
    classes: tuple[RepeatClass, ...]
    outcomes: tuple[Attempt, ...]


def packable(problem: Problem) -> bool:
    """Do the kernels know all rules of this problem?"""
    book = problem.edition
    units, repeats = book.rules.units, book.rules.repeats
    if units is None or repeats is None or book.reading(STARRED) == "no":
        return False
    if book.rules.limits is not None or book.bonuses is not None or units.inside:
        return False
    if any(one.jumps or one.solo_keeps == "nothing" for one in repeats.classes):
        return False
    family = book.rules.family.most if book.rules.family else None
    if book.rules.family and book.rules.family.most_repeated is not None:
        return False
    attempts = _attempts(problem)
    small = all(one.element is None or len(one.element.jumps) <= k.MOST_JUMPS for one in attempts)
    names = _names(problem, attempts)
    return (
        small
        and len(names) <= 31
        and len(repeats.classes) <= 3
        and all(one.executions == 2 and (one.most_repeated or 0) <= 2 for one in repeats.classes)
        and (family is None or family <= 3)
        and units.most <= 6
        and units.most_long <= 2
        and units.most_sequences <= 2
        and (book.rules.euler.most or 0) <= 2
        and book.rules.late.last <= 3
        and _late_bonus_fits(book, attempts)
        and units.marked_percent == 100
        and not book.rules.late.first
        and len(book.rules.falls.each) <= 8
        and len(problem.passes) <= 12
        and (problem.max_changes is None or problem.max_changes <= MOST_CHANGES)
    )


def _late_bonus_fits(book: Edition, attempts: Sequence[Attempt]) -> bool:
    """Has what the late factor may add to any attempt, rounded, room in its place of word c?"""
    jumps = max((len(one.element.jumps) for one in attempts if one.element), default=0)
    most = max(book.values.rows.values()) * jumps * (book.rules.late.percent - 100)
    return most < 100 * ((1 << k.LATE_BITS) - 1)


def _attempts(problem: Problem) -> list[Attempt]:
    seen = [
        attempt
        for one in problem.passes
        for option in one.options
        for attempts in (option.attempts, option.after_fall)
        for attempt in attempts
    ]
    seen.extend(landed(option.code) for one in problem.passes for option in one.options)
    done = [
        Attempt(h.chance, d.element, h.chance, d.fall, d.error) for h in problem.histories for d in h.done
    ]
    return seen + done


def repeat_classes(book: Edition) -> tuple[RepeatClass, ...]:
    """Repeat classes with the readings in force applied."""
    found = book.rules.repeats.classes if book.rules.repeats else ()
    if book.reading(CLAUSE) != "dropped":
        return tuple(found)
    free = {"most_repeated": None, "within": (), "most_repeated_within": None}
    return tuple(one.model_copy(update=free) if one.most_repeated is not None else one for one in found)


def _names(problem: Problem, attempts: Sequence[Attempt]) -> list[str]:
    """Names of jumps under a repeat class, sorted: each gets a slot."""
    tracked = {rev for one in repeat_classes(problem.edition) for rev in one.revolutions}
    return sorted(
        {
            jump.name
            for attempt in attempts
            if attempt.element
            for jump in attempt.element.jumps
            if jump.revolutions in tracked and not jump.is_euler
        }
    )


def pack(problem: Problem) -> Packed:
    """Tables for the kernels. Call only when `packable`. Raises InputError for a code without value."""
    book = problem.edition
    classes = repeat_classes(book)
    slots = {name: n for n, name in enumerate(_names(problem, _attempts(problem)))}
    outcomes: list[Attempt] = []
    options: list[list[int]] = []
    spans: list[tuple[int, int]] = []
    for place, one in enumerate(problem.passes):
        start = len(options)
        limits = [_limit(problem, place, option) for option in one.options]
        options.extend(
            _option_row(option, outcomes, limit) for option, limit in zip(one.options, limits, strict=True)
        )
        spans.append((start, len(options)))
    tables = k.Tables(
        rules=_rules(book, problem, slots, len(classes)),
        outcomes=_outcome_table(book, outcomes, slots, classes),
        weights=np.array([(float(one.chance), float(one.grade)) for one in outcomes]),
        ahead=ahead_table(problem, slots),
        classes=_classes(classes, slots),
        options=np.array(options, dtype=np.int64),
        spans=np.array(spans, dtype=np.int64),
        levels=_levels(book, slots, max(len(one.options) for one in problem.passes)),
    )
    return Packed(tables, slots, classes, tuple(outcomes))


def _limit(problem: Problem, place: int, option: Option) -> int:
    """The most changes made before with which an option may still be tried; -1: with none."""
    most = problem.most_before(place, option)
    return MOST_CHANGES if most is None else max(most, -1)


def _option_row(option: Option, outcomes: list[Attempt], limit: int) -> list[int]:
    """One row of Tables.options; its outcomes are added to `outcomes`."""
    start = len(outcomes)
    outcomes.extend(option.attempts)
    middle = end = len(outcomes)
    if option.after_fall is not option.attempts:
        outcomes.extend(option.after_fall)
        end = len(outcomes)
    outcomes.append(landed(option.code))
    fall_from = middle if end > middle else start
    return [option.change, start, middle, fall_from, end, end, limit]


def _rules(book: Edition, problem: Problem, slots: dict[str, int], classes: int) -> Ints:
    units = book.rules.units
    assert units is not None, "packable() looked"
    rules = np.zeros(k.R_COLUMNS, dtype=np.int64)
    reading = book.reading(BESIDE)
    family = book.rules.family.most if book.rules.family else None
    for place, value in (
        (k.R_BOXES, book.boxes),
        (k.R_UNITS, units.most),
        (k.R_SEQS, units.most_sequences),
        (k.R_LONGS, units.most_long),
        (k.R_USUAL, units.usual_jumps),
        (k.R_MOST, units.most_jumps),
        (k.R_REPEAT, book.rules.part.percent if book.rules.part else 100),
        (k.R_LATE, book.rules.late.percent),
        (k.R_LAST, book.rules.late.last),
        (k.R_AXEL, book.rules.axel.required),
        (k.R_FALLS, len(book.rules.falls.each)),
        (k.R_EULERS, 99 if book.rules.euler.most is None else book.rules.euler.most),
        (k.R_READING, 0 if reading is None else 2 if reading == NEVER else 1),
        (k.R_FAMILY, family or 0),
        (k.R_CHANGES, -1 if problem.max_changes is None else problem.max_changes),
        (k.R_GOE, book.rules.grades.percent),
        (k.R_CLASSES, classes),
        (k.R_PASSES, len(problem.passes)),
        (k.R_LOW, bits(slots, slots)),
    ):
        rules[place] = value
    for f, takeoff in enumerate(FAMILIES):
        rules[k.R_FAMILIES + f] = bits(slots, (name for name in slots if name[1:] == takeoff))
    rules[k.R_EACH : k.R_EACH + len(book.rules.falls.each)] = book.rules.falls.each
    return rules


def _outcome_table(
    book: Edition, outcomes: Sequence[Attempt], slots: dict[str, int], classes: tuple[RepeatClass, ...]
) -> Ints:
    out = np.zeros((len(outcomes), k.O_COLUMNS), dtype=np.int64)
    known: dict[JumpElement, Ints] = {}
    for o, attempt in enumerate(outcomes):
        if attempt.element is not None:
            row = known.get(attempt.element)
            if row is None:
                row = known[attempt.element] = _element_row(book, attempt.element, slots, classes)
            out[o] = row
        out[o, k.O_FALL] = attempt.fall
    return out


def _element_row(
    book: Edition, executed: JumpElement, slots: dict[str, int], classes: tuple[RepeatClass, ...]
) -> Ints:
    row = np.zeros(k.O_COLUMNS, dtype=np.int64)
    element = executed.without_rulings()
    facts = unit_facts(book, element)
    euler = first_euler(element)
    row[k.O_BOX] = 1
    row[k.O_JUMPS] = len(element.jumps)
    row[k.O_UNIT] = facts.is_unit
    row[k.O_SEQ] = facts.is_sequence
    row[k.O_LISTED] = facts.listed
    row[k.O_EULERS] = facts.eulers
    row[k.O_AXEL] = any(jump.is_axel for jump in element.jumps)
    row[k.O_FIRST_EULER] = k.MOST_JUMPS if euler is None else euler - 1
    jumps = _jump_rows(book, element, slots, classes)
    row[k.O_FIRST : k.O_FIRST + jumps.size] = jumps.ravel()
    return row


def _jump_rows(
    book: Edition, element: JumpElement, slots: dict[str, int], classes: tuple[RepeatClass, ...]
) -> Ints:
    rows = np.zeros((len(element.jumps), k.O_WIDTH), dtype=np.int64)
    worthless = value_rulings(book, element)
    family = book.rules.family
    capped = family is not None and family.most is not None
    listed = 0
    for n, jump in enumerate(element.jumps):
        misplaced = misplaced_euler(element, n + 1)
        listed += not jump.is_euler or (book.rules.euler.counts_as_jump and not misplaced)
        dead = misplaced or n >= element.broken_after or (n + 1) in worthless
        group = next((c for c, one in enumerate(classes) if jump.revolutions in one.revolutions), -1)
        counted = not jump.is_euler and jump.revolutions is not None
        rows[n, k.J_SLOT] = slots.get(jump.name, -1) if counted else -1
        rows[n, k.J_FAMILY] = FAMILIES.index(jump.takeoff) if counted and capped else -1
        rows[n, k.J_CLASS] = group
        rows[n, k.J_WITHIN] = group >= 0 and jump.revolutions in classes[group].within
        rows[n, k.J_VALUE] = 0 if dead else jump_value(book, jump)
        rows[n, k.J_DEAD] = dead
        rows[n, k.J_PLACE] = listed
    return rows


def _of_revolutions(slots: dict[str, int], revolutions: Sequence[int]) -> int:
    return bits(slots, (name for name in slots if int(name[0]) in revolutions))


def _classes(classes: tuple[RepeatClass, ...], slots: dict[str, int]) -> Ints:
    table = np.zeros((max(len(classes), 1), 5), dtype=np.int64)
    for c, one in enumerate(classes):
        within = one.most_repeated_within
        table[c, k.C_ALL] = _of_revolutions(slots, one.revolutions)
        table[c, k.C_WITHIN] = _of_revolutions(slots, one.within)
        table[c, k.C_MOST] = k.NO_QUOTA if one.most_repeated is None else one.most_repeated
        table[c, k.C_MOST_WITHIN] = k.NO_QUOTA if within is None else within
        table[c, k.C_SOLO] = one.solo_loses
    return table


def _levels(book: Edition, slots: dict[str, int], widest: int) -> Ints:
    """Looser and looser: without doubles, without graded falls, without the solo rule, few jumps, none.

    Which steps pay is a matter of measurement (scripts/bench), not of rules: any nested choice is exact. A
    usual layout is solved soonest with one level between; where take-offs are capped, one fewer is better.
    """
    triples = (name for name in slots if name[0] >= "3" and book.values.has(name))
    hard = sorted(triples, key=lambda name: -book.values.value(name))
    loose = k.DROP_FALLS | k.DROP_SOLO
    exact, loosest = (0, bits(slots, slots)), (loose | k.DROP_COUNTERS, 0)
    no_falls = (k.DROP_FALLS, bits(slots, hard))
    if widest <= USUAL:
        return np.array([exact, no_falls, loosest], dtype=np.int64)
    capped = book.rules.family is not None and book.rules.family.most is not None
    no_solo = [] if capped else [(loose, bits(slots, hard))]
    few = (loose, bits(slots, hard[:FEW]))
    return np.array([exact, (0, bits(slots, hard)), no_falls, *no_solo, few, loosest], dtype=np.int64)


def pack_state(packed: Packed, tally: Tally, falls: int, fell: bool, changes: int) -> tuple[int, int]:
    """Words a and b of a tally before the first pass, nothing forgotten yet."""
    a = 0
    for name, slot in packed.slots.items():
        one = tally.of(name)
        status = 0 if one.times == 0 else 3 if one.times > 1 else 2 if one.in_unit else 1
        a |= status << (2 * slot)
    rules = packed.tables.rules
    counters = (
        (k.BOXES, min(tally.boxes, 15)),
        (k.UNITS, min(tally.units, 7)),
        (k.LONGS, min(tally.long_units, 3)),
        (k.SEQS, min(tally.sequences, 3)),
        (k.EULERS, min(tally.eulers, 3)),
        (k.EUCOMB, int(tally.eulers_in_combinations > 0)),
        (k.AXEL, int(tally.axel)),
        (k.FALLS, min(falls, int(rules[k.R_FALLS]) - 1)),
        (k.LASTFALL, int(fell)),
        (k.CHANGES, min(changes, MOST_CHANGES) if rules[k.R_CHANGES] >= 0 else 0),
    )
    b = sum(value << shift for shift, value in counters)
    if rules[k.R_FAMILY]:
        for f, takeoff in enumerate(FAMILIES):
            b |= min(tally.family_times(takeoff), 3) << (k.FAMILY + 2 * f)
    for c, one_class in enumerate(packed.classes):
        b |= min(len(tally.repeated_names(one_class.revolutions)), 3) << (k.QUOTA + 4 * c)
        b |= min(len(tally.repeated_names(one_class.within)), 3) << (k.QUOTA + 4 * c + 2)
    return a, b
