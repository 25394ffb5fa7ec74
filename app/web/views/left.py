"""What is left to use and what is gone, in the words of the boards."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app import engine
from app.domain.elements import JumpElement
from app.domain.rulings import Ruling
from app.domain.words import say, say_many
from app.live.fold import LiveState
from app.web.advisor import performed

SPENT = ("2T", "2Lo", "2A")
"""Doubles that are commonly spent on tails and safe passes; the others are named only when they are gone."""
RULED = ("nothing", "part")


@dataclass(frozen=True, slots=True)
class LeftView:
    """One thing the rulebook still leaves, in words; `owed` when it must still come."""

    words: str
    owed: bool = False


def left_of(left: engine.LeftToUse | None, state: LiveState) -> tuple[LeftView, ...]:
    """What the rulebook still leaves; what is gone stands in `gone_of`."""
    if left is None:
        return _left_in_short(state)
    found = [_passes(left.boxes)]
    if left.units:
        found.append(LeftView(say_many("%(count)s combination", "%(count)s combinations", left.units)))
        found += [LeftView(say("one of three jumps"))] if left.three_jump_unit else []
        found += [LeftView(say("a sequence"))] if left.sequence else []
        found += [LeftView(say("an Euler"))] if left.euler else []
    found += _repeats(left, state)
    found += [LeftView(f"{name} ×{left.doubles[name]}") for name in SPENT if left.doubles.get(name)]
    if left.axel_owed:
        found.append(LeftView(say("Axel owed"), owed=True))
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
        lost.append(say("no more combination: one used"))
    if state.logged:
        lost += _outlook(state).traps
    return tuple(lost)


def ruled_words(number: int, rulings: Iterable[Ruling]) -> tuple[str, ...]:
    """What one pass lost to the rules, in words."""
    return tuple(_ruled(number, one) for one in rulings if one.ruling in RULED)


def _ruled(number: int, one: Ruling) -> str:
    if one.ruling == "nothing":
        return say("pass %(number)s counts for nothing: %(why)s", number=number, why=one.why)
    return say("pass %(number)s counts only in part: %(why)s", number=number, why=one.why)


def combination_owed(state: LiveState) -> bool:
    """Whether no combination has come yet; asked in a short program."""
    skated = [engine.parse(one.code) for one in performed(state)]
    return not any(isinstance(element, JumpElement) and element.is_unit for element in skated)


def _repeats(left: engine.LeftToUse, state: LiveState) -> list[LeftView]:
    """Triples (and quads, where one is planned) that may still be repeated; 99 stands for no quota."""
    if not 0 < left.repeats < 10:
        return []
    quads = any("4" in row.code for row in state.plan.passes)
    count = say_many("%(count)s triple repeat", "%(count)s triple repeats", left.repeats)
    if not quads or left.quad_repeats >= left.repeats:
        return [LeftView(count)]
    return [LeftView(say("%(repeats)s (quads: %(quads)s)", repeats=count, quads=left.quad_repeats))]


def _left_in_short(state: LiveState) -> tuple[LeftView, ...]:
    """A short program is ruled as a whole: what can be said early is passes, and what is still owed."""
    found = [_passes(len(state.plan.passes) - len(state.logged))]
    found += [LeftView(say("%(what)s owed", what=one), owed=True) for one in _outlook(state).owed]
    return tuple(found)


def _outlook(state: LiveState) -> engine.ShortOutlook:
    return engine.short_outlook(engine.edition(state.plan.edition), performed(state))


def _passes(count: int) -> LeftView:
    return LeftView(say_many("%(count)s pass", "%(count)s passes", count))
