"""Planned program content as the governing bodies' forms take it: codes in skating order, nothing else.

Jumps with their turns and "+" between those of a unit; spins, steps and choreographic elements by their letters,
without a level (second-hand: the forms' own instructions as federations print them). A panel calls what is skated, not
what was handed in, and no penalty for differing was found; but a sheet that is old misleads the panel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

from app.domain.elements import OtherElement
from app.domain.notation import parse_element


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a sheet that was handed in, beside the layout as it is now; None: there is none."""

    handed_in: str | None
    now: str | None

    @property
    def same(self) -> bool:
        return self.handed_in == self.now


def content_code(code: str) -> str:
    """An element as a content sheet writes it: `CCoSp4` -> `CCoSp`. Raises NotationError."""
    element = parse_element(code).without_rulings()
    return element.name if isinstance(element, OtherElement) else str(element)


def line_by_line(handed_in: Sequence[str], now: Sequence[str]) -> tuple[Line, ...]:
    """Two sheets side by side: equal lines face each other, changed ones too, the rest stands alone."""
    found: list[Line] = []
    for kind, a, b, c, d in SequenceMatcher(None, handed_in, now, autojunk=False).get_opcodes():
        old, new = handed_in[a:b], now[c:d]
        if kind in ("equal", "replace"):
            both = min(len(old), len(new))
            found += [Line(x, y) for x, y in zip(old, new, strict=False)]
            old, new = old[both:], new[both:]
        found += [Line(x, None) for x in old]
        found += [Line(None, y) for y in new]
    return tuple(found)
