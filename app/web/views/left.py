"""What is left to use and what is gone, in the words of the boards."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app import engine
from app.domain.elements import JumpElement
from app.domain.rulings import Ruling
from app.live.fold import LiveState
from app.web.advisor import performed

SPENT = ("2T", "2Lo", "2A")
"""Doubles that are commonly spent on tails and safe passes; the others are named only when they are gone."""
RULED = {"nothing": "counts for nothing", "part": "counts only in part"}


@dataclass(frozen=True, slots=True)
class LeftView:
    """One thing the rulebook still leaves, in words; `owed` when it must still come."""

    words: str
    owed: bool = False


def left_of(left: engine.LeftToUse | None, state: LiveState) -> tuple[LeftView, ...]:
    """What the rulebook still leaves; what is gone stands in `gone_of`."""
    if left is None:
        return _left_in_short(state)
    found = [_count(left.boxes, "pass", "passes")]
    if left.units:
        found.append(_count(left.units, "combination", "combinations"))
        found += [LeftView("one of three jumps")] if left.three_jump_unit else []
        found += [LeftView("a sequence")] if left.sequence else []
        found += [LeftView("an Euler")] if left.euler else []
    found += _repeats(left, state)
    found += [LeftView(f"{name} ×{left.doubles[name]}") for name in SPENT if left.doubles.get(name)]
    if left.axel_owed:
        found.append(LeftView("Axel owed", owed=True))
    return tuple(found)


def gone_of(
    left: engine.LeftToUse | None, as_skated: dict[int, tuple[Ruling, ...]], state: LiveState
) -> tuple[str, ...]:
    """What is now illegal or already lost, in words. A short program says which jump counts for nothing."""
    lost: list[str] = []
    for number, rulings in sorted(as_skated.items()):
        lost += ruled_words(number, rulings)
    if left is not None:
        return (*left.used_up, *lost)
    if state.logged and not combination_owed(state):
        lost.append("no more combination: one used")
    if state.logged:
        lost += _outlook(state).traps
    return tuple(lost)


def ruled_words(number: int, rulings: Iterable[Ruling]) -> tuple[str, ...]:
    """What one pass lost to the rules, in words."""
    return tuple(f"pass {number} {RULED[one.ruling]}: {one.why}" for one in rulings if one.ruling in RULED)


def combination_owed(state: LiveState) -> bool:
    """Whether no combination has come yet; asked in a short program."""
    skated = [engine.parse(one.code) for one in performed(state)]
    return not any(isinstance(element, JumpElement) and element.is_unit for element in skated)


def _repeats(left: engine.LeftToUse, state: LiveState) -> list[LeftView]:
    """Triples (and quads, where one is planned) that may still be repeated; 99 stands for no quota."""
    if not 0 < left.repeats < 10:
        return []
    quads = any("4" in row.code for row in state.plan.passes)
    within = f" (quads: {left.quad_repeats})" if quads and left.quad_repeats < left.repeats else ""
    return [LeftView(f"{left.repeats} triple repeat{'' if left.repeats == 1 else 's'}{within}")]


def _left_in_short(state: LiveState) -> tuple[LeftView, ...]:
    """A short program is ruled as a whole: what can be said early is passes, and what is still owed."""
    found = [_count(len(state.plan.passes) - len(state.logged), "pass", "passes")]
    found += [LeftView(f"{one} owed", owed=True) for one in _outlook(state).owed]
    return tuple(found)


def _outlook(state: LiveState) -> engine.ShortOutlook:
    return engine.short_outlook(engine.edition(state.plan.edition), performed(state))


def _count(count: int, one: str, many: str) -> LeftView:
    return LeftView(f"{count} {one if count == 1 else many}")
