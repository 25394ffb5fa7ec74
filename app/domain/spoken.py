"""Jump elements in plain words, for people who do not read codes: `3Lz+3T` -> "triple Lutz with a triple toe loop".

What a panel or rulebook marked (`<`, `e`, `*`, `+REP`) is left out: the words say which jumps, nothing else.
"""

from __future__ import annotations

from app.domain.elements import Jump, JumpElement
from app.domain.notation import parse_jump_element
from app.domain.words import both, say

NAMES = {
    (0, "T"): say("popped toe loop"),
    (0, "S"): say("popped Salchow"),
    (0, "Lo"): say("popped loop"),
    (0, "F"): say("popped flip"),
    (0, "Lz"): say("popped Lutz"),
    (0, "A"): say("popped Axel"),
    (1, "T"): say("single toe loop"),
    (1, "S"): say("single Salchow"),
    (1, "Lo"): say("single loop"),
    (1, "F"): say("single flip"),
    (1, "Lz"): say("single Lutz"),
    (1, "A"): say("single Axel"),
    (2, "T"): say("double toe loop"),
    (2, "S"): say("double Salchow"),
    (2, "Lo"): say("double loop"),
    (2, "F"): say("double flip"),
    (2, "Lz"): say("double Lutz"),
    (2, "A"): say("double Axel"),
    (3, "T"): say("triple toe loop"),
    (3, "S"): say("triple Salchow"),
    (3, "Lo"): say("triple loop"),
    (3, "F"): say("triple flip"),
    (3, "Lz"): say("triple Lutz"),
    (3, "A"): say("triple Axel"),
    (4, "T"): say("quadruple toe loop"),
    (4, "S"): say("quadruple Salchow"),
    (4, "Lo"): say("quadruple loop"),
    (4, "F"): say("quadruple flip"),
    (4, "Lz"): say("quadruple Lutz"),
    (4, "A"): say("quadruple Axel"),
    (5, "T"): say("quintuple toe loop"),
    (5, "S"): say("quintuple Salchow"),
    (5, "Lo"): say("quintuple loop"),
    (5, "F"): say("quintuple flip"),
    (5, "Lz"): say("quintuple Lutz"),
    (5, "A"): say("quintuple Axel"),
}
"""A jump by its turns and take-off; 0 turns where the panel wrote no number."""
EULER = say("small linking jump (Euler)")


def spoken(code: str) -> str:
    """A jump element in words. Raises NotationError.

    The jumps of a sequence by an Axel take-off are "followed by"; those of a combination come "with" the first.
    """
    element: JumpElement = parse_jump_element(code)
    first, *rest = map(name_of, element.jumps)
    if not rest:
        return first
    if element.is_sequence:
        return say("%(first)s followed by a %(second)s", first=first, second=both(rest))
    if len(rest) == 1:
        return say("%(first)s with a %(second)s", first=first, second=rest[0])
    return say(
        "%(first)s with a %(second)s and a %(third)s", first=first, second=rest[0], third=both(rest[1:])
    )


def name_of(jump: Jump) -> str:
    """One jump in words."""
    return EULER if jump.is_euler else NAMES[jump.revolutions or 0, jump.takeoff]
