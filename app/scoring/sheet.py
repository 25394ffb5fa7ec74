"""A whole sheet: elements as ruled, scored and added up, readable line by line.

Legality is done elsewhere: the engine hands the ruled elements in; this module only counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.domain.elements import Element, JumpElement
from app.domain.points import Points
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value
from app.scoring.execution import panel_goe
from app.scoring.late_bonus import credited


@dataclass(frozen=True, slots=True)
class Scored:
    """One line of a sheet, in hundredths."""

    element: Element
    base_value: Points
    credited: bool
    goe: Points

    @property
    def score(self) -> Points:
        return self.base_value + self.goe


def score_elements(
    edition: Edition,
    ruled: Sequence[Element],
    late: Sequence[bool],
    marks: Sequence[Sequence[int | None]],
) -> tuple[Scored, ...]:
    """Score elements as ruled, in skating order; `late` says which started in the second half."""
    jump_places = [place for place, element in enumerate(ruled) if isinstance(element, JumpElement)]
    chosen = credited(edition, [late[place] for place in jump_places])
    # An attempt without revolutions uses up a place, but the sheet prints no factor on it.
    gets_factor = {
        place
        for place, yes in zip(jump_places, chosen, strict=True)
        if yes and _has_revolutions(ruled[place])
    }
    return tuple(
        Scored(
            element,
            base_value(edition, element, place in gets_factor),
            place in gets_factor,
            panel_goe(edition, element, marks[place]),
        )
        for place, element in enumerate(ruled)
    )


def _has_revolutions(element: Element) -> bool:
    return isinstance(element, JumpElement) and any(jump.revolutions is not None for jump in element.jumps)
