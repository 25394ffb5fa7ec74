"""Layouts for the trainer's tests: everything here is invented, elements and chances drawn from a fixed seed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from app.live.entries import trained_from
from app.live.program import KnownElement, Limits, Outcome, Plan, PlannedPass, Setting
from app.rulebook.editions import edition

TODAY = date(2026, 11, 2)
EDITIONS = (
    "isu/2026-27/senior/women/free",
    "isu/2026-27/senior/men/free",
    "isu/2025-26/senior/women/free",
    "isu/2025-26/junior/women/free",
    "isu/2026-27/senior/women/short",
)
LEADS = ("3Lz", "3F", "2A", "3Lo", "3S", "3T")
TAILS = ("+2T", "+3T", "+2Lo", "+2T+2Lo")


@dataclass(frozen=True)
class InventedLayout:
    """One layout with its skater and limits."""

    plan: Plan
    known: dict[str, KnownElement]
    offered: dict[str, KnownElement]
    limits: Limits


def invented_layout(seed: int) -> InventedLayout:
    """The layout of a seed."""
    random = Random(seed)
    name = EDITIONS[seed % len(EDITIONS)]
    book = edition(name)
    count = 3 if book.is_short else random.choice((5, 6, 7))
    passes = tuple(_pass(random, n, count, book.half_way_seconds) for n in range(count))
    codes = sorted({code for row in passes for code in (row.code, *row.options) if code})
    known = {code: _element(random, code) for code in codes}
    limits = Limits(
        threshold=random.choice((0.0, 0.3, 0.5, 1.0)),
        most_changes=random.choice((1, 2)),
        harder_after_fall=random.random() < 0.3,
        after_fall_odds=random.random() < 0.7,
    )
    offered = {code: one for code, one in known.items() if trained_from(one, limits, TODAY)}
    return InventedLayout(Plan(name, Setting.RUN_THROUGH, "", passes), known, offered, limits)


def _pass(random: Random, place: int, count: int, half: int) -> PlannedPass:
    lead = random.choice(LEADS)
    units = [lead + tail for tail in TAILS]
    code = random.choice(units) if place % 2 == 0 else lead
    others = random.sample([lead, *units], random.randint(1, 3))
    options = tuple(dict.fromkeys((code, *others, *((None,) if random.random() < 0.2 else ()))))
    seconds = 20 + 200 * place // count
    return PlannedPass(code, seconds, seconds >= half, options)


def _element(random: Random, code: str) -> KnownElement:
    ready = random.random() < 0.85
    day = TODAY - timedelta(days=random.choice((3, 3, 3, 100)))
    return KnownElement(code, ready, 30, 20, day, _outcomes(random, code))


def _outcomes(random: Random, code: str) -> tuple[Outcome, ...]:
    lead, *tails = code.split("+")
    popped = f"{int(lead[0]) - 1}{lead[1:]}"
    fates = [Outcome(code, 0, 1.0), Outcome(lead, 0, -5.0, fall=True, error=True)]
    fates.append(Outcome(popped, 0, -1.0, error=True))
    if tails:
        shorter = f"{int(tails[-1][0]) - 1}{tails[-1][1:]}"
        fates.append(Outcome("+".join([lead, *tails[:-1]]), 0, -1.5, error=True))
        fates.append(Outcome("+".join([lead, *tails[:-1], shorter]), 0, -0.5))
    if random.random() < 0.3:
        fates.append(Outcome(None, 0))
    shares = [random.randint(12, 24), *(random.randint(1, 4) for _ in fates[1:])]
    return tuple(
        Outcome(one.becomes, share / sum(shares), one.goe, one.fall, one.error)
        for one, share in zip(fates, shares, strict=True)
    )
