"""The distribution of one attempt at an element, from prior and record.

An attempt is its first jump, then each tail given that the jump before was on its feet. What landed is split by
the calls and grades of the population; what did not, into falls, pops, lost and shortened tails.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.chances.prior import JumpPrior, habit, jump_prior
from app.chances.record import Estimate, Record, landing_chance
from app.domain.elements import Jump, JumpElement
from app.domain.notation import parse_jump_element

LANDED = ("clean", "neg", "edge", "q", "<")
LEAST = 0.005
"""Fates rarer than this are left to the commonest one."""


@dataclass(frozen=True, slots=True)
class Fate:
    """One way an attempt can end: what it becomes, its chance, mean grade, and whether it fell or failed."""

    becomes: str
    chance: float
    grade: float
    fall: bool = False
    error: bool = False


@dataclass(frozen=True, slots=True)
class Chances:
    """Every fate of an element (chances sum to 1) and the estimate that it lands as tried."""

    fates: tuple[Fate, ...]
    landing: Estimate


def chances(level: str, discipline: str, code: str, record: Record) -> Chances | None:
    """What an attempt may become, for one skater. None: not enough data on its first jump.

    `level` and `discipline` as in an edition's name. Raises NotationError for a code that cannot be read.
    """
    element = parse_jump_element(code)
    prior = jump_prior(level, discipline, element.jumps[0].name)
    if prior is None:
        return None
    landing = landing_chance(record, _prior_landing(element, prior), habit("pseudo-count"))
    landed = _landed(element, prior)
    missed = _missed(element, prior)
    fates = [replace(one, chance=one.chance * landing.chance) for one in landed]
    fates += [replace(one, chance=one.chance * (1 - landing.chance)) for one in missed]
    return Chances(_tidy(fates), landing)


def _prior_landing(element: JumpElement, prior: JumpPrior) -> float:
    """Chance of the population that every jump of the element follows, on the feet."""
    feet = (1 - prior.pop) * (1 - prior.shares["fall"] - prior.shares["<<"])
    for tail in _tails(element):
        feet *= habit(f"tail {min(tail.revolutions or 1, 3)}")
    return feet


def _tails(element: JumpElement) -> list[Jump]:
    return [jump for jump in element.jumps[1:] if not jump.is_euler]


def _landed(element: JumpElement, prior: JumpPrior) -> list[Fate]:
    """Fates of an element that landed as tried, summing to 1."""
    total = sum(prior.shares[kind] for kind in LANDED)
    return [
        Fate(_called(element, kind), prior.shares[kind] / total, prior.grades[kind], error=kind != "clean")
        for kind in LANDED
    ]


def _called(element: JumpElement, kind: str) -> str:
    """The element with a call: edges on the first jump, rotation on the jump most likely short."""
    jumps = list(element.jumps)
    if kind == "edge" and jumps[0].takeoff in ("F", "Lz"):
        jumps[0] = replace(jumps[0], edge="e")
    if kind in ("q", "<"):
        hardest = max(range(len(jumps)), key=lambda n: (jumps[n].revolutions or 0, n))
        jumps[hardest] = replace(jumps[hardest], rotation=kind)  # type: ignore[arg-type]  # q or <
    return str(JumpElement(tuple(jumps)))


def _missed(element: JumpElement, prior: JumpPrior) -> list[Fate]:
    """Fates of an element that did not land as tried, summing to 1."""
    lead = replace(element.jumps[0], mark="")
    up = 1 - prior.pop
    fates = [
        Fate(str(lead), up * prior.shares["fall"], prior.grades["fall"], fall=True, error=True),
        Fate(str(replace(lead, rotation="<<")), up * prior.shares["<<"], prior.grades["<<"], error=True),
        *_pops(lead, prior),
    ]
    feet = up * (1 - prior.shares["fall"] - prior.shares["<<"])
    for place, jump in enumerate(element.jumps[1:], start=1):
        if jump.is_euler:
            continue
        follows = habit(f"tail {min(jump.revolutions or 1, 3)}")
        fates += _lost_tail(element, place, feet * (1 - follows), prior)
        feet *= follows
    total = sum(one.chance for one in fates)
    return [replace(one, chance=one.chance / total) for one in fates] if total else []


def _pops(lead: Jump, prior: JumpPrior) -> list[Fate]:
    turns = lead.revolutions or 1
    if turns == 1 or not prior.pop:
        return []
    by_one = habit("pop by one") if turns > 2 else 1.0
    opened = [(turns - 1, by_one), (1, 1 - by_one)]
    return [
        Fate(f"{left}{lead.takeoff}", prior.pop * share, -0.5, error=True) for left, share in opened if share
    ]


def _lost_tail(element: JumpElement, place: int, chance: float, prior: JumpPrior) -> list[Fate]:
    """A tail that did not follow: lost with all behind it, or doubled where it was a triple."""
    before = list(element.jumps[:place])
    while before and before[-1].is_euler:
        before.pop()
    kept = JumpElement(tuple(replace(jump, mark="") for jump in before))
    if any(jump.is_axel for jump in before[1:]):
        kept = JumpElement((*kept.jumps[:-1], replace(kept.jumps[-1], mark="+SEQ")))
    tail = element.jumps[place]
    shortened = habit("tail shortened") if (tail.revolutions or 0) >= 3 else 0.0
    fates = [Fate(str(kept), chance * (1 - shortened), prior.grades["neg"], error=True)]
    if shortened:
        jumps = (*element.jumps[:place], replace(tail, revolutions=2), *element.jumps[place + 1 :])
        fates.append(Fate(str(JumpElement(jumps)), chance * shortened, -0.5, error=True))
    return fates


def _tidy(fates: Sequence[Fate]) -> tuple[Fate, ...]:
    """Equal ends together, rare ones given to the commonest, chances summing to one exactly."""
    together: dict[tuple[str, bool, bool], Fate] = {}
    for one in fates:
        key = (one.becomes, one.fall, one.error)
        known = together.get(key)
        if known is None:
            together[key] = one
            continue
        chance = known.chance + one.chance
        grade = (known.grade * known.chance + one.grade * one.chance) / chance if chance else known.grade
        together[key] = replace(known, chance=chance, grade=grade)
    kept = [replace(one, chance=round(one.chance, 4), grade=round(one.grade, 2)) for one in together.values()]
    kept = sorted((one for one in kept if one.chance >= LEAST), key=lambda one: -one.chance)
    rest = round(1 - sum(one.chance for one in kept), 4)
    return (replace(kept[0], chance=round(kept[0].chance + rest, 4)), *kept[1:])
