"""Rulings: what a rulebook makes of one jump, always with the rule, its certainty and a reason.

Rulings, not booleans: a worthless attempt still fills a box, so "legal" only means "counts".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

RulingKind = Literal["full", "part", "nothing", "not judged"]
Certainty = Literal["read", "second-hand", "inferred", "memory", "your own"]

CERTAINTIES: tuple[Certainty, ...] = ("read", "second-hand", "inferred", "memory", "your own")
"""From surest to least sure; "your own" is a number a coach put into a rulebook of their own."""


HANDBOOK = "ISU Technical Panel Handbook Single Skating 2025/26"
"""The one rule text that was read in full."""


@dataclass(frozen=True, slots=True)
class RuleRef:
    """Where a rule stands and how sure we are of it."""

    document: str
    paragraph: str
    certainty: Certainty

    def __str__(self) -> str:
        return f"{self.document}, {self.paragraph}"


@dataclass(frozen=True, slots=True)
class Ruling:
    """What the rulebook makes of one jump of an element.

    `jump` counts from 1 within the element, the Euler included; 1 for a spin or step sequence.
    """

    jump: int
    ruling: RulingKind
    rule: str
    certainty: Certainty
    why: str


def ruling(jump: int, kind: RulingKind, ref: RuleRef, why: str) -> Ruling:
    """A ruling under the rule `ref`."""
    return Ruling(jump, kind, str(ref), ref.certainty, why)
