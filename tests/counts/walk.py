"""Counting files: how many sequences of jump elements count in full from a given state.

A count file is plain text, blocks separated by blank lines, `#` starts a comment:

    id        a name, unique in the file
    source    where the rules come from
    how       by hand | second opinion
    edition   isu/2026-27/senior/women/free
    done      3T ; 3Lz+2T                  (may be absent)
    allowed   1T ; 2A ; 3Lo+2Lo
    depth 2 = 3

"depth n = m": of all ordered sequences of n allowed elements (the same may come again) skated after
those done, m have no jump that counts for less than full.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from pathlib import Path

from app import engine
from app.domain.notation import parse_jump_element
from app.legality.judge import judge, judge_all
from app.legality.tally import Tally
from tests.reference import second_opinion

FOLDER = Path(__file__).parent
KEYS = ("id", "source", "how", "edition", "done", "allowed")
HOW = ("by hand", "second opinion", "whole programs")


@dataclass
class Counting:
    """One block of a count file."""

    where: str
    facts: dict[str, str] = field(default_factory=dict)
    depths: dict[int, int] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """The block's id."""
        return self.facts["id"]

    @property
    def edition(self) -> str:
        """The rulebook's name."""
        return self.facts["edition"]

    @property
    def is_short(self) -> bool:
        """A short program is counted whole."""
        return self.edition.endswith("/short")

    @property
    def done(self) -> list[str]:
        """Elements skated before."""
        return codes(self.facts.get("done", ""))

    @property
    def allowed(self) -> list[str]:
        """Elements to choose from."""
        return codes(self.facts["allowed"])


def codes(text: str) -> list[str]:
    """`3T ; 3Lz+2T` as a list."""
    return [part.strip() for part in text.split(";") if part.strip()]


def read(path: Path) -> Iterator[Counting]:
    """The blocks of one file. Raises ValueError naming file and line."""
    block = Counting(path.name)
    for number, raw in enumerate([*path.read_text(encoding="utf-8").splitlines(), ""], start=1):
        line = raw.split("#")[0].strip()
        if not line:
            if block.facts:
                yield checked(block, f"{path.name}:{number}")
            block = Counting(path.name)
            continue
        depth = re.fullmatch(r"depth (\d+) = (\d+)", line)
        key, _, value = line.partition(" ")
        if depth:
            block.depths[int(depth[1])] = int(depth[2])
        elif key in KEYS and key not in block.facts:
            block.facts[key] = value.strip()
        else:
            raise ValueError(f"{path.name}:{number}: {line!r}; expected one of {KEYS} once, or 'depth n = m'")


def checked(block: Counting, where: str) -> Counting:
    """Refuses a block without its parts."""
    missing = [key for key in KEYS if key != "done" and key not in block.facts]
    if missing or not block.depths:
        raise ValueError(f"block before {where}: missing {', '.join(missing) or 'a depth'}")
    if block.facts["how"] not in HOW:
        raise ValueError(f"block before {where}: how is {block.facts['how']!r}; expected one of {HOW}")
    return block


def all_countings() -> list[Counting]:
    """Every block of every count file."""
    return [block for path in sorted(FOLDER.glob("*.txt")) for block in read(path)]


def one_by_one(counting: Counting, depth: int, after: Sequence[str] = ()) -> int:
    """Walks every sequence, asking the engine's front door only.

    A free skating is decided in order of execution, so a lost element ends its branch; a short program
    is reviewed whole, because a later element can still take an earlier one's role.
    """
    book = engine.edition(counting.edition)
    before = [*counting.done, *after]
    if counting.is_short:
        tails = product(counting.allowed, repeat=depth)
        return sum(whole_counts(book, [*before, *tail], len(counting.done)) for tail in tails)
    full = full_choices(book, counting, before)
    if depth == 1:
        return len(full)
    return sum(one_by_one(counting, depth - 1, (*after, code)) for code in full)


def full_choices(book: engine.Edition, counting: Counting, before: Sequence[str]) -> list[str]:
    """The allowed elements that lose nothing as the next one."""
    performed = [engine.Performed(code) for code in before]
    return [c.code for c in engine.would_count(book, performed, counting.allowed) if not c.rulings]


def whole_counts(book: engine.Edition, program: Sequence[str], done: int) -> bool:
    """True when nothing after the first `done` elements loses anything in the whole program."""
    lines = engine.review(book, [engine.Performed(code) for code in program]).lines
    return not any(line.rulings for line in lines[done:])


def by_first_choice(counting: Counting, depth: int) -> dict[str, int]:
    """How many sequences begin with each allowed element, to find a fault by bisection."""
    book = engine.edition(counting.edition)
    firsts = full_choices(book, counting, counting.done) if not counting.is_short else counting.allowed
    return {code: 1 if depth == 1 else one_by_one(counting, depth - 1, (code,)) for code in firsts}


def merged(counting: Counting, depth: int) -> int:
    """Counts by merging states with an equal tally; free skating only.

    If this differs from `one_by_one`, the tally has forgotten something that a rule looks at.
    """
    book = engine.edition(counting.edition)
    _, start = judge_all(book, [parse_jump_element(code) for code in counting.done])
    allowed = [parse_jump_element(code) for code in counting.allowed]
    states: dict[Tally, int] = {start: 1}
    for _ in range(depth):
        after: dict[Tally, int] = {}
        for tally, ways in states.items():
            for element in allowed:
                found = judge(book, tally, element)
                if not found.verdict.rulings:
                    after[found.tally] = after.get(found.tally, 0) + ways
        states = after
    return sum(states.values())


def by_second_opinion(counting: Counting, depth: int) -> int:
    """The count by the independent implementation; slow, every sequence is judged from the start."""
    sheet = second_opinion.edition(counting.edition)
    done = [second_opinion.Attempt(code) for code in counting.done]
    allowed = [second_opinion.Attempt(code) for code in counting.allowed]
    if counting.is_short:
        return sum(second_full(sheet, [*done, *tail], len(done)) for tail in product(allowed, repeat=depth))
    return second_count(sheet, done, allowed, depth)


def second_full(sheet: second_opinion.Sheet, program: list[second_opinion.Attempt], done: int) -> bool:
    """True when the second opinion takes nothing from the elements after the first `done`."""
    marked = second_opinion.place_combo(sheet, program, [False] * len(program))
    return not any(any(v.stars) or v.rep for v in second_opinion.judge(sheet, marked)[done:])


def second_count(
    sheet: second_opinion.Sheet,
    before: list[second_opinion.Attempt],
    allowed: list[second_opinion.Attempt],
    depth: int,
) -> int:
    """Sequences of `depth` more elements of a free skating that lose nothing."""
    ways = 0
    for attempt in allowed:
        program = [*before, attempt]
        if second_full(sheet, program, len(before)):
            ways += 1 if depth == 1 else second_count(sheet, program, allowed, depth - 1)
    return ways
