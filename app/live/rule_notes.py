"""The rules behind a line, in words, each with its source and how sure we are of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.rulings import Certainty, Ruling
from app.rulebook.editions import Edition
from app.rulebook.schema import RepeatClass
from app.rulebook.table import Rule

HOW_SURE: dict[Certainty, str] = {
    "read": "read in the rule text itself",
    "second-hand": "second-hand, as another source reports it",
    "inferred": "inferred, no source says it outright",
    "memory": "from memory, no source",
    "your own": "your own number",
}
"""The marks of certainty as people read them."""

_TURNS = {1: "singles", 2: "doubles", 3: "triples", 4: "quads", 5: "quintuples"}


@dataclass(frozen=True, slots=True)
class RuleNote:
    """One rule: what it says, where it stands, how sure we are, and whether its reading is disputed."""

    says: str
    source: str
    certainty: Certainty
    disputed: bool = False

    @property
    def how_sure(self) -> str:
        """How sure we are of it, in words."""
        return HOW_SURE[self.certainty] + (", and disputed" if self.disputed else "")


def notes_for(edition: Edition, codes: Sequence[str], rulings: Sequence[Ruling]) -> tuple[RuleNote, ...]:
    """The rules an advice about `codes` rests on: those that ruled, then the tables that allow the element."""
    found = [RuleNote(ruling.why, ruling.rule, ruling.certainty) for ruling in rulings]
    elements = [parse_jump_element(code) for code in codes]
    if any(element.is_unit for element in elements):
        found += _unit_notes(edition)
    if elements:
        found += _repeat_notes(edition)
    found += _disputed_notes(edition, elements)
    return tuple(dict.fromkeys(found))


def _unit_notes(edition: Edition) -> list[RuleNote]:
    units = edition.rules.units
    if units is None:
        return []
    says = f"{units.most} combinations or sequences count"
    if units.most_long:
        says += f"; {units.most_long} of them may have {units.most_jumps} jumps"
    return [_note(f"{says}.", units)]


def _repeat_notes(edition: Edition) -> list[RuleNote]:
    found = []
    repeats, family, short = edition.rules.repeats, edition.rules.family, edition.rules.short
    if repeats is not None:
        found.append(_note(" ".join(_repeat_words(one) for one in repeats.classes), repeats))
    if short is not None:
        says = (
            "Short program: an Axel, a solo jump and one combination of two jumps, each with its own limits."
        )
        found.append(_note(says, short))
    if family is not None and family.most is not None:
        found.append(_note(f"Any one take-off counts {family.most} times at most.", family))
    return found


def _repeat_words(one: RepeatClass) -> str:
    names = " and ".join(_TURNS[turns] for turns in one.revolutions if turns in _TURNS)
    times = {1: "once", 2: "twice"}.get(one.executions, f"{one.executions} times")
    says = f"{names.capitalize()}: each {times} at most"
    if one.most_repeated is not None:
        says += f", and only {one.most_repeated} different ones repeated"
    return f"{says}."


def _disputed_notes(edition: Edition, elements: Sequence[JumpElement]) -> list[RuleNote]:
    """Disputed readings that an element touches: an Euler or a sequence, or a triple or harder repeated."""
    touched = set()
    for element in elements:
        if element.is_sequence or any(jump.is_euler for jump in element.jumps):
            touched.add("euler_beside_a_sequence")
    found = []
    for name in touched:
        if name in edition.rules.switches:
            ref = edition.reading_ref(name)
            says = (
                f"Disputed: {edition.rules.switches[name].question} Taken here as: {edition.reading(name)}."
            )
            found.append(RuleNote(says, str(ref), ref.certainty, disputed=True))
    return found


def _note(says: str, rule: Rule) -> RuleNote:
    return RuleNote(says, str(rule.ref), rule.certainty)
