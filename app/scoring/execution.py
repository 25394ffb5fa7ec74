"""Grades of execution: judges' marks to GOE points.

Each mark becomes points first (mark x 10 % of the reference value, half up), one highest and one lowest
are dropped from five judges on, the rest is averaged, half up. Source: sheets 2018/19-2025/26.
"""

from __future__ import annotations

from collections.abc import Sequence

from app.domain.elements import Element
from app.domain.points import Points, half_up
from app.domain.words import say
from app.errors import InputError
from app.rulebook.editions import Edition
from app.rulebook.schema import Grades
from app.scoring.base_value import reference_value


def panel_goe(edition: Edition, element: Element, marks: Sequence[int | None]) -> Points:
    """GOE points of an element as ruled. `marks` may hold None for a judge without a mark.

    Raises InputError for a mark outside the scale.
    """
    grades = edition.rules.grades
    given = [mark for mark in marks if mark is not None]
    for mark in given:
        if not grades.lowest <= mark <= grades.highest:
            raise InputError(
                "judges",
                say(
                    "mark %(mark)s; expected %(lowest)s to %(highest)s",
                    mark=mark,
                    lowest=grades.lowest,
                    highest=grades.highest,
                ),
            )
    numerator, denominator = grade_worth(edition, element)
    if not given or not numerator:
        return 0
    points = sorted(half_up(mark * numerator, denominator) for mark in given)
    kept = trimmed(grades, points)
    return half_up(sum(kept), len(kept))


def grade_worth(edition: Edition, element: Element) -> tuple[int, int]:
    """Worth of one grade in hundredths, as a fraction: numerator and denominator."""
    grades = edition.rules.grades
    reference = reference_value(edition, element)
    step = grades.steps.get(str(element))
    if step is not None:
        return step, 1
    return reference * grades.percent, 100


def trimmed(grades: Grades, points: Sequence[Points]) -> Sequence[Points]:
    """Without one highest and one lowest, from `drop_from` judges on. `points` must be sorted."""
    return points[1:-1] if len(points) >= grades.drop_from else points
