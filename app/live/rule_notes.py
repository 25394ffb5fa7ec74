"""The rules behind a line, in words, each with its source and how sure we are of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.rulings import Certainty, Ruling
from app.domain.words import both, say, say_many, sentences
from app.legality.repeats import CLAUSE
from app.legality.units import BESIDE
from app.rulebook.editions import Edition
from app.rulebook.schema import RepeatClass
from app.rulebook.table import Rule
from app.rulebook.words import TURNS

HOW_SURE: dict[Certainty, str] = {
    "read": say("read in the rule text itself"),
    "second-hand": say("second-hand, as another source reports it"),
    "inferred": say("inferred, no source says it outright"),
    "memory": say("from memory, no source"),
    "your own": say("your own number"),
}
"""The marks of certainty as people read them."""


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
        sure = HOW_SURE[self.certainty]
        return say("%(certainty)s, and disputed", certainty=sure) if self.disputed else sure


def notes_for(edition: Edition, codes: Sequence[str], rulings: Sequence[Ruling]) -> tuple[RuleNote, ...]:
    """The rules an advice about `codes` rests on: those that ruled, then the tables that allow the element."""
    found = [
        RuleNote(one.why, one.rule, one.certainty, rests_on_a_disputed_reading(edition, one))
        for one in rulings
    ]
    elements = [parse_jump_element(code) for code in codes]
    if any(element.is_unit for element in elements):
        found += _unit_notes(edition)
    if elements:
        found += _repeat_notes(edition)
    found += _disputed_notes(edition, elements)
    return tuple(dict.fromkeys(found))


def rests_on_a_disputed_reading(edition: Edition, ruling: Ruling) -> bool:
    """Whether a ruling follows from one reading of a disputed rule, or from its cost."""
    return any(ruling.rule.startswith(str(edition.reading_ref(name))) for name in edition.rules.switches)


def _unit_notes(edition: Edition) -> list[RuleNote]:
    units = edition.rules.units
    if units is None:
        return []
    says = say("Combinations or sequences that count: %(most)s.", most=units.most)
    long = say(
        "Of them with %(jumps)s jumps: %(long)s at most.", jumps=units.most_jumps, long=units.most_long
    )
    return [_note(sentences(says, long if units.most_long else ""), units)]


def _repeat_notes(edition: Edition) -> list[RuleNote]:
    found = []
    repeats, family, short = edition.rules.repeats, edition.rules.family, edition.rules.short
    if repeats is not None:
        found.append(_note(sentences(*(_repeat_words(edition, one) for one in repeats.classes)), repeats))
    if short is not None:
        says = say(
            "Short program: an Axel, a solo jump and one combination of two jumps, each with its own limits."
        )
        found.append(_note(says, short))
    if family is not None and family.most is not None:
        found.append(
            _note(
                say_many(
                    "Any one take-off counts once at most.",
                    "Any one take-off counts %(count)s times at most.",
                    family.most,
                ),
                family,
            )
        )
    return found


def _repeat_words(edition: Edition, one: RepeatClass) -> str:
    names = both([*(TURNS[turns] for turns in one.revolutions if turns in TURNS), *one.jumps])
    each = say_many(
        "Each of the %(jumps)s counts once at most.",
        "Each of the %(jumps)s counts %(count)s times at most.",
        one.executions,
        jumps=names,
    )
    if one.most_repeated is None or edition.reading(CLAUSE) == "dropped":
        return each
    different = say_many(
        "Only %(count)s of them may be repeated.",
        "Only %(count)s different ones of them may be repeated.",
        one.most_repeated,
    )
    return sentences(each, different, _within_words(one))


def _within_words(one: RepeatClass) -> str:
    if one.most_repeated_within is None:
        return ""
    return say(
        "Among those, of the %(jumps)s: %(most)s at most.",
        jumps=both(TURNS[turns] for turns in one.within if turns in TURNS),
        most=one.most_repeated_within,
    )


def _disputed_notes(edition: Edition, elements: Sequence[JumpElement]) -> list[RuleNote]:
    """The disputed reading on Euler and sequence, where an element has one of them."""
    touched = any(e.is_sequence or any(jump.is_euler for jump in e.jumps) for e in elements)
    if not touched or BESIDE not in edition.rules.switches:
        return []
    ref = edition.reading_ref(BESIDE)
    says = say(
        "Disputed: %(question)s Taken here as: %(reading)s.",
        question=edition.rules.switches[BESIDE].question,
        reading=edition.reading(BESIDE),
    )
    return [RuleNote(says, str(ref), ref.certainty, disputed=True)]


def _note(says: str, rule: Rule) -> RuleNote:
    return RuleNote(says, str(rule.ref), rule.certainty)
