"""Program components: trimmed mean of the judges, times the factor, rounded half up.

Source: sheets 2018/19-2025/26.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from app.domain.points import Points, half_up
from app.domain.words import say
from app.errors import InputError
from app.rulebook.editions import Edition
from app.scoring.execution import trimmed


def component_points(edition: Edition, name: str, factor: Decimal | None, marks: Sequence[Decimal]) -> Points:
    """Points of one component. A factor given with the marks wins over the edition's.

    Raises InputError for an unknown component without a factor, and for marks off the scale.
    """
    mean = panel_mean(edition, marks)
    used = factor if factor is not None else _factor(edition, name)
    numerator, denominator = (mean * used).as_integer_ratio()
    return half_up(numerator, denominator)


def panel_mean(edition: Edition, marks: Sequence[Decimal]) -> int:
    """Trimmed mean in hundredths, half up; 0 without marks."""
    for mark in marks:
        if not 0 <= mark <= 10 or mark * 100 != int(mark * 100):
            raise InputError(
                "judges", say("component mark %(mark)s; expected 0 to 10.00 in hundredths", mark=mark)
            )
    if not marks:
        return 0
    hundredths = sorted(int(mark * 100) for mark in marks)
    kept = trimmed(edition.rules.grades, hundredths)
    return half_up(sum(kept), len(kept))


def _factor(edition: Edition, name: str) -> Decimal:
    known = {one.name.casefold(): Decimal(str(one.factor)) for one in edition.rules.components.list}
    if name.casefold() not in known:
        shown = ", ".join(one.name for one in edition.rules.components.list)
        raise InputError(
            "name",
            say(
                "no component %(name)s in %(name_2)s; expected %(shown)s, or give a factor",
                name=repr(name),
                name_2=edition.name,
                shown=shown,
            ),
        )
    return known[name.casefold()]
