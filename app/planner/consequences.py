"""What one failure does to the rest of a program when everything else goes as planned.

Two whole programs are ruled, one with the failure and one without, and compared pass by pass: jumps that
counted in full and no longer do, late credit that moves, and what stays unused at the end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from app.domain.elements import JumpElement
from app.domain.rulings import Ruling
from app.legality.judge import judge_all
from app.legality.left import LeftToUse, left_to_use
from app.legality.short_program import ShortElement, judge_short, takes_the_lowest_grade
from app.legality.tally import Tally
from app.legality.verdict import Verdict
from app.planner.exhaustive import FLOOR_GRADE
from app.planner.problem import Done
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value
from app.scoring.execution import grade_worth
from app.scoring.late_bonus import credited

GRAVITY = {"full": 0, "not judged": 0, "part": 1, "nothing": 2}


class What(StrEnum):
    """What a failure changes elsewhere."""

    NOTHING = "counts for nothing"
    PART = "counts in part"
    LATE = "second-half credit moves"
    BETTER = "counts for more"
    COMBO = "stands for the combination"
    UNIT = "combination place unused"
    LONG_UNIT = "three-jump unit unused"
    REPEAT = "repeat place unused"
    BOX = "box left"
    AXEL = "Axel owed"


@dataclass(frozen=True, slots=True)
class Effect:
    """One change. `number`: the pass it falls on, 0 for what the whole program leaves unused.

    `rulings`: the rulings that are new there; `points`: hundredths lost there with its planned grade
    (negative: won).
    """

    what: What
    number: int
    rulings: tuple[Ruling, ...]
    points: Fraction


@dataclass(frozen=True, slots=True)
class Step:
    """One pass of a whole program with its mean grade."""

    done: Done
    grade: Fraction


@dataclass(frozen=True, slots=True)
class Scored:
    """One pass as ruled in a whole program. `base` in hundredths with late credit, `plain` without it.

    `combo`: a lone jump that stands for the combination of a short program (`+COMBO`).
    """

    base: int
    plain: int
    goe: Fraction
    rulings: tuple[Ruling, ...]
    combo: bool = False

    @property
    def points(self) -> Fraction:
        return self.base + self.goe


NO_PASS = Scored(0, 0, Fraction(0), ())


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole program as ruled: one entry a pass; what is left and how many long units (None: a short program)."""

    passes: tuple[Scored, ...]
    left: LeftToUse | None
    long_units: int


def whole(book: Edition, steps: Sequence[Step]) -> Whole:
    """Rule a whole program; a pass without element is there and worth nothing."""
    tried = [step for step in steps if step.done.element is not None]
    verdicts, tally = _verdicts(book, [step.done for step in tried])
    late = credited(book, [step.done.late for step in tried])
    scored = iter(
        [_scored(book, step, found, has) for step, found, has in zip(tried, verdicts, late, strict=True)]
    )
    passes = tuple(NO_PASS if step.done.element is None else next(scored) for step in steps)
    return Whole(passes, left_to_use(book, tally) if tally else None, tally.long_units if tally else 0)


def _verdicts(book: Edition, done: Sequence[Done]) -> tuple[Sequence[Verdict], Tally | None]:
    elements = [one.element for one in done if one.element is not None]
    if book.is_short:
        failed = [one.failed for one in done]
        return judge_short(book, [ShortElement(e, f) for e, f in zip(elements, failed, strict=True)]), None
    return judge_all(book, elements)


def _scored(book: Edition, step: Step, found: Verdict, has_credit: bool) -> Scored:
    element = found.element
    assert isinstance(element, JumpElement), "a jump element stays one"
    numerator, denominator = grade_worth(book, element)
    floored = book.is_short and takes_the_lowest_grade(element)
    grade = FLOOR_GRADE if floored else step.grade
    return Scored(
        base=base_value(book, element, has_credit),
        plain=base_value(book, element),
        goe=grade * Fraction(numerator, denominator),
        rulings=found.rulings,
        combo=book.is_short and element.is_marked_combo,
    )


def effects(before: Whole, after: Whole, failed: int, first: int) -> tuple[Effect, ...]:
    """Everything that differs elsewhere than on the pass of index `failed`; the first pass is number `first`.

    Of the failed pass itself only this is told: that its lone jump stands for the combination now.
    """
    found: list[Effect] = []
    for place, (mine, theirs) in enumerate(zip(before.passes, after.passes, strict=True)):
        if place != failed:
            found += _on_pass(place + first, mine, theirs)
        if theirs.combo and not mine.combo:
            found.append(Effect(What.COMBO, place + first, (), Fraction(0)))
    found += [Effect(what, 0, (), Fraction(0)) for what in _unused(before, after)]
    return tuple(found)


def _on_pass(number: int, before: Scored, after: Scored) -> Iterator[Effect]:
    new = worse_rulings(before.rulings, after.rulings)
    lost = before.points - after.points
    if new:
        what = What.NOTHING if any(one.ruling == "nothing" for one in new) else What.PART
        yield Effect(what, number, new, lost)
    elif worse_rulings(after.rulings, before.rulings):
        yield Effect(What.BETTER, number, (), lost)
    elif lost:
        yield Effect(What.LATE, number, (), lost)


def worse_rulings(before: Sequence[Ruling], after: Sequence[Ruling]) -> tuple[Ruling, ...]:
    """The rulings of `after` on jumps that counted for more in `before`."""
    was = {one.jump: GRAVITY[one.ruling] for one in before}
    return tuple(one for one in after if GRAVITY[one.ruling] > was.get(one.jump, 0))


def _unused(before: Whole, after: Whole) -> Iterator[What]:
    """What is left over at the end now and was used before."""
    if before.left is None or after.left is None:
        return
    if after.left.boxes > before.left.boxes:
        yield What.BOX
    if after.left.units > before.left.units:
        yield What.UNIT
    if after.long_units < before.long_units:
        yield What.LONG_UNIT
    if after.left.repeats > before.left.repeats:
        yield What.REPEAT
    if after.left.axel_owed and not before.left.axel_owed:
        yield What.AXEL
