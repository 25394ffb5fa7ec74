"""What official sheets show of jumps: the table of first jumps and that of tails, counted from sheets.

A sheet is one row of the format of `tests/reference/README.md`. First jump: that of a solo jump or the lead of a unit;
failed combinations are printed as solo jumps, so both are counted together. Falls are the `F` of the info column,
printed from 2022/23 on. Grade: mean of the judges' grades, one highest and one lowest left out where five judge.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

KINDS: Final = ("clean", "neg", "!", "e", "q", "<", "<<", "invalid", "fall")
"""Exclusive ends of a first jump: clean, minus grades without a call, edge attention, edge call, quarter,
under-rotated, downgraded, without value, fall."""
FALLS_PRINTED_FROM = "2022/23"
JUMP = re.compile(r"([0-5]?)(T|S|Lo|Eu|F|Lz|A)([!eq<]*)(\*?)(?=\+|$)")
NOT_JUMPS = ("COMBO", "SEQ", "REP")
ALL = "all"
Key = tuple[str, str, str]
"""Level, discipline and jump (`3Lz`); level and discipline may be `all`."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One first jump on a sheet: whose, which, how it ended (one of KINDS), and its mean grade, None if not judged."""

    level: str
    discipline: str
    jump: str
    end: str
    grade: float | None


@dataclass(frozen=True, slots=True)
class JumpRow:
    """First jumps of one key: how many, share of each of KINDS (summing to 1), mean grade where any was seen."""

    n: int
    shares: Mapping[str, float]
    grades: Mapping[str, float]


JumpTable = Mapping[Key, JumpRow]


@dataclass(frozen=True, slots=True)
class TailSeen:
    """One jump directly behind a first jump: its turns, whether the landing before was called, and how it ended."""

    turns: int
    poor: bool
    end: str


def first_jumps(sheet: Mapping[str, Any]) -> Iterator[Seen]:
    """The first jump of every jump element of a sheet."""
    for element in sheet["elements"]:
        jumps = _jumps(element["code"])
        if jumps:
            turns, takeoff, marks, star = jumps[0]
            grade = _grade(element["judges"])
            end = _end(marks, bool(star), _fell(element), grade)
            yield Seen(sheet["level"], sheet["discipline"], f"{turns or 0}{takeoff}", end, grade)


def second_jumps(sheet: Mapping[str, Any]) -> Iterator[TailSeen]:
    """The jump directly behind a first jump of three turns, or a double Axel, the Euler left out.

    A fall is that of the whole unit. A downgraded first jump is left out.
    """
    for element in sheet["elements"]:
        jumps = _jumps(element["code"])
        if len(jumps) < 2 or jumps[1][1] == "Eu" or "<<" in jumps[0][2]:
            continue
        turns, takeoff, marks, _ = jumps[0]
        if not (turns >= "3" or turns + takeoff == "2A") or jumps[1][0] not in ("2", "3"):
            continue
        calls = jumps[1][2].replace("!", "").replace("e", "")
        end = "fall" if _fell(element) else calls or "clean"
        yield TailSeen(int(jumps[1][0]), any(call in marks for call in "q<"), end)


def table_of(seen: Iterable[Seen]) -> dict[Key, JumpRow]:
    """The table: a row for each level, discipline and jump, and for all levels and all disciplines."""
    grades: dict[Key, dict[str, list[float | None]]] = defaultdict(lambda: defaultdict(list))
    for one in seen:
        for level in (one.level, ALL):
            for discipline in (one.discipline, ALL):
                grades[level, discipline, one.jump][one.end].append(one.grade)
    return {key: _row(ends) for key, ends in grades.items()}


def _row(ends: Mapping[str, list[float | None]]) -> JumpRow:
    n = sum(len(grades) for grades in ends.values())
    shares = {kind: len(ends.get(kind, ())) / n for kind in KINDS}
    judged = {kind: [one for one in grades if one is not None] for kind, grades in ends.items()}
    return JumpRow(n, shares, {kind: sum(found) / len(found) for kind, found in judged.items() if found})


def as_text(row: JumpRow) -> dict[str, str]:
    """A row as written in `data/priors/first-jumps.csv`."""
    said = {"n": str(row.n)} | {f"p_{kind}": f"{row.shares[kind]:.4f}" for kind in KINDS}
    graded = [kind for kind in KINDS if kind != "invalid"]
    return said | {f"goe_{kind}": f"{row.grades[kind]:.3f}" if kind in row.grades else "" for kind in graded}


def from_text(said: Mapping[str, str]) -> JumpRow:
    """The other way; rounded shares are brought back to a sum of 1."""
    raw = {kind: float(said[f"p_{kind}"]) for kind in KINDS}
    total = sum(raw.values())
    grades = {kind: float(said[f"goe_{kind}"]) for kind in KINDS if said.get(f"goe_{kind}")}
    return JumpRow(int(said["n"]), {kind: share / total for kind, share in raw.items()}, grades)


def _jumps(code: str) -> list[tuple[str, str, str, str]]:
    """Turns, take-off, calls and star of every jump; empty for spins and steps."""
    found = []
    for part in code.split("+"):
        if part in NOT_JUMPS:
            continue
        match = JUMP.fullmatch(part)
        if match is None:
            return []
        found.append((match[1], match[2], match[3], match[4]))
    return found


def _fell(element: Mapping[str, Any]) -> bool:
    return "F" in str(element["info"]).split()


def _grade(judges: Iterable[int | None]) -> float | None:
    marks = sorted(mark for mark in judges if mark is not None)
    kept = marks[1:-1] if len(marks) >= 5 else marks
    return sum(kept) / len(kept) if kept else None


def _end(marks: str, starred: bool, fell: bool, grade: float | None) -> str:
    if starred:
        return "invalid"
    if fell:
        return "fall"
    for call in ("<<", "<", "q", "e", "!"):
        if call in marks:
            return call
    return "clean" if grade is None or grade >= 0 else "neg"
