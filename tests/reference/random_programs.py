"""Random programs that crowd the rules: few jumps, so that repeats, families and quotas collide.

Everything comes from a seeded `random.Random`; the same seed always gives the same program.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from tests.reference.second_opinion import Attempt, Sheet

SEASONS = (2022, 2023, 2024, 2025, 2026)


@dataclass(frozen=True)
class Program:
    """An edition's name and its jump elements as executed; `errors` tells which attempts failed."""

    edition: str
    attempts: tuple[Attempt, ...]
    errors: tuple[bool, ...]


def free_program(seed: int) -> Program:
    """A free skate of up to one element too many, from a pool of four to nine jumps."""
    random = Random(seed)
    sheet = Sheet(
        random.choice(SEASONS), random.choice(("senior", "junior")), random.choice(("men", "women")), "free"
    )
    pool = jump_pool(random, (1, 2, 2, 3, 3, 3, 4, 4), random.randint(4, 9))
    count = random.randint(1, sheet.boxes + 1)
    codes = [free_element(random, sheet, pool) for _ in range(count)]
    return finished(random, sheet, codes)


def short_program(seed: int) -> Program:
    """Three or four elements around the three requirements, often with one of them missed.

    Left out, because no text or sheet settles it: two solo Axels, a 4A without another Axel, a quad as
    one of two lone jumps where quads are not allowed.
    """
    random = Random(seed)
    sheet = Sheet(
        random.choice(SEASONS), random.choice(("senior", "junior")), random.choice(("men", "women")), "short"
    )
    axel = random.choice(("2A", "2A", "3A", "3A", "1A", "A"))
    solo = random.choice((sheet.prescribed, "Lz", "F", "T", "S"))
    pool = jump_pool(random, (2, 3, 3, 4), 4)
    lone = random.random() < 0.3
    quads = "44" if not lone or (sheet.level, sheet.discipline) == ("senior", "men") else ""
    codes = [
        axel + (random.choice(("", "", "<", "q")) if axel != "A" else ""),
        marked(random, f"{random.choice('123333' + quads)}{solo}"),
        short_unit(random, sheet, pool),
    ]
    if lone:
        codes[2] = marked(random, random.choice("1233") + random.choice(("T", "S", "Lo", "F", "Lz")))
    random.shuffle(codes)
    if random.random() < 0.1:
        codes.append(random.choice(pool))
    return finished(random, sheet, codes)


def finished(random: Random, sheet: Sheet, codes: list[str]) -> Program:
    """Adds where the second half starts and which attempts failed."""
    half = random.randint(0, len(codes))
    attempts = tuple(Attempt(code, late=place >= half) for place, code in enumerate(codes))
    errors = tuple(random.random() < 0.3 for _ in codes)
    name = f"isu/{sheet.season}-{(sheet.season + 1) % 100}/{sheet.level}/{sheet.discipline}/{sheet.segment}"
    return Program(name, attempts, errors)


def jump_pool(random: Random, turns: tuple[int, ...], size: int) -> list[str]:
    """Jumps to draw from; small pools make repetitions likely."""
    pool = []
    for _ in range(size):
        name = random.choice(("T", "T", "S", "Lo", "F", "Lz", "A"))
        pool.append(f"{random.choice(turns)}{name}")
    return pool


def marked(random: Random, jump: str) -> str:
    """The jump with rotation and edge calls now and then."""
    edge = random.choice(("e", "!")) if jump[-1] in "Fz" and random.random() < 0.15 else ""
    return jump + edge + random.choice(("", "", "", "", "q", "<", "<<"))


def short_unit(random: Random, sheet: Sheet, pool: list[str]) -> str:
    """A combination of two, sometimes broken, sometimes of one too many or with an Euler."""
    jumps = [marked(random, random.choice(pool)) for _ in range(random.choice((2, 2, 2, 2, 2, 3)))]
    if sum(jump[0] == "4" for jump in jumps) > 1:  # which of two quads is deleted is written nowhere
        jumps = [jumps[0], *("3" + jump[1:] for jump in jumps[1:])]
    if random.random() < 0.15:
        return f"{jumps[0]}+COMBO+{jumps[1]}"
    if random.random() < 0.1 and sheet.season < 2026:  # from 2026/27 on its cost is written nowhere
        return f"{jumps[0]}+1Eu+{jumps[1]}"
    return "+".join(jumps)


def free_element(random: Random, sheet: Sheet, pool: list[str]) -> str:
    """Solo, combination, sequence, unit with an Euler, broken unit, or an attempt without a turn."""
    kind = random.choice(("solo", "solo", "solo", "solo", "two", "two", "two", "three", "euler", "broken"))
    first, second, third = (marked(random, random.choice(pool)) for _ in range(3))
    if kind == "solo":
        return random.choice(("A", "T", "Lz")) if random.random() < 0.03 else first
    if kind == "euler":
        euler = random.choice(("1Eu", "1Eu", "1Eu", "1Eu<<")) if sheet.season < 2026 else "Eu"
        return f"{first}+{euler}+{second}"
    if kind == "broken":
        return f"{first}+{random.choice(('COMBO', 'COMBO', 'SEQ'))}+{second}"
    jumps = [first, second] if kind == "two" else [first, second, third]
    sequence = any("A" in jump for jump in jumps[1:])
    return "+".join(jumps) + ("+SEQ" if sequence else "")
