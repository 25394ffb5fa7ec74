"""Base values: of one jump, of an element as ruled, with `+REP` and the late factor rounded once."""

from __future__ import annotations

from app.domain.elements import Element, Jump, JumpElement, OtherElement
from app.domain.points import Points, half_up
from app.rulebook.editions import Edition


def jump_value(edition: Edition, jump: Jump) -> Points:
    """Value of one jump after its own calls; 0 when starred or without revolutions.

    An Euler that is not a listed jump has its one value whatever its call.

    Raises InputError when the season's table has no such row.
    """
    if jump.starred or (jump.revolutions is None and not jump.is_euler):
        return 0
    euler = edition.rules.euler
    if jump.is_euler:
        # `1Eu` and `Eu` are the same jump; the table knows it by the season's own code.
        return edition.values.value(euler.code, jump.variant if euler.counts_as_jump else "clean")
    return edition.values.value(jump.name, jump.variant)


def other_value(edition: Edition, element: OtherElement) -> Points:
    """Value of a spin, step sequence or choreographic element; 0 when starred or without level."""
    if element.starred or not element.level:
        return 0
    code = f"{element.name}{element.level}"
    return edition.values.value(code, "V" if element.reduced else "clean")


def base_value(edition: Edition, element: Element, credited: bool = False) -> Points:
    """Base value as printed: jumps without star, x 0.7 if `+REP`, x 1.1 if credited, rounded once."""
    if isinstance(element, OtherElement):
        return other_value(edition, element)
    late = edition.rules.late.percent if credited else 100
    kept = _kept_percent(edition, element)
    values = [jump_value(edition, jump) for jump in element.jumps]
    if edition.rules.late.first and kept < 100:
        # Old seasons: the late factor on each jump, rounded, and the other factor on their sum.
        return half_up(sum(half_up(value * late, 100) for value in values) * kept, 100)
    return half_up(sum(values) * kept * late, 10_000)


def _kept_percent(edition: Edition, element: JumpElement) -> int:
    """What `+REP` or, in old seasons, a printed `+SEQ` or `+COMBO` leaves of the values."""
    units, part = edition.rules.units, edition.rules.part
    if part and element.repeat:
        return part.percent
    if units and (element.is_sequence or element.is_marked_combo):
        return units.marked_percent
    return 100


def reference_value(edition: Edition, element: Element) -> Points:
    """What a grade of GOE is a share of: the largest value among the jumps without star.

    Never touched by `+REP` or the late factor (sheets: 19,900 of 19,900 rows).
    """
    if isinstance(element, OtherElement):
        return other_value(edition, element)
    return max(jump_value(edition, jump) for jump in element.jumps)
