"""Elements as the panel writes them: jumps in units, spins, steps, choreographic elements.

Values only. `app.domain.notation` turns text into these and `str()` turns them back, letter for letter.
Source of the terms: ISU Technical Panel Handbook Single Skating 2025/26.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

TAKEOFFS = ("T", "S", "Lo", "Eu", "F", "Lz", "A")
"""Take-off letters of listed jumps from easy to hard, by the ISU scales of values; `Eu` is the Euler."""

Edge = Literal["", "e", "!"]
Rotation = Literal["", "q", "<", "<<"]
Mark = Literal["", "+COMBO", "+SEQ"]


@dataclass(frozen=True, slots=True)
class Jump:
    """One jump as called. `revolutions` is None where the panel wrote no number ("Lz": no value; "Eu")."""

    takeoff: str
    revolutions: int | None = None
    edge: Edge = ""
    rotation: Rotation = ""
    starred: bool = False
    mark: Mark = ""
    """`+COMBO` or `+SEQ` printed directly behind this jump."""

    @property
    def is_euler(self) -> bool:
        return self.takeoff == "Eu"

    @property
    def is_axel(self) -> bool:
        return self.takeoff == "A"

    @property
    def name(self) -> str:
        """What the repeat rules look at: take-off and intended revolutions, `3T` for `3T<<`."""
        return f"{'' if self.revolutions is None else self.revolutions}{self.takeoff}"

    @property
    def variant(self) -> str:
        """Edge and rotation call as the value tables name them: `clean`, `e<`, `!q` …"""
        return f"{self.edge}{self.rotation}" or "clean"

    def __str__(self) -> str:
        return f"{self.name}{self.edge}{self.rotation}{'*' if self.starred else ''}{self.mark}"


@dataclass(frozen=True, slots=True)
class JumpElement:
    """One pass as called: a solo jump, or a unit of several jumps. `repeat` is the printed `+REP`."""

    jumps: tuple[Jump, ...]
    repeat: bool = False

    @property
    def is_sequence(self) -> bool:
        """A printed `+SEQ`, whole or broken."""
        return any(jump.mark == "+SEQ" for jump in self.jumps)

    @property
    def is_marked_combo(self) -> bool:
        """A printed `+COMBO`: the second jump is missing or did not count."""
        return any(jump.mark == "+COMBO" for jump in self.jumps)

    @property
    def is_unit(self) -> bool:
        """More than one jump, or marked as the rest of such."""
        return len(self.jumps) > 1 or self.is_sequence or self.is_marked_combo

    @property
    def broken_after(self) -> int:
        """How many jumps come before the break of a broken unit; all of them when it held.

        A mark behind the last jump does not break anything: `3F+2A+SEQ` is a whole sequence.
        """
        for place, jump in enumerate(self.jumps[:-1], start=1):
            if jump.mark:
                return place
        return len(self.jumps)

    @property
    def has_step_to_axel(self) -> bool:
        """An Axel-type jump directly behind another jump: a sequence. Behind an Euler it stays a combination."""
        return any(jump.is_axel and not before.is_euler for before, jump in pairwise(self.jumps))

    def first(self, upto: int) -> JumpElement:
        """Its first `upto` jumps (at least 1) as an element of their own, no Euler at the end."""
        kept = self.jumps[:upto]
        while len(kept) > 1 and kept[-1].is_euler:
            kept = kept[:-1]
        return joined(kept)

    def without_rulings(self) -> JumpElement:
        """As executed: without `*` and `+REP`, which are the rulebook's to find."""
        if not self.repeat and not any(jump.starred for jump in self.jumps):
            return self
        return JumpElement(tuple(replace(jump, starred=False) for jump in self.jumps))

    def __str__(self) -> str:
        return "+".join(str(jump) for jump in self.jumps) + ("+REP" if self.repeat else "")


def joined(jumps: Sequence[Jump]) -> JumpElement:
    """Jumps as one unbroken element, marked `+SEQ` where a step to an Axel makes it a sequence.

    Source: ISU Technical Panel Handbook Single Skating 2025/26, jump sequences.
    """
    element = JumpElement(tuple(replace(jump, mark="") for jump in jumps))
    if not element.has_step_to_axel:
        return element
    return JumpElement((*element.jumps[:-1], replace(element.jumps[-1], mark="+SEQ")))


@dataclass(frozen=True, slots=True)
class OtherElement:
    """A spin, a step sequence or a choreographic element."""

    kind: Literal["spin", "steps", "choreo"]
    name: str
    """Letters without level: `FCSSp`, `StSq`, `ChSq`, `ChSp`."""
    level: str = ""
    """`B`, `1`-`4`, or empty where no level was given (no value)."""
    reduced: bool = False
    """The `V` of a spin that lacks a position or a landing: 75 % of the value."""
    starred: bool = False

    @property
    def repeat(self) -> bool:
        return False

    def without_rulings(self) -> OtherElement:
        """As executed, without `*`."""
        return replace(self, starred=False)

    def __str__(self) -> str:
        return f"{self.name}{self.level}{'V' if self.reduced else ''}{'*' if self.starred else ''}"


Element = JumpElement | OtherElement
