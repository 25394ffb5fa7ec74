"""Combinations and sequences that were lost, and those that were won back later in the same program.

A planned unit is lost when no unit came of its pass in which a jump behind the first counts. It is won back when a
later pass that was planned as a solo jump (or not planned at all) came out as such a unit; each of these wins back
one, the earliest first. A three-jump unit that came as two jumps is not lost. Where every later pass was planned as a
unit, nothing could be won back without an own element more, and the loss is counted apart.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from app.live.program import Setting
from app.planner.slips import Kind
from app.review.season.passes import SeenPass, Skated
from app.review.season.shares import Share, share_of

Key = TypeVar("Key")


@dataclass(frozen=True, slots=True)
class LostUnit:
    """One lost unit. `kind`, `jump`: how it was lost; None and "" where something else was tried on purpose.

    `had_place`: a later pass was planned as a solo jump.
    """

    program: str
    at: datetime
    setting: Setting
    number: int
    kind: Kind | None
    jump: str
    had_place: bool
    won_back: bool = False


@dataclass(frozen=True, slots=True)
class Losses:
    """How many were lost, and of those with a place left how many were won back."""

    lost: int
    won_back: Share


def lost_units(skated: Skated) -> tuple[LostUnit, ...]:
    """The lost units of one program, in order."""
    found: list[LostUnit] = []
    for place, one in enumerate(skated.passes):
        if one.is_unit_planned and not one.is_unit:
            found.append(_lost(skated, place, one))
        elif one.is_unit and not one.is_unit_planned:
            _win_back(found)
    return tuple(found)


def _lost(skated: Skated, place: int, one: SeenPass) -> LostUnit:
    slip = one.slip if one.tried == one.planned else None
    later = skated.passes[place + 1 :]
    return LostUnit(
        program=skated.key,
        at=skated.at,
        setting=skated.setting,
        number=one.number or 0,
        kind=slip[0] if slip else None,
        jump=slip[1] if slip else "",
        had_place=any(other.planned is not None and not other.is_unit_planned for other in later),
    )


def _win_back(found: list[LostUnit]) -> None:
    for place, one in enumerate(found):
        if not one.won_back:
            found[place] = replace(one, won_back=True, had_place=True)
            return


def losses(lost: Iterable[LostUnit]) -> Losses:
    """These in numbers."""
    found = list(lost)
    return Losses(len(found), share_of(one.won_back for one in found if one.had_place))


def grouped(lost: Sequence[LostUnit], key: Callable[[LostUnit], Key]) -> dict[Key, Losses]:
    """The same by something, in the order in which it first occurs."""
    groups: dict[Key, list[LostUnit]] = {}
    for one in lost:
        groups.setdefault(key(one), []).append(one)
    return {name: losses(group) for name, group in groups.items()}
