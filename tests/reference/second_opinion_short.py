"""The second opinion on short programs: roles, requirements, repeated jumps, and where +COMBO goes.

Source: ISU Technical Panel Handbook Single Skating 2025/26, short program; nothing of the project is imported.
"""

from __future__ import annotations

from dataclasses import replace

from tests.reference.second_opinion_facts import Attempt, Jump, Sheet, Unit, Verdict, read


def short_program(sheet: Sheet, units: list[Unit]) -> list[Verdict]:
    """Axel, solo and combination, in any order; what does not fit its role is starred."""
    verdicts = [Verdict(unit, [False] * len(unit.jumps)) for unit in units]
    roles = roles_of(sheet, units)
    done: set[tuple[int, str]] = set()
    for role, verdict in zip(roles, verdicts, strict=True):
        star_same(verdict, done)
        fits(sheet, role, verdict)
        done.update(jump.kind for jump in verdict.unit.jumps)
    return verdicts


def roles_of(sheet: Sheet, units: list[Unit]) -> list[str]:
    """Which requirement each element answers, in order of execution."""
    roles: list[str] = []
    for unit in units:
        is_unit = unit.several or bool(unit.broken)
        first = unit.jumps[0]
        if len(roles) >= 3:
            roles.append("extra")
        elif is_unit and "combination" not in roles:
            roles.append("combination")
        elif first.name == "A" and first.turns != 4 and "axel" not in roles:
            roles.append("axel")
        elif "solo" not in roles:
            roles.append("solo")
        else:
            roles.append("extra")
    return roles


def fits(sheet: Sheet, role: str, verdict: Verdict) -> None:
    """Stars jumps with the wrong number of turns or of the wrong kind for the role."""
    jumps, stars = verdict.unit.jumps, verdict.stars
    if role == "extra":
        stars[:] = [True] * len(stars)
    elif role == "axel":
        allowed = (2,) if (sheet.level, sheet.discipline) == ("junior", "women") else (2, 3)
        stars[0] |= jumps[0].turns not in allowed
    elif role == "solo":
        stars[0] |= not solo_fits(sheet, jumps[0])
    if role in ("axel", "solo"):
        stars[1:] = [True] * (len(stars) - 1)
    if role == "combination":
        combination_fits(sheet, verdict)


def solo_fits(sheet: Sheet, jump: Jump) -> bool:
    """Solo jump: any triple (men: or quad); juniors the prescribed jump, double or triple."""
    if sheet.level == "junior":
        return jump.name == sheet.prescribed and jump.turns in (2, 3)
    if sheet.discipline == "men":
        return jump.turns in (3, 4)
    return jump.turns == 3


def combination_fits(sheet: Sheet, verdict: Verdict) -> None:
    """Two jumps; singles, too many turns and a second double are starred."""
    unit, stars = verdict.unit, verdict.stars
    most = 4 if (sheet.level, sheet.discipline) == ("senior", "men") else 3
    quads = 0
    for position, jump in enumerate(unit.jumps):
        if jump.name == "Eu" or position > 1 or not 2 <= jump.turns <= most:
            stars[position] = True
        if unit.broken and position >= unit.broken_after:
            stars[position] = True
        if jump.turns == 4 and not stars[position]:
            quads += 1
            stars[position] = quads > 1
    two = [p for p in range(min(2, len(stars))) if unit.jumps[p].turns == 2 and not stars[p]]
    junior_women = (sheet.level, sheet.discipline) == ("junior", "women")
    if len(two) == 2 and not junior_women:
        first, second = (unit.jumps[p].worth(sheet.euler) for p in two)
        stars[two[0] if first < second else two[1]] = True


def star_same(verdict: Verdict, done: set[tuple[int, str]]) -> None:
    """A jump that an earlier element already showed is deleted; only that jump."""
    for position, jump in enumerate(verdict.unit.jumps):
        if jump.turns and jump.kind in done:
            verdict.stars[position] = True


def place_combo(sheet: Sheet, attempts: list[Attempt], errors: list[bool]) -> list[Attempt]:
    """Puts +COMBO where the handbook wants it when a short program shows no combination.

    Of the two non-Axel elements: the one that only +COMBO saves; else the only one with an error
    (a jump popped to a single or less is one); else the later one.
    """
    units = [read(a.code) for a in attempts]
    if sheet.segment != "short" or any(u.several or u.broken for u in units[:3]):
        return attempts
    roles = roles_of(sheet, units)
    candidates = [k for k in range(min(3, len(units))) if roles[k] != "axel"][:2]
    if not candidates:
        return attempts
    saved = [k for k in candidates if saved_by_combo(sheet, units[k].jumps[0])]
    failed = [k for k in candidates if errors[k] or units[k].jumps[0].turns < 2]
    chosen = candidates[-1]
    if len(candidates) == 2 and len(saved) == 1:
        chosen = saved[0]
    elif len(candidates) == 2 and len(failed) == 1:
        chosen = failed[0]
    marked = list(attempts)
    marked[chosen] = replace(marked[chosen], code=marked[chosen].code + "+COMBO")
    return marked


def saved_by_combo(sheet: Sheet, jump: Jump) -> bool:
    """Worthless as the solo jump, worth something as the combination's only jump."""
    as_combination = Verdict(Unit((jump,), "COMBO", 1), [False])
    combination_fits(sheet, as_combination)
    return not solo_fits(sheet, jump) and not as_combination.stars[0]
