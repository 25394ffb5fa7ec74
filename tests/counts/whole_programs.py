"""A second count, from conditions on whole programs instead of rulings in order; imports nothing of the project.

A program in which every jump counts in full keeps every quota as a whole, whatever the order; so it is enough to
look at sums. The numbers below are written from the sentences of the rule texts (fact sheet, sections 2, 3, 7, 8),
not read from data/rules. `python -m tests.counts.whole_programs` writes levels.txt anew.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

FILE = Path(__file__).parent / "levels.txt"
SINGLES, DOUBLES = (1,), (2,)
LOW = "1A ; 2T ; 2S ; 1Lz ; 2Lo ; 2F ; 2S+1T ; 1A+2T ; 1Lz+1Lo+1T ; 2S+1A+SEQ ; 3S"
HIGH = "2A ; 3S ; 3T ; 2Lz ; 2Lo ; 2A+2T ; 3S+2T ; 2Lz+2T+2Lo ; 3T+2A+SEQ ; 4T ; 2F+{euler}+2S"
SHORT = "2A ; 1A ; 3A ; 3F ; 2F ; 2Lz ; 3Lz ; 2Lo ; 3Lo ; 4T ; 2Lz+2T ; 2F+2Lo ; 3Lz+3T ; 3F+2T ; 4S+3T"


@dataclass(frozen=True)
class Free:
    """The sums that a free skating must keep."""

    boxes: int
    units: int
    turns: tuple[int, ...]
    sequences: int = 1
    longs: int = 1
    also: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    twice: tuple[int, ...] = ()
    """Revolutions of which each jump may come twice (others: without limit)."""
    repeated: tuple[tuple[str, int], ...] = ()
    """Pattern of names, and how many different ones of them may come twice."""
    in_unit: str = "$^"
    """Pattern of names of which one of two executions must stand in a unit."""
    takeoff_most: int = 99
    takeoffs_repeated: int = 99
    one_kind: str = "$^"
    """Pattern of names of which only one kind may come."""
    two_doubles_in_three: bool = False
    euler_counts: bool = True
    eulers: int = 99
    euler_beside: str = "free"
    axel: bool = True


TRIPLES = {"twice": (2, 3, 4, 5), "repeated": (("[345].*", 2), ("[45].*", 1)), "in_unit": "[345].*"}
ISU = Free(7, 3, (1, 2, 3, 4, 5), **TRIPLES)  # type: ignore[arg-type]  # the dictionary holds the right kinds
OLD_ISU = replace(ISU, sequences=3)
ISU_26 = replace(ISU, boxes=6, units=2, takeoff_most=3, euler_counts=False, eulers=1, euler_beside="inside")
ADVANCED = replace(ISU, boxes=6, units=2, turns=(1, 2, 3))
ONE_AND_ONE = {"twice": (1, 2), "repeated": (("1.*", 1), ("2.*", 1))}
INTERMEDIATE = Free(5, 2, (1, 2), longs=0, **ONE_AND_ONE)  # type: ignore[arg-type]  # as above
BASIC = replace(INTERMEDIATE, boxes=4)
NEW_EULER = {"euler_counts": False, "eulers": 1}
US = Free(5, 2, (1,), twice=(1, 2))
JUVENILE = replace(
    US,
    turns=(1, 2, 3),
    never=("3A",),
    twice=(2, 3),
    repeated=(("2.*", 3),),
    one_kind="3.*",
    two_doubles_in_three=True,
)
US_INTERMEDIATE = replace(
    US, boxes=6, turns=(1, 2, 3), twice=(2, 3), repeated=(("2A|3.*", 2),), in_unit="2A|3.*"
)
CANADA = Free(5, 2, (1, 2), sequences=0, longs=0, twice=(1, 2, 3), in_unit=".*", takeoffs_repeated=1)
US_LEVELS = {
    "aspire-4": replace(US, never=("1A",), axel=False),
    "pre-preliminary": replace(US, axel=False),
    "preliminary": replace(US, also=("2S", "2T", "2Lo")),
    "pre-juvenile": replace(US, turns=(1, 2), never=("2A",)),
    "juvenile": JUVENILE,
    "intermediate": US_INTERMEDIATE,
    "novice": replace(ISU, turns=(1, 2, 3)),
    "junior": ISU,
    "senior": ISU,
}
OTHERS = {
    "canada/pre-juvenile": CANADA,
    "canada/juvenile": replace(CANADA, turns=(1, 2, 3)),
    "canada/star-6": CANADA,
    "canada/star-5": Free(5, 2, (1, 2), sequences=0, longs=0, twice=(1, 2), never=("2A",)),
    "canada/pre-novice": replace(ADVANCED),
    "club/chicks": BASIC,
    "club/cubs-b": Free(4, 2, (1,), longs=0, also=("2T", "2S", "2Lo"), twice=(1, 2), one_kind="2.*"),
    "club/novice-b": Free(5, 2, (1, 2), longs=0, never=("2A",), takeoff_most=2),
}


def free_facts(name: str) -> Free:
    """The sums of one edition, by its name."""
    federation, season, level, _, _ = name.split("/")
    new = season == "2026-27"
    if federation in ("canada", "club"):
        return OTHERS[f"{federation}/{level}"]
    if federation == "usa":
        facts = US_LEVELS[level]
        if new and level in ("novice", "junior", "senior"):
            facts = replace(facts, boxes=6, units=2, takeoff_most=3)
        return replace(facts, euler_beside="never", **NEW_EULER) if new else facts  # type: ignore[arg-type]
    if level == "advanced-novice":
        if new:
            return replace(ISU_26, boxes=5, turns=(1, 2, 3))
        facts = replace(ADVANCED, sequences=2) if season == "2021-22" else ADVANCED
        return replace(facts, euler_beside="inside") if season >= "2024-25" else facts
    if level in ("intermediate-novice", "basic-novice"):
        facts = INTERMEDIATE if level == "intermediate-novice" else BASIC
        return replace(facts, **NEW_EULER) if new else facts  # type: ignore[arg-type]
    return ISU_26 if new else OLD_ISU if season < "2022-23" else ISU


@dataclass(frozen=True)
class Unit:
    """One element, taken apart."""

    names: tuple[str, ...]
    """Jumps without Eulers."""
    eulers: int
    sequence: bool


def taken_apart(code: str) -> Unit:
    """`2F+Eu+2S` as its jumps; marks other than +SEQ do not occur in these files."""
    parts = code.split("+")
    jumps = [part for part in parts if part not in ("SEQ", "Eu", "1Eu")]
    return Unit(tuple(jumps), len([p for p in parts if p in ("Eu", "1Eu")]), "SEQ" in parts)


def free_is_full(facts: Free, program: Sequence[Unit]) -> bool:
    """Does a whole program keep every sum?"""
    names = [name for unit in program for name in unit.names]
    times = Counter(names)
    return (
        len(program) <= facts.boxes
        and all(allowed(facts, name) for name in names)
        and units_fit(facts, program)
        and all(times[name] <= 2 for name in times if int(name[0]) in facts.twice)
        and all(quota_kept(pattern, most, times) for pattern, most in facts.repeated)
        and all(
            in_some_unit(name, program)
            for name in times
            if times[name] > 1 and re.fullmatch(facts.in_unit, name)
        )
        and takeoffs_fit(facts, names)
        and len({name for name in names if re.fullmatch(facts.one_kind, name)}) <= 1
        and not (facts.axel and len(program) == facts.boxes and not any(name.endswith("A") for name in names))
    )


def allowed(facts: Free, name: str) -> bool:
    """Has the jump value at this level?"""
    return name not in facts.never and (int(name[0]) in facts.turns or name in facts.also)


def units_fit(facts: Free, program: Sequence[Unit]) -> bool:
    """Numbers of units, sequences and long units, what stands inside, and the Euler."""
    units = [unit for unit in program if len(unit.names) + unit.eulers > 1]
    lengths = [len(unit.names) + (unit.eulers if facts.euler_counts else 0) for unit in units]
    sequences = sum(unit.sequence for unit in units)
    eulers = sum(unit.eulers for unit in units)
    beside = sum(unit.eulers for unit in units if not unit.sequence)
    clash = {"free": 0, "inside": beside, "never": eulers}[facts.euler_beside]
    doubles = max(
        (sum(n[0] == "2" and n != "2A" for n in u.names) for u in units if len(u.names) > 2), default=0
    )
    return (
        len(units) <= facts.units
        and sequences <= facts.sequences
        and max(lengths, default=0) <= 3
        and sum(length == 3 for length in lengths) <= facts.longs
        and eulers <= facts.eulers
        and not (sequences and clash)
        and not (facts.two_doubles_in_three and doubles > 2)
    )


def quota_kept(pattern: str, most: int, times: Counter[str]) -> bool:
    """No more different jumps of a pattern twice than allowed."""
    return sum(1 for name, often in times.items() if often > 1 and re.fullmatch(pattern, name)) <= most


def in_some_unit(name: str, program: Sequence[Unit]) -> bool:
    """Does one of the executions stand in a combination or sequence?"""
    return any(name in unit.names and len(unit.names) > 1 for unit in program)


def takeoffs_fit(facts: Free, names: Sequence[str]) -> bool:
    """Jumps of one take-off, and take-offs more than once."""
    often = Counter(name[1:] for name in names)
    repeated = sum(1 for times in often.values() if times > 1)
    return max(often.values(), default=0) <= facts.takeoff_most and repeated <= facts.takeoffs_repeated


def count_free(facts: Free, allowed_codes: Sequence[str], depth: int, before: tuple[Unit, ...] = ()) -> int:
    """Sequences of `depth` elements that count in full."""
    ways = 0
    for code in allowed_codes:
        program = (*before, taken_apart(code))
        if free_is_full(facts, program):
            ways += 1 if depth == 1 else count_free(facts, allowed_codes, depth - 1, program)
    return ways


@dataclass(frozen=True)
class ShortFacts:
    """Axel jumps, solo jumps, pairs of the combination, and second jumps if only some may be."""

    axels: tuple[str, ...]
    solo: str
    pairs: tuple[tuple[int, int], ...]
    tails: str = ".*"


JUNIOR_JUMP = ("F", "Lo", "Lz")
"""The prescribed solo jump of 2018/19, 2019/20, 2020/21 and so on, in turn (fact sheet, section 2)."""


def short_facts(name: str) -> ShortFacts:
    """The requirements of one short program, by its name (fact sheet, sections 2 and 7)."""
    _, season, level, who, _ = name.split("/")
    if level == "advanced-novice":
        tails = "[23]T" if season == "2024-25" else ".*"
        return ShortFacts(("1A", "2A"), "[23][^A].*", ((2, 2), (2, 3)), tails)
    if level == "novice":
        return ShortFacts(("1A", "2A", "3A"), "[23][^A].*", ((2, 2), (2, 3), (3, 3)))
    if level == "senior":
        pairs = ((2, 3), (3, 3), *(((2, 4), (3, 4)) if who == "men" else ()))
        return ShortFacts(("2A", "3A"), "[34].*" if who == "men" else "3.*", pairs)
    jump = JUNIOR_JUMP[(int(season[:4]) - 2018) % 3]
    if who == "men":
        return ShortFacts(("2A", "3A"), f"[23]{jump}", ((2, 3), (3, 3)))
    axels = ("2A",) if season >= "2022-23" else ("2A", "3A")  # sheets before 2022/23 show the triple Axel
    return ShortFacts(axels, f"[23]{jump}", ((2, 2), (2, 3), (3, 3)))


def short_is_full(facts: ShortFacts, program: Sequence[Unit]) -> bool:
    """A whole program of three elements without errors: an Axel, a solo jump, a combination or what stands for it."""
    if len({name for unit in program for name in set(unit.names)}) != sum(
        len(set(unit.names)) for unit in program
    ):
        return False
    units = [unit for unit in program if len(unit.names) > 1]
    lone = [unit.names[0] for unit in program if len(unit.names) == 1]
    if len(units) > 1 or not all(pair_fits(facts, unit.names) for unit in units):
        return False
    if not units:
        return without_unit(facts, lone)
    # In order of execution the first Axel that fits is the Axel jump, so 3A before 2A leaves 2A as a solo jump.
    axel = next((n for n, name in enumerate(lone) if name in facts.axels), None)
    return axel is not None and solo_fits(facts, lone[1 - axel])


def without_unit(facts: ShortFacts, lone: Sequence[str]) -> bool:
    """Three lone jumps: the first Axel that fits is set aside, one of the two others stands for the combination."""
    axel = next((n for n, name in enumerate(lone) if name in facts.axels), None)
    if axel is None:
        return False
    first, second = (name for n, name in enumerate(lone) if n != axel)
    leads = {turns for pair in facts.pairs for turns in pair}
    saved = [
        n for n, name in enumerate((first, second)) if not solo_fits(facts, name) and int(name[0]) in leads
    ]
    failed = [n for n, name in enumerate((first, second)) if int(name[0]) not in leads]
    combo = saved[0] if len(saved) == 1 else failed[0] if len(failed) == 1 else 1
    both = (first, second)
    return solo_fits(facts, both[1 - combo]) and int(both[combo][0]) in leads


def solo_fits(facts: ShortFacts, name: str) -> bool:
    """May it be the solo jump?"""
    return re.fullmatch(facts.solo, name) is not None


def pair_fits(facts: ShortFacts, names: tuple[str, ...]) -> bool:
    """May these two jumps form the combination?"""
    turns = sorted(int(name[0]) for name in names)
    return (
        any(turns == sorted(pair) for pair in facts.pairs) and re.fullmatch(facts.tails, names[1]) is not None
    )


def count_short(facts: ShortFacts, allowed_codes: Sequence[str]) -> int:
    """Programs of three elements that count in full."""
    units = [taken_apart(code) for code in allowed_codes]
    return sum(short_is_full(facts, program) for program in product(units, repeat=3))


def count_of(name: str, choices: Sequence[str], depth: int) -> int:
    """The count of one edition, free skating or short program (always whole)."""
    if name.endswith("/short"):
        return count_short(short_facts(name), choices)
    return count_free(free_facts(name), choices, depth)


def codes_for(name: str) -> str:
    """The elements to choose from."""
    if name.endswith("/short"):
        return SHORT
    low = (
        "aspire",
        "prelim",
        "juvenile",
        "star",
        "chicks",
        "cubs",
        "novice-b",
        "basic",
        "intermediate-novice",
    )
    if (
        any(word in name for word in low)
        and "usa/2025-26/juvenile" not in name
        and "usa/2026-27/juvenile" not in name
    ):
        return LOW
    return HIGH.format(euler="Eu" if "2026-27" in name else "1Eu")


def block(name: str, depths: Sequence[int]) -> Iterator[str]:
    """The lines of one block of the count file."""
    allowed_codes = codes_for(name)
    choices = [code.strip() for code in allowed_codes.split(";")]
    yield f"id        {name}"
    yield "source    fact sheet, sections 2, 3, 7 and 8"
    yield "how       whole programs"
    yield f"edition   {name}"
    yield f"allowed   {allowed_codes}"
    for depth in (3,) if name.endswith("/short") else depths:
        yield f"depth {depth} = {count_of(name, choices, depth)}"


HEADER = """# Every edition once, counted by tests/counts/whole_programs.py, which imports nothing of the project and
# looks at whole programs instead of rulings in order. Never written by the engine.
"""


def write(names: Sequence[str]) -> None:
    """Write the file anew for these editions."""
    text = "\n".join(f"{chr(10).join(block(name, (2, 3)))}\n" for name in names)
    FILE.write_text(f"{HEADER}\n{text}", encoding="utf-8")


if __name__ == "__main__":
    from app import engine

    write(engine.editions())
