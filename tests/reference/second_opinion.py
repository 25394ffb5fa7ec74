"""A second, independent reading of the counting rules: stars, +REP, late credit and base values.

Written from the rule fact sheet alone (ISU Technical Panel Handbook Single Skating 2025/26; ISU
Communication 2176 for the late factor; ISU Communication 2786 for the values; the 59th Congress of
2024 for 2026/27). It imports nothing of the project, so that a rule read wrongly once is not
confirmed by itself. It is plain, slow and covers only seniors and juniors, short and free,
2022/23 to 2026/27.

Two steps: `Sheet` carries the program's own facts, `judge` answers one `Verdict` an element.
Money is hundredths of a point. Everything the rule texts leave open is collected in `OPEN`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tests.reference.second_opinion_facts import (
    Attempt,
    Jump,
    Sheet,
    Unit,
    Verdict,
    edition,
    is_jump_element,
    read,
    value_of,
)
from tests.reference.second_opinion_short import place_combo, short_program

__all__ = [
    "OPEN",
    "Attempt",
    "Sheet",
    "Verdict",
    "edition",
    "is_jump_element",
    "judge",
    "place_combo",
]

OPEN = (
    "whether a starred jump uses up an execution; both readings can be asked for (`starred_count`)",
    "whether a jump starred for another reason can also be one of the two repeated ones (not compared)",
    "whether an extra unit reduced to its first jump is 'in combination' for +REP (read as yes)",
    "whether an extra unit of three jumps uses the one unit of three up (read as yes)",
    "whether a unit broken by a non-permitted step (+SEQ) uses up the one sequence (read as yes)",
    "which of two quads in a short program's combination goes (not generated)",
    "two solo Axels in a short program, or a 4A without another Axel (not generated)",
    "what an Euler too many costs in 2026/27, or one beside a sequence (not compared)",
)
"""What no rule text and no sheet settles, and how it is read here."""


@dataclass
class Memory:
    """Everything a free skate's rules still look at."""

    boxes: int = 0
    units: int = 0
    sequences: int = 0
    three: bool = False
    euler_used: bool = False
    axel: bool = False
    times: dict[tuple[int, str], int] = field(default_factory=dict)
    family: dict[str, int] = field(default_factory=dict)
    in_unit: set[tuple[int, str]] = field(default_factory=set)
    repeated: set[tuple[int, str]] = field(default_factory=set)


def judge(sheet: Sheet, attempts: list[Attempt]) -> list[Verdict]:
    """Verdicts on a whole program's jump elements, in order."""
    units = [read(a.code) for a in attempts]
    verdicts = short_program(sheet, units) if sheet.segment == "short" else free_skate(sheet, units)
    late_places = 1 if sheet.segment == "short" else 3
    first_place = max(0, len(attempts) - late_places)
    for position, (attempt, verdict) in enumerate(zip(attempts, verdicts, strict=True)):
        # Only the last three (one) can earn credit; a worthless one uses up its place.
        verdict.credited = attempt.late and position >= first_place
        verdict.value = value_of(sheet, verdict)
    return verdicts


def free_skate(sheet: Sheet, units: list[Unit]) -> list[Verdict]:
    """Boxes, units, repeats, then the Axel requirement."""
    memory = Memory()
    verdicts = [free_element(sheet, memory, unit) for unit in units]
    if not memory.axel and len(units) >= sheet.boxes:
        last = verdicts[sheet.boxes - 1]
        last.stars = [True] * len(last.stars)
        last.rep = False
    return verdicts


def free_element(sheet: Sheet, memory: Memory, unit: Unit) -> Verdict:
    """One element of a free skate."""
    stars = [False] * len(unit.jumps)
    memory.boxes += 1
    if memory.boxes > sheet.boxes:
        return Verdict(unit, [True] * len(stars))
    if any(j.name == "A" for j in unit.jumps):
        memory.axel = True
    extra = False
    if unit.several:
        extra = extra_unit(sheet, memory, unit)
        star_lengths(sheet, memory, unit, stars)
        if extra:
            stars[:] = [False] + [True] * (len(stars) - 1)
    star_euler(sheet, memory, unit, stars)
    rep = star_repeats(sheet, memory, unit, stars)
    return Verdict(unit, stars, rep=(extra or rep) and not all(stars))


def extra_unit(sheet: Sheet, memory: Memory, unit: Unit) -> bool:
    """Takes a place for the unit; true when none was left, or when it is a second sequence."""
    memory.units += 1
    is_sequence = unit.sequence or unit.broken == "SEQ"
    memory.sequences += is_sequence
    return memory.units > sheet.units or (is_sequence and memory.sequences > 1)


def star_lengths(sheet: Sheet, memory: Memory, unit: Unit, stars: list[bool]) -> None:
    """After a break nothing counts; three jumps in one unit only; never a fourth."""
    if unit.broken:
        for position in range(unit.broken_after, len(stars)):
            stars[position] = True
    counted = 0
    for position, jump in enumerate(unit.jumps):
        if jump.name == "Eu" and sheet.season >= 2026:
            continue
        counted += 1
        if counted == 3 and memory.three:
            stars[position] = True
        if counted > 3:
            stars[position] = True
    if counted >= 3:
        memory.three = True


def star_euler(sheet: Sheet, memory: Memory, unit: Unit, stars: list[bool]) -> None:
    """2026/27: one Euler a program; a combination beside a sequence may not have one."""
    if sheet.season < 2026:
        return
    for position, jump in enumerate(unit.jumps):
        if jump.name != "Eu":
            continue
        if memory.euler_used:
            stars[position] = True
        memory.euler_used = True


def star_repeats(sheet: Sheet, memory: Memory, unit: Unit, stars: list[bool]) -> bool:
    """Stars what comes too often, left to right; true when the element is a second solo (+REP)."""
    rep = False
    for position, jump in enumerate(unit.jumps):
        if jump.name == "Eu" or jump.turns == 0:
            continue
        times = memory.times.get(jump.kind, 0) + 1
        too_often = times > 2 and jump.turns >= 2
        if sheet.season >= 2026:
            too_often |= memory.family.get(jump.name, 0) + 1 > 3
        quint_in_unit = jump.turns == 5 and unit.several
        stars[position] |= too_often or quint_in_unit
        if stars[position] and not sheet.starred_count:
            continue
        if jump.turns >= 3 and times == 2:
            if not repeat_allowed(memory, jump):
                stars[position] = True
            elif not stars[position] and not unit.several and jump.kind not in memory.in_unit:
                rep = True
        if stars[position] and not sheet.starred_count:
            continue
        memory.times[jump.kind] = times
        memory.family[jump.name] = memory.family.get(jump.name, 0) + 1
        if unit.several:
            memory.in_unit.add(jump.kind)
    return rep


def repeat_allowed(memory: Memory, jump: Jump) -> bool:
    """Two different triples or more turns may be repeated, one of them a quad or quint."""
    big = [kind for kind in memory.repeated if kind[0] >= 4]
    if len(memory.repeated) >= 2 or (jump.turns >= 4 and big):
        return False
    memory.repeated.add(jump.kind)
    return True
