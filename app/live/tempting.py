"""An element that would bring more but is not trained or does not fit the pass: named, and refused plainly."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.domain.words import figure, say


@dataclass(frozen=True, slots=True)
class Tempting:
    """`more`: base value in points over the planned pass, on paper; `why` it is not offered."""

    number: int
    code: str
    more: float
    why: str


def refusal(tempting: Iterable[Tempting], threshold: float) -> str:
    """One sentence on the most tempting element that is not offered; empty when none would bring the threshold."""
    worth = [one for one in tempting if one.more >= threshold]
    if not worth:
        return ""
    best = max(worth, key=lambda one: one.more)
    return say(
        "Not offered: %(element)s on pass %(number)s (%(points)s on paper). %(why)s.",
        element=best.code,
        number=best.number,
        points=figure(best.more, signed=True),
        why=best.why,
    )
