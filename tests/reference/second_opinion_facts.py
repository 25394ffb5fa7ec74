"""What the second opinion knows before any rule: values, notation, editions, attempts and verdicts.

Sources as in `second_opinion.py`; nothing of the project is imported. Money is hundredths of a point.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

CLEAN = {
    "T": (40, 130, 420, 950, 1400),
    "S": (40, 130, 430, 970, 1400),
    "Lo": (50, 170, 490, 1050, 1400),
    "F": (50, 180, 530, 1100, 1400),
    "Lz": (60, 210, 590, 1150, 1400),
    "A": (110, 330, 800, 1250, 0),
}
"""Base values of clean jumps of one to five turns, the same 2019/20 to 2026/27 (ISU Comm. 2786)."""

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


def value_of(sheet: Sheet, verdict: Verdict) -> int:
    """Sum of what is not starred, 70 % for +REP, 110 % for late credit, rounded once, half up."""
    total = sum(
        j.worth(sheet.euler) for j, star in zip(verdict.unit.jumps, verdict.stars, strict=True) if not star
    )
    percent = (70 if verdict.rep else 100) * (110 if verdict.credited else 100)
    return (total * percent + 5000) // 10000
