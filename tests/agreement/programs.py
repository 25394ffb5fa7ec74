"""Programs of any size from a seed: for the general libraries, for properties and for `scripts/bench`.

Elements are drawn from nine leads (3Lz 3F 3Lo 3S 3T 2A 3A 4T 4S) alone, with seven tails, and as sequences
with a 2A, and three double solos. An attempt becomes itself (most likely), its lead under-rotated, its lead
alone with a fall, its lead with one turn less, or its lead alone with an error (a solo: downgraded).
"""

from __future__ import annotations

from random import Random
from typing import Any

LEADS = ("3Lz", "3F", "3Lo", "3S", "3T", "2A", "3A", "4T", "4S")
Request = dict[str, Any]


def pool(edition: str) -> list[str]:
    """Every element that may be drawn: 87 of them."""
    euler = "Eu" if "2026-27" in edition else "1Eu"
    tails = ("2T", "3T", "2Lo", "2T+2Lo", f"{euler}+3S", "3Lo", "2T+2T")
    return [
        *LEADS,
        *("2Lz", "2F", "2S"),
        *(f"{lead}+{tail}" for lead in LEADS for tail in tails),
        *(f"{lead}+2A+SEQ" for lead in LEADS),
        *(f"{lead}+2A+2T+SEQ" for lead in LEADS[:3]),
    ]


def misses(code: str) -> list[str]:
    """The five things an attempt may become, likeliest first; the third with a fall."""
    sequence = "+SEQ" if code.endswith("+SEQ") else ""
    lead, *tails = code.removesuffix("+SEQ").split("+")
    short = "+".join([f"{lead}<", *tails]) + sequence
    popped = f"{max(1, int(lead[0]) - 1)}{lead[1:]}"
    return [code, short, lead, popped, lead if tails else f"{lead}<<"]


def drawn_outcomes(random: Random, code: str, count: int) -> list[Request]:
    """Chances and grades of one attempt, drawn."""
    ranges = ((3, 8), (0.3, 1), (0.3, 1), (0.2, 0.8), (0.2, 0.8))[:count]
    grades = ((0, 3), (-3, -1), (-5, -5), (-1, 0), (-3, 0))[:count]
    weights = [random.uniform(*one) for one in ranges]
    chances = [round(one / sum(weights), 4) for one in weights[1:]]
    chances = [round(1 - sum(chances), 4), *chances]
    return [
        {"becomes": becomes, "chance": chance, "goe": round(random.uniform(*grade), 2), "fall": number == 2}
        for number, (becomes, chance, grade) in enumerate(zip(misses(code), chances, grades, strict=False))
    ]


def random_program(
    seed: int, edition: str, passes: int, elements: int, outcomes: int = 5, late: int = 3
) -> Request:
    """Every pass free to take any of `elements` elements; passes from index `late` on are late."""
    random = Random(seed)
    chosen = random.sample(pool(edition), elements)
    return {
        "edition": edition,
        "passes": [
            {"planned": chosen[place % elements], "late": place >= late, "options": chosen}
            for place in range(passes)
        ],
        "attempts": {code: drawn_outcomes(random, code, outcomes) for code in chosen},
    }


def all_clean(seed: int, edition: str, passes: int, elements: int, late: int = 3) -> Request:
    """Programs in which every attempt becomes itself with a grade of 0.

    To choose from at every pass: the twelve solos, and units drawn until there are `elements`, each with
    the units of two jumps that it shortens to. So there is always something better than an element with a
    jump that counts for nothing.
    """
    random = Random(seed)
    units = [code for code in pool(edition) if "+" in code]
    chosen = [*LEADS, "2Lz", "2F", "2S"]
    while len(chosen) < elements:
        code = random.choice(units)
        chosen = list(dict.fromkeys([*chosen, *shorter(code), code]))
    return {
        "edition": edition,
        "passes": [
            {"planned": chosen[place], "late": place >= late, "options": chosen} for place in range(passes)
        ],
        "attempts": {code: [{"becomes": code, "chance": 1}] for code in chosen},
    }


def shorter(code: str) -> list[str]:
    """The units of two jumps left when a tail is dropped from a unit of three."""
    lead, *tails = code.removesuffix("+SEQ").split("+")
    if len(tails) < 2 or tails[0].endswith("Eu"):
        return []
    return [f"{lead}+{tail}" + ("+SEQ" if tail.endswith("A") else "") for tail in tails]


def usual_program(edition: str, passes: int, options: int, late: int = 3) -> Request:
    """A coach's layout: each pass has its own lead and up to fourteen elements around it; two changes at most."""
    euler = "Eu" if "2026-27" in edition else "1Eu"
    leads = ("3Lz", "3F", "3Lo", "3S", "3Lz", "3F", "2A")
    if "/men/" in edition:
        leads = ("4T", "3A", "4S", "3Lz", "3F", "3A", "2A")
    rows, attempts = [], {}
    for place, lead in enumerate(leads[:passes]):
        row = around(lead, euler)[:options]
        rows.append({"planned": row[place % 3], "late": place >= late, "options": row})
        attempts.update({code: usual_outcomes(code) for code in row})
    return {"edition": edition, "passes": rows, "attempts": attempts, "max_changes": 2}


def around(lead: str, euler: str) -> list[str]:
    """What a skater might try at a pass planned around one lead, likeliest first."""
    popped = f"{int(lead[0]) - 1}{lead[1:]}"
    tails = ("2T", "3T", "2T+2Lo", f"{euler}+3S")
    units = [f"{lead}+{tail}" for tail in tails]
    others = ("2A", "2A+2T", "3T", "3S", "2A+3T", "3T+2T", f"{lead}+2Lo")
    return list(dict.fromkeys([lead, *units, popped, f"{lead}+2A+SEQ", *others]))


def usual_outcomes(code: str) -> list[Request]:
    """Five outcomes: three in five as tried, one in ten for each miss."""
    grades = (1.5, -2, -5, -0.5, -1.5)
    return [
        {"becomes": becomes, "chance": 0.6 if number == 0 else 0.1, "goe": grade, "fall": number == 2}
        for number, (becomes, grade) in enumerate(zip(misses(code), grades, strict=True))
    ]


def short_program(edition: str, options: int = 12) -> Request:
    """A short program: combination, solo jump, Axel, each pass with up to twelve elements."""
    rows = (
        [
            "3Lz+3T",
            "3Lz+2T",
            "3F+3T",
            "3F+2T",
            "3Lz",
            "3F",
            "3Lo+3T",
            "3Lo+2T",
            "3T+3T",
            "3S+3T",
            "3S+2T",
            "3Lo",
        ],
        ["3F", "3Lo", "3Lz", "3S", "3T", "2F", "2Lz", "3F+2T", "3F+3T", "3Lo+2T", "3Lo+3T", "3S+3T"],
        ["2A", "3A", "1A", "2A+2T", "2A+3T", "3F", "3Lo", "3S", "3Lz", "3Lz+2T", "3F+2T", "3T"],
    )
    return {
        "edition": edition,
        "passes": [
            {"planned": row[0], "late": place == 2, "options": row[:options]}
            for place, row in enumerate(rows)
        ],
        "attempts": {code: usual_outcomes(code) for row in rows for code in row[:options]},
    }
