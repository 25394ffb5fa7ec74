"""Base values: of one jump, of an element as ruled, with `+REP` and the late factor rounded once."""

from __future__ import annotations

from app.domain.elements import Element, Jump, JumpElement, OtherElement
from app.domain.points import Points, half_up
from app.rulebook.editions import Edition


def jump_value(edition: Edition, jump: Jump) -> Points:
    """Value of one jump after its own calls; 0 when starred or without revolutions.

    Raises InputError when the season's table has no such row.
    """
    if jump.starred or (jump.revolutions is None and not jump.is_euler):
        return 0
    return edition.values.value(_row_name(edition, jump), jump.variant)


def _row_name(edition: Edition, jump: Jump) -> str:
    """`1Eu` and `Eu` are the same jump; the table knows it by the season's own code."""
    return edition.rules.euler.code if jump.is_euler else jump.name


def other_value(edition: Edition, element: OtherElement) -> Points:
    """Value of a spin, step sequence or choreographic element; 0 when starred or without level."""
    if element.starred or not element.level:
        return 0
    code = f"{element.name}{element.level}"
    return edition.values.value(code, "V" if element.reduced else "clean")


def sum_of_jumps(edition: Edition, element: JumpElement) -> Points:
    """Values of the jumps without star, added; no factor yet."""
    return sum(jump_value(edition, jump) for jump in element.jumps)


def factor(edition: Edition, element: Element, credited: bool) -> tuple[int, int]:
    """What the summed values are multiplied by, as numerator and denominator (rounded once, later)."""
    numerator, denominator = 1, 1
    if element.repeat:
        numerator, denominator = numerator * _repeat_percent(edition), denominator * 100
    if isinstance(element, JumpElement) and element.is_unit and not edition.is_short:
        kept = edition.rules.values.unit_percent
        numerator, denominator = numerator * kept, denominator * 100
    if credited:
        numerator, denominator = numerator * edition.rules.late.percent, denominator * 100
    return numerator, denominator


def _repeat_percent(edition: Edition) -> int:
    """70 %: the same for a second solo execution and for the first jump of a surplus unit."""
    units = edition.rules.units
    return units.surplus_percent if units else 100


def base_value(edition: Edition, element: Element, credited: bool = False) -> Points:
    """Base value as printed: jumps without star, x 0.7 if `+REP`, x 1.1 if credited, rounded once."""
    if isinstance(element, OtherElement):
        return other_value(edition, element)
    numerator, denominator = factor(edition, element, credited)
    return half_up(sum_of_jumps(edition, element) * numerator, denominator)


def reference_value(edition: Edition, element: Element) -> Points:
    """What a grade of GOE is a share of: the largest value among the jumps without star.

    Never touched by `+REP` or the late factor (sheets: 19,900 of 19,900 rows).
    """
    if isinstance(element, OtherElement):
        return other_value(edition, element)
    return max((jump_value(edition, jump) for jump in element.jumps), default=0)
