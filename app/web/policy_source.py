"""Where the policy of a live program gets its rules and words: the same functions that make the board.

`Tallied` knows a state by its tally and what the planner keeps of it, so states merge and equal futures are asked
about once. `Asked` is slow and honest: it asks the advisor about every sequence of passes one by one; it serves
short programs and whatever the loops do not know, and a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import Protocol, cast

from app.domain.rulings import Ruling
from app.errors import InputError
from app.legality.left import LeftToUse, left_to_use
from app.live import advice
from app.live.advice import Choice, Swap
from app.live.doubt import doubt_words
from app.live.events import LoggedPass, PassLeftOut
from app.live.fold import LiveState
from app.live.line import Ground, Line, line_of
from app.live.policy import Said, Source, Step, after
from app.live.program import Limits, Plan
from app.planner.single_changes import SingleChanges
from app.rulebook.editions import Edition
from app.web.advisor import Advisor, Elements, check_countable, skated_points
from app.web.policy_walk import Count, Passes, Position, Walk, Walked
from app.web.policy_words import Words
from app.web.views.left import LeftView, gone_of, left_of

Rest = tuple[tuple[int, tuple[Ruling, ...]], ...]
"""Rulings of passes to come, with their pass numbers."""


class WalkedSource(Source, Protocol):
    """A source, and what of it says where a program stands."""

    @property
    def walked(self) -> Walked:
        """Small, and without the words."""


class Tallied:
    """The source of a free skating whose passes are all certain. Whatever is asked twice is kept."""

    def __init__(self, plan: Plan, edition: Edition, elements: Elements, limits: Limits) -> None:
        self._plan, self._elements, self._limits = plan, elements, limits
        self._walk = Walk(plan)
        self._changes = SingleChanges(advice.question(plan, elements.offered, elements.known, limits))
        self._rests: dict[tuple[int, int], Rest] = {}
        self._left: dict[int, tuple[LeftToUse, tuple[LeftView, ...]]] = {}
        self._lines: dict[Hashable, Line] = {}
        self._choices: dict[Hashable, tuple[Choice, str]] = {}

    @property
    def walked(self) -> Walk:
        """Where a program stands, without the words."""
        return self._walk

    def start(self, state: LiveState) -> Position:
        """The position of a state: its passes, one after the other."""
        return self._walk.start(state)

    def lost(self, state: LiveState) -> tuple[str, ...]:
        """What each logged pass has lost."""
        return self._walk.lost(state)

    def step(self, position: Hashable, state: LiveState, entry: LoggedPass, *, last: bool) -> Step | None:
        """What a tap leads to."""
        return self._walk.step(cast(Position, position), entry, last=last)

    def says(self, position: Hashable, state: LiveState) -> Said:
        """The words of the board."""
        here = cast(Position, position)
        choice, more = self._choice(here, state)
        left, words = self._left_after(here.tally, state)
        swap = choice.swap
        now = swap.element if swap is not None and swap.number == state.next_number else None
        return Said(now, Words(self._line(choice, here, state), left.used_up, words, more))

    def _choice(self, here: Position, state: LiveState) -> tuple[Choice, str]:
        tally, falls = self._walk.tally(here.tally), here.falls
        certain, future = self._changes.future(here.place, tally, here.window, falls, here.fell, here.changes)
        # What the screen counts as skated holds the late bonus of the window, certain or not.
        counted = sum(here.window) - certain
        key = (future, here.fell, here.changes, counted)
        if key not in self._choices:
            found = self._changes.changes(future)
            gains = found.gains if here.changes < self._limits.most_changes else ()
            codes = [row.code for row in self._plan.passes]
            # A swap that loses points is never made; it matters only for what is held back after a fall.
            swaps = [
                Swap(at + 1, codes[at], element, round(gain / 100, 9))
                for at, element, gain in gains
                if gain > 0 or here.fell
            ]
            choice = advice.choose(swaps, state, self._elements.offered, self._limits)
            self._choices[key] = choice, f"{(found.keep - counted) / 100:.0f}"
        return self._choices[key]

    def _line(self, choice: Choice, here: Position, state: LiveState) -> Line:
        planned = self._planned(here.tally, here.place)
        swapped = self._if_swapped(here, choice.swap) if choice.swap else ()
        key = (here.place, choice, planned, swapped, here.lost_unit, here.changes)
        if key not in self._lines:
            offered, limits = self._elements.offered, self._limits
            ground = Ground(state, self._walk.edition, offered, limits, dict(planned), dict(swapped))
            self._lines[key] = line_of(choice, ground)
        return self._lines[key]

    def _planned(self, tally: int, place: int) -> Rest:
        """Rulings of the passes to come if all is kept."""
        if place == len(self._plan.passes):
            return ()
        if (tally, place) not in self._rests:
            ruled = self._walk.rule(tally, self._plan.passes[place].code, late=self._walk.late[place])
            self._rests[tally, place] = ((place + 1, ruled.rulings), *self._planned(ruled.tally, place + 1))
        return self._rests[tally, place]

    def _if_swapped(self, here: Position, swap: Swap) -> Rest:
        """The same, were one swap made."""
        rows = [
            (place + 1, swap.element if place + 1 == swap.number else self._plan.passes[place].code)
            for place in range(here.place, swap.number)
        ]
        tally, found = here.tally, []
        for number, code in rows:
            if code is not None:
                ruled = self._walk.rule(tally, code, late=self._walk.late[number - 1])
                tally = ruled.tally
                found.append((number, ruled.rulings))
        return (*found, *self._planned(tally, swap.number))

    def _left_after(self, tally: int, state: LiveState) -> tuple[LeftToUse, tuple[LeftView, ...]]:
        if tally not in self._left:
            left = left_to_use(self._walk.edition, self._walk.tally(tally))
            self._left[tally] = left, left_of(left, state)
        return self._left[tally]


class Asked(Passes):
    """The source that asks the advisor about every sequence of passes."""

    def __init__(self, plan: Plan, edition: Edition, elements: Elements, limits: Limits) -> None:
        self._edition, self._elements, self._limits = edition, elements, limits
        self._advisor = Advisor()

    @property
    def walked(self) -> Passes:
        """Where a program stands, without the words."""
        return Passes()

    def step(self, position: Hashable, state: LiveState, entry: LoggedPass, *, last: bool) -> Step | None:
        """What a tap leads to; None when the tables know no value for it."""
        behind = after(state, entry)
        try:
            check_countable(self._edition.name, entry)
            cents = round(100 * (skated_points(behind) - skated_points(state)))
        except InputError:
            return None
        return Step(behind.logged, 0 if last else cents, ())

    def says(self, position: Hashable, state: LiveState) -> Said:
        """The words of the board; none where there is no advice."""
        elements, limits = self._elements, self._limits
        try:
            answer = self._advisor.ask(0, state, elements, limits)
        except InputError:
            return Said(None, None)
        choice = advice.choose(answer.swaps, state, elements.offered, limits)
        swapped = self._advisor.rulings_if(state, choice.swap) if choice.swap else {}
        each = [
            (way, advice.choose(swaps, state, elements.offered, limits))
            for way, swaps in self._advisor.if_called(0, state, elements, limits)
        ]
        doubt = doubt_words(choice, each)
        ground = Ground(
            state, self._edition, elements.offered, limits, answer.as_planned, swapped, doubt=doubt
        )
        gone = gone_of(answer.left, answer.as_skated, state)
        swap = choice.swap
        now = swap.element if swap is not None and swap.number == state.next_number else None
        words = Words(line_of(choice, ground), gone, left_of(answer.left, state), f"{answer.to_come:.0f}")
        return Said(now, words)


class Silent(Count):
    """The source where nothing is advised: a state is the number of its passes."""

    @property
    def walked(self) -> Count:
        """Where a program stands."""
        return Count()

    def step(self, position: Hashable, state: LiveState, entry: LoggedPass, *, last: bool) -> Step:
        """The next pass."""
        return Step(len(state.logged) + 1, 0, ())

    def says(self, position: Hashable, state: LiveState) -> Said:
        """Nothing."""
        return Said(None, None)


def source_of(
    state: LiveState, edition: Edition, elements: Elements, limits: Limits, *, silent: bool = False
) -> WalkedSource:
    """The quick source where it fits, else the slow one; `silent`: no advice may show."""
    if silent:
        return Silent()
    certain = (isinstance(one, PassLeftOut) or len(one.readings) == 1 for one in state.logged)
    asked = advice.question(state.plan, elements.offered, elements.known, limits)
    if all(certain) and not state.differing and not edition.is_short and SingleChanges.fits(asked):
        return Tallied(state.plan, edition, elements, limits)
    return Asked(state.plan, edition, elements, limits)
