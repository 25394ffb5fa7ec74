"""Where the passes of a program lead, by the rules alone: positions, what each pass counts, what it lost.

Whoever makes a policy and whoever is asked where a program stands in it may be two processes. A position therefore has
a mark, the same in both, and a walk goes from one to the other without what it has met.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import fields, is_dataclass
from hashlib import blake2b
from types import NoneType
from typing import Any, NamedTuple, Protocol, cast

from app import engine
from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.rulings import Ruling
from app.errors import InputError
from app.legality.judge import judge
from app.legality.tally import Tally
from app.live.events import LoggedPass, PassLeftOut
from app.live.fold import LiveState, likeliest
from app.live.policy import Step
from app.live.program import Plan
from app.planner.backward import late_bonus
from app.scoring.base_value import base_value
from app.web.views.left import ruled_words

MARK_BYTES = 12


class Walked(Protocol):
    """Knows where a program stands, in words of its source."""

    def start(self, state: LiveState) -> Hashable:
        """The position of a state."""

    def mark(self, position: Any) -> bytes:
        """Equal for equal positions, in every process."""

    def lost(self, state: LiveState) -> tuple[str, ...]:
        """What its logged passes have lost, in words."""


class Position(NamedTuple):
    """All that decides what the screen says and what a tap leads to, in a free skating. `tally`: its number.

    `window`: late bonus of the last late passes in hundredths, where a later pass may still take it away; 0 else.
    """

    place: int
    tally: int
    fell: bool
    falls: int
    changes: int
    lost_unit: int | None
    window: tuple[int, ...]


class Ruled(NamedTuple):
    """One element after a tally: hundredths with, and of, the late bonus; its rulings; the tally behind it."""

    cents: int
    bonus: int
    rulings: tuple[Ruling, ...]
    tally: int


START = Position(0, 0, False, 0, 0, None, ())


class Walk:
    """The passes of one program, one after the other. Whatever is asked twice is kept."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.edition = engine.edition(plan.edition)
        self.late = [row.late for row in plan.passes]
        self._units = [parse_jump_element(row.code).is_unit for row in plan.passes]
        self._last = self.edition.rules.late.last
        self._most_falls = len(self.edition.rules.falls.each)
        self._tallies = [Tally()]
        self._numbers = {Tally(): 0}
        self._ruled: dict[tuple[int, str, bool], Ruled] = {}

    def __reduce__(self) -> tuple[type[Walk], tuple[Plan]]:
        """What goes to another process."""
        return Walk, (self.plan,)

    def tally(self, number: int) -> Tally:
        """The tally of that number."""
        return self._tallies[number]

    def start(self, state: LiveState) -> Position:
        """The position of a state: its passes, one after the other."""
        here = START
        for entry, late in zip(state.logged, state.late, strict=True):
            here = self._behind(here, entry, late)[1]
        return here

    def mark(self, position: Position) -> bytes:
        """A position with its tally instead of the number that it has here."""
        return _digest((self._tallies[position.tally], position._replace(tally=0)))

    def lost(self, state: LiveState) -> tuple[str, ...]:
        """What each logged pass has lost."""
        here, found = START, list[str]()
        for entry, late in zip(state.logged, state.late, strict=True):
            ruled, here, _ = self._behind(here, entry, late)
            found += ruled_words(here.place, ruled.rulings) if ruled else ()
        return tuple(found)

    def step(self, here: Position, entry: LoggedPass, *, last: bool) -> Step | None:
        """What a tap leads to; None when the tables know no value for it, or there are more elements than boxes."""
        try:
            ruled, behind, dropped = self._behind(here, entry, self.late[here.place])
        except InputError:
            return None
        if self._tallies[behind.tally].boxes > self.edition.boxes:
            return None
        if last or ruled is None:
            return Step(behind, 0, ())
        return Step(behind, ruled.cents - dropped, ruled_words(here.place + 1, ruled.rulings))

    def rule(self, tally: int, code: str, *, late: bool) -> Ruled:
        """One element after the tally of that number."""
        key = (tally, code, late)
        if key not in self._ruled:
            judged = judge(self.edition, self._tallies[tally], parse_jump_element(code))
            element = cast(JumpElement, judged.verdict.element)
            bonus = late_bonus(self.edition, element) if late else 0
            cents = base_value(self.edition, element) + bonus
            self._ruled[key] = Ruled(cents, bonus, judged.verdict.rulings, self._number(judged.tally))
        return self._ruled[key]

    def _number(self, tally: Tally) -> int:
        if tally not in self._numbers:
            self._numbers[tally] = len(self._tallies)
            self._tallies.append(tally)
        return self._numbers[tally]

    def _behind(self, here: Position, entry: LoggedPass, late: bool) -> tuple[Ruled | None, Position, int]:
        """The ruling, the position behind it, and the late bonus it takes from an earlier pass."""
        place, number = here.place, here.place + 1
        if isinstance(entry, PassLeftOut):
            lost = here.lost_unit or (number if self._units[place] else None)
            window = self._kept(here.window, number)
            return None, here._replace(place=number, fell=False, lost_unit=lost, window=window), 0
        reading = likeliest(entry)
        ruled = self.rule(here.tally, reading.code, late=late)
        missed = self._units[place] and not parse_jump_element(reading.code).is_unit
        window = (*here.window, ruled.bonus) if late else here.window
        dropped = window[0] if len(window) > self._last else 0
        behind = Position(
            place=number,
            tally=ruled.tally,
            fell=reading.fall,
            falls=min(here.falls + reading.fall, self._most_falls),
            changes=here.changes + (entry.tried != self.plan.passes[place].code),
            lost_unit=here.lost_unit or (number if missed else None),
            window=self._kept(window[-self._last :] if self._last else (), number),
        )
        return ruled, behind, dropped

    def _kept(self, window: tuple[int, ...], place: int) -> tuple[int, ...]:
        """The window before `place`, with 0 for what no later pass can take away."""
        safe = self._last - sum(self.late[place:])
        return tuple(bonus if len(window) - n > safe else 0 for n, bonus in enumerate(window))


class Passes:
    """Where a program stands by its passes themselves: every sequence is a position of its own."""

    def start(self, state: LiveState) -> tuple[LoggedPass, ...]:
        """The passes."""
        return state.logged

    def mark(self, position: tuple[LoggedPass, ...]) -> bytes:
        """The passes."""
        return _digest(position)

    def lost(self, state: LiveState) -> tuple[str, ...]:
        """Nothing: it stands in the words of a state."""
        return ()


class Count:
    """Where a program stands by how many passes are logged."""

    def start(self, state: LiveState) -> int:
        """How many passes are logged."""
        return len(state.logged)

    def mark(self, position: int) -> bytes:
        """Their number."""
        return _digest(position)

    def lost(self, state: LiveState) -> tuple[str, ...]:
        """Nothing: nothing is said."""
        return ()


def _digest(value: object) -> bytes:
    return blake2b(repr(_plain(value)).encode(), digest_size=MARK_BYTES).digest()


def _plain(value: object) -> object:
    """Equal values as one and the same text: no `True` where another has 1."""
    if isinstance(value, str | NoneType):
        return value
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    if isinstance(value, int | float):
        return float(value)
    assert is_dataclass(value)
    return tuple(_plain(getattr(value, one.name)) for one in fields(value))
