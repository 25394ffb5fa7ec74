"""What a program has in hand apart from its jumps to come: for a total to reach."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from app import engine
from app.domain.notation import parse_jump_element
from app.live.aim import Elsewhere
from app.live.events import PassSkated
from app.live.fold import LiveState, likeliest
from app.live.program import KnownElement
from app.rulebook.editions import Edition
from app.scoring.deductions import falls_deduction
from app.scoring.execution import grade_worth
from app.storage.records import LayoutItem


def elsewhere_of(
    state: LiveState,
    skated: Iterable[engine.Performed],
    known: Mapping[str, KnownElement],
    others: float,
) -> Elsewhere:
    """Everything but the jumps to come, in points. `others`: spins and steps of the program."""
    edition = engine.edition(state.plan.edition)
    plain = [replace(one, late=False) for one in skated]
    base = engine.review(edition, plain).points / 100
    goe = _usual_goe(edition, state, known)
    deductions = falls_deduction(edition, sum(one.fall for one in plain)) / 100
    return Elsewhere(state.aim.components, others, base, goe, deductions)


def _usual_goe(edition: Edition, state: LiveState, known: Mapping[str, KnownElement]) -> float:
    """The grades that such attempts usually got, for the skated passes."""
    total = 0.0
    for entry in state.logged:
        if not isinstance(entry, PassSkated) or entry.tried not in known:
            continue
        reading = likeliest(entry)
        like = [
            one
            for one in known[entry.tried].outcomes
            if (one.becomes, one.fall) == (reading.code, reading.fall)
        ]
        same = [one for one in like if one.error == reading.error] or like
        weight = sum(one.chance for one in same)
        if weight:
            grade = sum(one.chance * one.goe for one in same) / weight
            numerator, denominator = grade_worth(edition, parse_jump_element(reading.code))
            total += grade * numerator / denominator / 100
    return total


def spins_and_steps(edition: Edition, items: Iterable[LayoutItem]) -> float:
    """Points of everything in a layout that is no jump, with its planned grades."""
    others = [item for item in items if item.kind != "jump"]
    lines = engine.review(edition, [engine.Performed(item.code) for item in others]).lines
    total = 0.0
    for item, line in zip(others, lines, strict=True):
        numerator, denominator = grade_worth(edition, engine.parse(line.code))
        total += line.base_value / 100 + item.goe * numerator / denominator / 100
    return total
