"""Bonuses of some levels: points for what was tried, beside the value of the jumps.

A bonus is part of the panel's vetting, in order of performance: which jumps earn one depends on what was
rewarded before. A jump that counts for nothing earns none; what else voids it is data (`[….bonuses]`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from app.domain.elements import Jump, JumpElement
from app.legality.tally import Tally
from app.legality.verdict import Award, Verdict
from app.rulebook.editions import Edition
from app.rulebook.money_tables import Bonuses, BonusRow


@dataclass(frozen=True, slots=True)
class Earner:
    """What may earn a bonus: a jump or a pair of jumps, by name, and the number of its last jump."""

    key: str
    number: int


def with_bonus(edition: Edition, tally: Tally, verdict: Verdict, fell: bool) -> tuple[Verdict, Tally]:
    """The verdict with the bonuses its jumps earn, and the tally behind them."""
    table = edition.bonuses
    element = verdict.element
    if table is None or not isinstance(element, JumpElement):
        return verdict, tally
    rewarded = list(tally.bonuses or ((),) * len(table.rows))
    awards: list[Award] = []
    in_element, total = 0, tally.bonus_points
    for place, row in enumerate(table.rows):
        for earner in _earners(table, row, element, fell):
            paid = _paid(row, rewarded[place], earner)
            points = _within_caps(table, row, in_element, total) if paid else 0
            if paid and not points:
                continue
            rewarded[place] = _noted(row, rewarded[place], earner, paid)
            if points:
                awards.append(Award(earner.number, points, table.ref, f"{earner.key}: {row.words}"))
                in_element += 0 if row.variety else points
                total += points if table.most_points is not None else 0
    return replace(verdict, awards=tuple(awards)), replace(tally, bonuses=tuple(rewarded), bonus_points=total)


def bonus_of_all(edition: Edition, verdicts: Sequence[Verdict], falls: Sequence[bool]) -> tuple[Verdict, ...]:
    """The verdicts of a program judged whole, each with its bonuses, in order of performance."""
    tally = Tally()
    found = []
    for verdict, fell in zip(verdicts, falls, strict=True):
        rewarded, tally = with_bonus(edition, tally, verdict, fell)
        found.append(rewarded)
    return tuple(found)


def most_bonus(edition: Edition, element: JumpElement) -> int:
    """Hundredths of bonus that an element surely does not exceed, whatever came before."""
    table = edition.bonuses
    if table is None:
        return 0
    whole = element.without_rulings()
    each, varieties = 0, 0
    for row in table.rows:
        earners = sum(1 for _ in _earners(table, row, whole, False))
        if row.variety:
            varieties += row.points if earners else 0
        else:
            each += row.points * earners
    most = min(each, table.most_points_per_element or each) + varieties
    return min(most, table.most_points or most)


def _earners(table: Bonuses, row: BonusRow, element: JumpElement, fell: bool) -> Iterator[Earner]:
    """Jumps or pairs of an element as ruled that fit a row and are not void."""
    if element.repeat and table.void_part:
        return
    numbered = [
        (number, jump, _good(table, element, number, fell)) for number, jump in enumerate(element.jumps, 1)
    ]
    if row.pairs:
        for (_, first, good), (number, second, also_good) in pairwise(numbered):
            if good and also_good and (first.revolutions, second.revolutions) in row.pairs:
                yield Earner(f"{first.name}+{second.name}", number)
        return
    for number, jump, good in numbered:
        if good and (jump.name in row.jumps or jump.revolutions in row.revolutions):
            yield Earner(jump.name, number)


def _good(table: Bonuses, element: JumpElement, number: int, fell: bool) -> bool:
    """Counts for something, without a call that voids the bonus; not fallen on where that voids it."""
    jump: Jump = element.jumps[number - 1]
    if jump.starred or jump.is_euler:
        return False
    # The fall was on the jump before the break, or on the last one.
    if fell and table.void_fall and number == element.broken_after:
        return False
    return jump.edge not in table.void_calls and jump.rotation not in table.void_calls


def _paid(row: BonusRow, before: tuple[str, ...], earner: Earner) -> bool:
    if row.variety:
        return len({*before, earner.key}) == row.variety and earner.key not in before
    if row.each_once and earner.key in before:
        return False
    return row.most is None or len(before) < row.most


def _within_caps(table: Bonuses, row: BonusRow, in_element: int, total: int) -> int:
    """What the caps of the element and of the program leave of an award; a variety is no element's."""
    points = row.points
    if table.most_points_per_element is not None and not row.variety:
        points = min(points, table.most_points_per_element - in_element)
    if table.most_points is not None:
        points = min(points, table.most_points - total)
    return max(points, 0)


def _noted(row: BonusRow, before: tuple[str, ...], earner: Earner, paid: bool) -> tuple[str, ...]:
    """What the tally keeps of a row: only what it will look at again."""
    if row.variety:
        # Past the variety nothing is looked at any more.
        return before if len(before) >= row.variety else tuple(sorted({*before, earner.key}))
    if not paid:
        return before
    if row.each_once:
        return tuple(sorted((*before, earner.key)))
    # Without "once for each" only the number counts, and only where there is a cap.
    return (*before, "") if row.most is not None else before
