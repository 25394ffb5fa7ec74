"""The distribution of one attempt at an element, from prior and record.

The tree of `attempt` gives the population's chance of every fate of `record.FATES`; the skater's own log moves those
(Beta and Dirichlet, see `record`); inside a fate the leaves of the tree keep their proportions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from app.chances.attempt import End, ends_of
from app.chances.prior import habit, jump_prior
from app.chances.record import FATES, LANDED, Estimate, Record, fate_chances, landing_chance
from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element

LEAST = 0.025
"""Leaves rarer than this are taken together with the commonest leaf of their fate."""
RAREST = 0.002
"""Fates rarer than this are left out, the rest in proportion."""


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
    """Every way an attempt can end (chances sum to 1), the estimate that it lands as tried, and one of each fate."""

    fates: tuple[Fate, ...]
    landing: Estimate
    shares: Mapping[str, Estimate]
    """Estimate of every fate of `record.FATES`, by name; those of the landed ones sum to `landing`."""


def chances(level: str, discipline: str, code: str, record: Record) -> Chances | None:
    """What an attempt may become, for one skater. None: not enough data on its first jump.

    `level` and `discipline` as in an edition's name. Raises NotationError for a code that cannot be read.
    """
    element = parse_jump_element(code)
    prior = jump_prior(level, discipline, element.jumps[0].name)
    if prior is None:
        return None
    ends = ends_of(element, prior)
    usual = {fate: sum(one.chance for one in ends if one.fate == fate) for fate in FATES}
    pseudo = habit("pseudo-count")
    shares = fate_chances(record, usual, pseudo)
    ends += [_unseen(element, fate) for fate in FATES if shares[fate].chance and not usual[fate]]
    landing = landing_chance(record, sum(usual[fate] for fate in LANDED), pseudo)
    own = [
        replace(
            one, chance=shares[one.fate].chance * (one.chance / usual[one.fate] if usual[one.fate] else 1)
        )
        for one in ends
    ]
    return Chances(_tidy(own), landing, shares)


def _unseen(element: JumpElement, fate: str) -> End:
    """The leaf of a fate that the log knows and the sheets do not: the first jump with that call, or as tried."""
    lead = element.jumps[0]
    whole = (*((replace(lead, rotation=fate),) if fate in ("q", "<") else (lead,)), *element.jumps[1:])  # type: ignore[arg-type]  # just checked
    alone = replace(lead, mark="", rotation="<<" if fate == "<<" else "")
    turns = {"popped by one": max((lead.revolutions or 1) - 1, 0), "popped to a single": 1}
    if fate in turns:
        return End(fate, f"{turns[fate] or ''}{lead.takeoff}", 1.0, habit("grade of a pop"))
    if fate in LANDED:
        return End(fate, str(JumpElement(whole)), 1.0, 0.0 if fate == "clean" else -2.0)
    return End(fate, str(alone), 1.0, -5.0 if fate == "fall" else -3.0, fall=fate == "fall")


def _tidy(ends: Sequence[End]) -> tuple[Fate, ...]:
    """Rare leaves with the commonest of their fate, equal ones together, chances in ten-thousandths summing to one."""
    kept: list[End] = []
    for fate in FATES:
        some = sorted((one for one in _together(ends) if one.fate == fate), key=lambda one: -one.chance)
        if sum(one.chance for one in some) < RAREST:
            continue
        rare = [one for one in some[1:] if one.chance < LEAST]
        kept += [_joined([some[0], *rare]), *(one for one in some[1:] if one.chance >= LEAST)]
    whole = sum(one.chance for one in kept)
    fates = [
        Fate(one.becomes, round(one.chance / whole, 4), round(one.grade, 2), one.fall, one.fate != "clean")
        for one in kept
    ]
    fates.sort(key=lambda one: -one.chance)
    rest = round(1 - sum(one.chance for one in fates), 4)
    return (replace(fates[0], chance=round(fates[0].chance + rest, 4)), *fates[1:])


def _together(ends: Sequence[End]) -> list[End]:
    """Leaves that become the same in the same way are one."""
    groups: dict[tuple[str, str, bool], list[End]] = {}
    for one in ends:
        groups.setdefault((one.fate, one.becomes, one.fall), []).append(one)
    return [_joined(group) for group in groups.values()]


def _joined(ends: Sequence[End]) -> End:
    """Several leaves as one like the first, with their chances together and their mean grade."""
    chance = sum(one.chance for one in ends)
    grade = sum(one.chance * one.grade for one in ends) / chance if chance else ends[0].grade
    return replace(ends[0], chance=chance, grade=grade)
