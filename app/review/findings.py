"""What an audit finds on an official sheet, and what may be done about it at the referee's table."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from app.domain.points import Points
from app.domain.rulings import Certainty, RuleRef
from app.domain.words import say

PROTESTS = RuleRef("ISU General Regulations 2012", "Rule 123", "second-hand")
"""Where the limits of protests stand: an edition of 2012 as others report it. The event's own rules go first."""


class Kind(StrEnum):
    """What sort of difference it is: that decides what may still be done."""

    ARITHMETIC = "sum"
    ENTRY = "entry"
    CALL = "call"


LIMITS: dict[Kind, str] = {
    Kind.ARITHMETIC: say("A wrong sum is the one thing that may be protested, within 24 hours."),
    Kind.ENTRY: say("If it is a slip of data entry, it may be put right before the ceremony. Ask at once."),
    Kind.CALL: say(
        "If the panel identified the element wrongly, that is human error and stands. If the rule was not "
        "applied as entered, it may be put right before the ceremony. Ask at once."
    ),
}
"""The limits of protests, in words; as `PROTESTS` is reported."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One row that differs. `number`: the element's, 0 for sums; `points`: what the total would change by."""

    kind: Kind
    number: int
    where: str
    printed: str
    expected: str
    points: Points
    rule: str
    certainty: Certainty
    what: str
    disputed: str = ""
    """The question of a disputed rule under whose other reading the sheet is right."""

    @property
    def say(self) -> str:
        """The words for the referee's table: a question, never a claim."""
        return say(
            "Could you please check %(where)s? The sheet says %(printed)s; we come to %(expected)s.",
            where=self.where,
            printed=self.printed,
            expected=self.expected,
        )

    @property
    def limit(self) -> str:
        """What may still be done about it."""
        return LIMITS[self.kind]


@dataclass(frozen=True, slots=True)
class Audit:
    """All findings of one sheet. Totals in hundredths; None where the sheet prints none."""

    findings: tuple[Finding, ...]
    notes: tuple[str, ...]
    element_score: Points
    """Recomputed from calls, marks and rules alone."""
    total: Points | None
    printed_total: Points | None
    """As printed: the total, or the element score of a sheet without components."""

    @property
    def agrees(self) -> bool:
        """Whether nothing at all differs."""
        return not self.findings
