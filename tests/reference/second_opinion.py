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

import re
from dataclasses import dataclass, field, replace

CLEAN = {
    "T": (40, 130, 420, 950, 1400),
    "S": (40, 130, 430, 970, 1400),
    "Lo": (50, 170, 490, 1050, 1400),
    "F": (50, 180, 530, 1100, 1400),
    "Lz": (60, 210, 590, 1150, 1400),
    "A": (110, 330, 800, 1250, 0),
}
"""Base values of clean jumps of one to five turns, the same 2019/20 to 2026/27 (ISU Comm. 2786)."""

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

JUMP = re.compile(r"^(?P<turns>[1-5]?)(?P<name>Eu|T|S|Lo|F|Lz|A)(?P<marks>[!eq<]*)(?P<star>\*?)$")


@dataclass(frozen=True)
class Jump:
    """One jump as called: turns 0 means 'took off, nothing countable'."""

    turns: int
    name: str
    marks: str

    @property
    def text(self) -> str:
        """The call, `3Lz!<` and so on."""
        return f"{self.turns or ''}{self.name}{self.marks}"

    @property
    def kind(self) -> tuple[int, str]:
        """What repeats are counted by: the jump called, whatever its marks (handbook; 29 sheets)."""
        return (self.turns, self.name)

    def worth(self, euler: int) -> int:
        """Base value in hundredths after the panel's marks."""
        down = self.marks.count("<") == 2
        short = self.marks.count("<") == 1
        edge = "e" in self.marks
        if self.name == "Eu":
            return 0 if down else euler
        turns = self.turns - 1 if down else self.turns
        if turns < 1:
            return 0
        value = 950 if (down and self.turns == 5) else CLEAN[self.name][turns - 1]
        percent = 60 if short and edge else 80 if short or edge else 100
        return (value * percent + 50) // 100


@dataclass(frozen=True)
class Unit:
    """A jump element as executed: jumps, the mark between them if broken, the mark at its end."""

    jumps: tuple[Jump, ...]
    broken: str = ""
    broken_after: int = 0
    sequence: bool = False

    @property
    def several(self) -> bool:
        """More than one jump, counted before any star."""
        return len(self.jumps) > 1


def read(code: str) -> Unit:
    """Reads a jump element's code; stars and +REP in it are dropped."""
    jumps: list[Jump] = []
    broken, after, sequence = "", 0, False
    parts = code.split("+")
    for position, part in enumerate(parts):
        if part == "REP":
            continue
        if part in ("COMBO", "SEQ"):
            later = [p for p in parts[position + 1 :] if p != "REP"]
            if part == "SEQ" and not later and len(jumps) > 1:
                sequence = True
            else:
                broken, after = part, len(jumps)
            continue
        found = JUMP.match(part)
        if found is None:
            raise ValueError(f"not a jump: {part!r} in {code!r}")
        turns = int(found["turns"] or 0)
        jumps.append(Jump(turns, found["name"], found["marks"]))
    return Unit(tuple(jumps), broken, after, sequence)


def is_jump_element(code: str) -> bool:
    """True for jump elements, false for spins, steps and choreographic elements."""
    return JUMP.match(code.split("+")[0]) is not None


@dataclass(frozen=True)
class Sheet:
    """The edition's facts that the counting rules need."""

    season: int
    level: str
    discipline: str
    segment: str
    starred_count: bool = True
    """The first open question below: starred jumps use up an execution."""

    @property
    def boxes(self) -> int:
        """Jump elements allowed."""
        return 3 if self.segment == "short" else (7 if self.season < 2026 else 6)

    @property
    def units(self) -> int:
        """Combinations and sequences allowed in a free skate."""
        return 3 if self.season < 2026 else 2

    @property
    def euler(self) -> int:
        """Value of an Euler."""
        return 50 if self.season < 2026 else 0

    @property
    def prescribed(self) -> str:
        """Junior's prescribed solo jump; the cycle is Lutz, Flip, Loop (2025/26 Loop is read)."""
        return ("Lz", "F", "Lo")[(self.season - 2023) % 3]


def edition(name: str) -> Sheet:
    """Reads `isu/2025-26/senior/women/free`."""
    _, season, level, discipline, segment = name.split("/")
    return Sheet(int(season[:4]), level, discipline, segment)


@dataclass(frozen=True)
class Attempt:
    """A jump element as given: its code without `*` and +REP; late = started in the second half."""

    code: str
    late: bool = False


@dataclass
class Verdict:
    """What became of one jump element."""

    unit: Unit
    stars: list[bool]
    rep: bool = False
    credited: bool = False
    combo_end: bool = False
    value: int = 0

    @property
    def code(self) -> str:
        """The call with `*` and +REP, written as on a sheet."""
        parts: list[str] = []
        for position, jump in enumerate(self.unit.jumps):
            if self.unit.broken and position == self.unit.broken_after:
                parts.append(self.unit.broken)
            parts.append(jump.text + ("*" if self.stars[position] else ""))
        if self.unit.broken and self.unit.broken_after == len(self.unit.jumps):
            parts.append(self.unit.broken)
        if self.unit.sequence:
            parts.append("SEQ")
        if self.rep:
            parts.append("REP")
        return "+".join(parts)


@dataclass
class Memory:
    """Everything a free skate's rules still look at."""

    boxes: int = 0
    units: int = 0
    sequences: int = 0
    three: bool = False
    euler_used: bool = False
    euler_combos: int = 0
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


def value_of(sheet: Sheet, verdict: Verdict) -> int:
    """Sum of what is not starred, 70 % for +REP, 110 % for late credit, rounded once, half up."""
    total = sum(
        j.worth(sheet.euler) for j, star in zip(verdict.unit.jumps, verdict.stars, strict=True) if not star
    )
    percent = (70 if verdict.rep else 100) * (110 if verdict.credited else 100)
    return (total * percent + 5000) // 10000


# ---------------------------------------------------------------- free skate


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


# ---------------------------------------------------------------- short program


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


# ---------------------------------------------------------------- placing +COMBO


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
