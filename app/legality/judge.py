"""The judge of a free skating: rulings of one element, and the tally behind it.

The ladder, in the order of the technical panel: box, unit, repetition, Axel.
Everything is decided in order of execution; nothing later changes an earlier ruling.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain, repeat

from app.domain.elements import JumpElement
from app.domain.rulings import Ruling
from app.domain.words import say
from app.errors import ProgramError
from app.legality.bonus import with_bonus
from app.legality.repeats import repeat_rulings
from app.legality.slots import NO_REVOLUTIONS, extra_rulings, is_extra, missing_axel_rulings, value_rulings
from app.legality.tally import Tally
from app.legality.units import unit_facts, unit_rulings
from app.legality.verdict import Verdict, verdict
from app.rulebook.editions import Edition


@dataclass(frozen=True, slots=True)
class Judged:
    """One element ruled on, and the tally for the next."""

    verdict: Verdict
    tally: Tally


def judge(edition: Edition, tally: Tally, element: JumpElement, fell: bool = False) -> Judged:
    """Rule on the next element of a free skating; `fell` matters only where a fall voids a bonus.

    `element` is read as executed: its own stars and `+REP` are ignored. Raises ProgramError for a short
    program, which is judged whole (`app.legality.short_program`).
    """
    if edition.is_short:
        raise ProgramError("edition", say("%(name)s is a short program: judge it whole", name=edition.name))
    executed = element.without_rulings()
    # An element beyond the boxes is called and counts for nothing.
    if is_extra(edition, tally):
        rulings = extra_rulings(edition, executed)
        return Judged(verdict(executed, rulings), replace(tally, boxes=tally.boxes + 1))
    rulings = _gravest(unit_rulings(edition, tally, executed), value_rulings(edition, executed))
    facts = unit_facts(edition, executed)
    repeats, counted = repeat_rulings(edition, tally, executed, facts.is_unit, rulings)
    rulings = _gravest(repeats, rulings)
    # The last box of a program without an Axel.
    rulings = _gravest(missing_axel_rulings(edition, tally, executed), rulings)
    units = edition.rules.units
    is_long = facts.is_unit and units is not None and facts.listed > units.usual_jumps
    after = replace(
        counted,
        boxes=tally.boxes + 1,
        units=tally.units + facts.is_unit,
        long_units=tally.long_units + is_long,
        sequences=tally.sequences + facts.is_sequence,
        eulers=tally.eulers + facts.eulers,
        eulers_in_combinations=tally.eulers_in_combinations + facts.eulers * facts.is_combination,
        axel=tally.axel or any(jump.is_axel for jump in executed.jumps),
    )
    unmarked = {number for number, one in rulings.items() if one.rule == str(NO_REVOLUTIONS)}
    return Judged(*with_bonus(edition, after, verdict(executed, rulings, unmarked), fell))


@lru_cache(maxsize=8192)
def _remembered(edition: Edition, tally: Tally, element: JumpElement, fell: bool) -> Judged:
    """`judge`, once for each question: a screen rules on the same passes from the start after every tap."""
    return judge(edition, tally, element, fell)


def judge_all(
    edition: Edition, elements: Iterable[JumpElement], falls: Iterable[bool] = ()
) -> tuple[tuple[Verdict, ...], Tally]:
    """Rule on a whole free skating in order; the verdicts and the final tally. `falls`: none where it ends."""
    tally = Tally()
    verdicts = []
    for element, fell in zip(elements, chain(falls, repeat(False)), strict=False):
        judged = _remembered(edition, tally, element, fell)
        verdicts.append(judged.verdict)
        tally = judged.tally
    return tuple(verdicts), tally


def _gravest(first: dict[int, Ruling], second: dict[int, Ruling]) -> dict[int, Ruling]:
    """Both sets of rulings; where both speak of a jump, "nothing" wins, then the first."""
    merged = dict(second)
    for number, one in first.items():
        other = merged.get(number)
        if other is None or other.ruling != "nothing" or one.ruling == "nothing":
            merged[number] = one
    return merged
