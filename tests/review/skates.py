"""Skates from fixed seeds: a plan, what was tried, what the panel called, and the sheet that follows. All invented.

Passes come out popped, without their tail, called, fallen on, swapped with a neighbour, left out or put in; some sheets
carry a slip of the panel, so that sheet and rulebook differ.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from random import Random

from app import engine
from app.domain.elements import Jump, JumpElement
from app.domain.notation import parse_jump_element
from app.review.compare import Beside, Called, Tried, three_columns
from app.review.price import Skate

POOL = (
    "3Lz+3T",
    "3F+2T",
    "3Lo",
    "3S",
    "3F",
    "3Lz",
    "2A",
    "2A+2T",
    "2A+3T",
    "3S+2T+2Lo",
    "3T",
    "3Lo+2T",
    "3F+Eu+3S",
)
MARKS = ("q", "<", "<<")
FREE, SHORT = "isu/2025-26/senior/women/free", "isu/2025-26/senior/women/short"
YOUNG_POOL = (*POOL, "2A", "2A+2T", "2Lz+2T", "2F", "2Lo+2Lo", "3S+2T", "3T+2T", "2S+3T", "3A", "3T+3T", "4T")
BONUS_LEVELS: tuple[tuple[str, Mapping[str, str], int], ...] = (
    ("usa/2025-26/juvenile/all/free", {}, 5),
    ("usa/2025-26/intermediate/all/free", {}, 5),
    ("usa/2025-26/novice/women/free", {}, 6),
    ("usa/2025-26/junior/men/short", {}, 3),
    ("canada/2022-23/pre-novice/all/free", {}, 6),
    ("isu/2022-23/advanced-novice/girls/free", {"novice_bonus": "counted"}, 6),
)
"""Levels whose rulebook has a bonus, with the reading of a switch under which it has, and so many passes to draw."""


def came_out(random: Random, code: str) -> str:
    """One way a pass may come out."""
    jumps = list(parse_jump_element(code).jumps)
    kind = random.randrange(6)
    if kind == 0 and len(jumps) > 1:
        jumps = jumps[:1]
    if kind == 1:
        turns = random.randint(1, max((jumps[0].revolutions or 1) - 1, 1))
        jumps = [replace(jumps[0], revolutions=turns), *jumps[1:]]
    if kind == 2:
        jumps = [*jumps, Jump("T", 2)] if len(jumps) < 3 else jumps
    return str(JumpElement(tuple(jumps)))


def as_called(random: Random, code: str) -> str:
    """A rotation call on some passes."""
    if random.random() < 0.7:
        return code
    first, *rest = parse_jump_element(code).jumps
    return str(JumpElement((replace(first, rotation=random.choice(MARKS)), *rest)))


def skate_of(seed: int) -> tuple[str, tuple[Beside, ...], Skate]:
    """Edition, lines and skate of one seed."""
    name = SHORT if seed % 4 == 0 else FREE
    lines, skate = _drawn(Random(seed), engine.edition(name), POOL, 3 if name == SHORT else 7)
    return name, lines, skate


def bonus_skate_of(seed: int) -> tuple[engine.Edition, tuple[Beside, ...], Skate]:
    """The same at a level with a bonus."""
    name, switches, count = BONUS_LEVELS[seed % len(BONUS_LEVELS)]
    book = engine.edition(name, switches)
    return book, *_drawn(Random(seed), book, YOUNG_POOL, count)


def _drawn(
    random: Random, book: engine.Edition, pool: Sequence[str], count: int
) -> tuple[tuple[Beside, ...], Skate]:
    planned = [engine.Performed(random.choice(pool), late=n >= count // 2 + 1) for n in range(count)]
    tried = _tried(random, planned)
    called = [
        engine.Performed(as_called(random, one.code), one.late, one.fall, one.fall or one.error)
        for one in tried
        if one is not None
    ]
    if random.random() < 0.15:
        called.insert(random.randrange(len(called) + 1), engine.Performed(random.choice(pool)))
    lines = lines_of(planned, tried, called, book)
    goes = tuple(random.randint(-250, 150) for _ in called)
    ruled = engine.review(book, called).lines
    slip = [random.choice((0, 0, 0, 0, 0, -130, 42)) for _ in called]
    scores = tuple(line.base_value + goe + off for line, goe, off in zip(ruled, goes, slip, strict=True))
    others = (random.randint(1200, 2500), random.randint(900, 3000))
    return lines, Skate(
        tuple(planned), tuple(tried), tuple(called), goes, scores, others, -100 * random.randint(0, 4)
    )


def _tried(random: Random, planned: Sequence[engine.Performed]) -> list[engine.Performed | None]:
    found: list[engine.Performed | None] = []
    for one in planned:
        fall = random.random() < 0.12
        code = came_out(random, one.code)
        found.append(None if random.random() < 0.06 else replace(one, code=code, fall=fall, error=fall))
    if len(found) > 3 and random.random() < 0.2:
        at = random.randrange(len(found) - 1)
        found[at], found[at + 1] = found[at + 1], found[at]
    return found if any(found) else list(planned)


def lines_of(
    planned: Sequence[engine.Performed],
    tried: Sequence[engine.Performed | None],
    called: Sequence[engine.Performed],
    book: engine.Edition,
) -> tuple[Beside, ...]:
    """The three columns of these passes; what was tried is taken to be what came, or the plan where nothing came."""
    log = [
        Tried(planned[n].code, None) if one is None else Tried(one.code, one.code, one.fall)
        for n, one in enumerate(tried)
    ]
    ruled = engine.review(book, called).lines
    rows = [Called(one.code, line.code) for one, line in zip(called, ruled, strict=True)]
    return three_columns([one.code for one in planned], log, rows)
