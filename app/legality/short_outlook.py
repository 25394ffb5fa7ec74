"""What a short program under way still owes, which jump stands for the combination, what would be worth nothing.

The judge of the whole (`short_program`) speaks at the end; this speaks before: written from the requirements, held
to the judge by a test. Sentences are for people at the boards.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from app.domain.words import either, listed, say
from app.errors import ProgramError
from app.legality.short_program import ShortElement, combo_place
from app.rulebook.editions import Edition
from app.rulebook.schema import Short


@dataclass(frozen=True, slots=True)
class ShortOutlook:
    """A short program after the elements done so far."""

    owed: tuple[str, ...]
    """`Axel jump`, `solo jump`, `combination`, as far as boxes are left for them; in words."""
    stands_for_combination: int | None
    """Index of the lone jump that carries +COMBO if no combination comes; None while that is open."""
    done_with: tuple[str, ...]
    """Jumps that would count for nothing in another element."""
    traps: tuple[str, ...]
    """Sentences on what would be worth nothing now."""


def short_outlook(edition: Edition, done: Sequence[ShortElement]) -> ShortOutlook:
    """The outlook after `done`. Raises ProgramError on a free skating."""
    short = edition.rules.short
    if short is None:
        raise ProgramError("edition", say("%(name)s is not a short program", name=edition.name))
    skated = list(done[: edition.boxes])
    has_unit = any(one.element.is_unit for one in skated)
    axel = _axel_place(short, skated)
    lone = [n for n, one in enumerate(skated) if n != axel and not one.element.is_unit]
    carrier = None
    if not has_unit and len(lone) >= 2:
        carrier = combo_place(short, skated)
    left = edition.boxes - len(skated)
    names = _names(skated)
    owed = tuple(_owed(short, axel is not None, has_unit, len(lone), left))
    return ShortOutlook(owed, carrier, names, tuple(_traps(short, skated, owed, names, carrier)))


def _axel_place(short: Short, skated: Sequence[ShortElement]) -> int | None:
    """The element that is the Axel jump: the first that fits, else the first lone Axel."""
    alone = [n for n, one in enumerate(skated) if not one.element.is_unit and one.element.jumps[0].is_axel]
    fitting = [n for n in alone if skated[n].element.jumps[0].name in short.axel]
    return next(iter([*fitting, *alone]), None)


def _names(skated: Sequence[ShortElement]) -> tuple[str, ...]:
    """Jumps done, each once, in order. An attempt without revolutions is no jump that could be repeated."""
    found = [
        jump.name
        for one in skated
        for jump in one.element.jumps
        if jump.revolutions is not None and not jump.is_euler
    ]
    return tuple(dict.fromkeys(found))


def _owed(short: Short, axel: bool, unit: bool, lone: int, left: int) -> Iterator[str]:
    if left and not axel:
        yield say("Axel jump (%(jumps)s)", jumps=either(short.axel))
    # Two lone jumps use the places of the solo jump and of the combination.
    if left and not unit and lone < 2:
        yield say("combination")
    if left and lone == 0:
        yield say("solo jump")


def _traps(
    short: Short,
    skated: Sequence[ShortElement],
    owed: Sequence[str],
    names: Sequence[str],
    carrier: int | None,
) -> Iterator[str]:
    """What would be worth nothing if it came now, or has become so."""
    left = bool(owed)
    # The same jump in another element: the later one is deleted.
    again = [name for name in names if left and _could_come_again(short, name)]
    if again:
        yield say("worth nothing in another element: %(jumps)s", jumps=listed(again))
    if "combination" in owed and "solo jump" not in owed:
        yield say("another lone jump leaves no combination: a second jump on it saves the combination")
    if "solo jump" in owed and "combination" not in owed:
        low = min(int(name[0]) for name in short.solo)
        if low > 2:
            yield say("a double as the solo jump would count for nothing")
    if carrier is not None:
        code = str(skated[carrier].element)
        yield say("no combination: %(element)s stands for it (+COMBO), with the lowest grade", element=code)


def _could_come_again(short: Short, name: str) -> bool:
    """Is it a jump that somebody might still put into a solo jump or the combination?"""
    turns = int(name[0])
    return name in short.solo or name in short.axel or any(turns in pair for pair in short.combination)
