"""Two doors to one house: would a next element count in full? The judge and the quotas must give one answer.

Nothing here is expected from outside: the two are written apart and held to each other on thousands of states,
reached by crowded random programs, in every kind of edition and under every reading.
"""

from __future__ import annotations

from collections import Counter
from itertools import product
from random import Random

import pytest

from app.domain.notation import parse_jump_element
from app.legality.candidates import counts_in_full
from app.legality.judge import judge
from app.legality.tally import Tally
from app.rulebook.editions import Edition, edition
from tests.legality.crowded_programs import draw_code, pool
from tests.legality.programs import BESIDE, CLAUSE, STARRED

OLD = ("isu/2025-26/senior/women/free", "isu/2022-23/junior/men/free", "isu/2018-19/senior/men/free")
NEW = ("isu/2026-27/senior/women/free", "isu/2026-27/junior/men/free")
NOVICE = "isu/2022-23/intermediate-novice/all/free"
LEVELS = (
    "isu/2022-23/basic-novice/all/free",
    "isu/2024-25/advanced-novice/girls/free",
    "isu/2026-27/advanced-novice/boys/free",
    "usa/2025-26/aspire-4/all/free",
    "usa/2025-26/preliminary/all/free",
    "usa/2025-26/juvenile/all/free",
    "usa/2026-27/juvenile/all/free",
    "usa/2025-26/intermediate/all/free",
    "usa/2026-27/novice/women/free",
    "canada/2022-23/juvenile/all/free",
    "canada/2022-23/star-5/all/free",
    "canada/2022-23/pre-novice/all/free",
    "club/2022-23/cubs-b/all/free",
    "club/2022-23/novice-b/girls/free",
)
"""Every kind of rule: allowed names, quotas of groups and take-offs, limits inside a unit, no sequences."""
READINGS = [
    dict(zip((BESIDE, CLAUSE, STARRED), chosen, strict=True))
    for chosen in product(("only inside the sequence", "never"), ("kept", "dropped"), ("yes", "no"))
]
BOOKS = [
    *((name, {STARRED: starred}) for name in (*OLD, NOVICE, *LEVELS) for starred in ("yes", "no")),
    *((name, readings) for name in NEW for readings in READINGS),
]
FEW, MANY = 4, 26
"""Random programs of each edition: a few for a quick answer, then many; other seeds for each."""
QUESTIONS = 6


def disagreements(book: Edition, random: Random, programs: int, seen: Counter[bool]) -> list[str]:
    """Walk random programs; at each state ask both doors about several next elements."""
    found = []
    for _ in range(programs):
        names, tally, done = pool(random, max(book.rules.allowed.revolutions)), Tally(), []
        for _ in range(book.boxes + 1):
            codes = [draw_code(random, names, book.rules.euler.code) for _ in range(QUESTIONS)]
            for code in codes:
                element = parse_jump_element(code)
                full = judge(book, tally, element).verdict.counts_in_full
                seen[full] += 1
                if counts_in_full(book, tally, element) != full:
                    found.append(f"{' '.join(done)} | {code}: judge {'full' if full else 'not full'}")
            done.append(codes[0])
            tally = judge(book, tally, parse_jump_element(codes[0])).tally
    return found


@pytest.mark.parametrize("programs", [FEW, MANY])
@pytest.mark.parametrize(
    ("name", "readings"), BOOKS, ids=lambda part: str(part) if isinstance(part, str) else ""
)
def test_judge_and_quotas_agree(name: str, readings: dict[str, str], programs: int) -> None:
    book = edition(name, readings)
    random = Random(f"{name} {sorted(readings.items())} {programs}")
    seen: Counter[bool] = Counter()
    assert disagreements(book, random, programs, seen)[:5] == []
    if programs == MANY:
        assert min(seen[True], seen[False]) > 50, "the random programs ask one-sided questions"


def test_a_short_program_has_no_quotas_of_this_kind() -> None:
    short = edition("isu/2025-26/senior/women/short")
    assert not counts_in_full(short, Tally(), parse_jump_element("3Lz+3T"))
