"""The card written a second time, straight from its definition: every path, exact fractions, nothing merged.

It shares with the program the checked problem and the exhaustive solver's final sum of one whole program; how a
failure is named, when a rule fires and which sets of rules there are is written anew here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import combinations

from app.planner.exhaustive import Step, World, _final
from app.planner.problem import Attempt, Done, Problem

Move = tuple[int, int]
"""Pass and option, from 0."""
Rule = tuple[int, str, tuple[Move, ...]]
"""Pass, word for the failure, one move or two."""


def word_for(tried: str | None, attempt: Attempt) -> str | None:
    """How an attempt failed, from the two codes as text."""
    if tried is None:
        return None
    if attempt.fall:
        return "fall"
    if attempt.element is None:
        return "not attempted"
    meant, came = numbers_in(tried), numbers_in(str(attempt.element))
    if came[0] < meant[0]:
        return "popped"
    if len(came) < len(meant):
        return "tail lost"
    return "tail shortened" if any(came[n] < meant[n] for n in range(1, len(meant))) else None


def numbers_in(code: str) -> list[int]:
    """Turns of the jumps up to a break; without the Euler."""
    found = []
    parts = code.split("+")
    for place, part in enumerate(parts):
        if part in ("COMBO", "SEQ"):
            if place < len(parts) - 1:
                break
            continue
        if not re.fullmatch(r"1?Eu.*", part):
            found.append(int(part[0]) if part[0].isdigit() else 0)
    return found


@dataclass
class Reference:
    """One problem; `no_harder(pass, option)`: may not be tried right after a fall."""

    problem: Problem
    limit: int
    no_harder: Callable[[int, int], bool] = lambda place, option: False
    toll: Fraction = Fraction(0)
    """Hundredths taken for every move that a rule sets."""
    _ends: dict[World, Fraction] = field(default_factory=dict)

    def value(self, rules: tuple[Rule, ...]) -> Fraction:
        """Expected hundredths of following the plan with these rules."""
        total = Fraction(0)
        for history in self.problem.histories:
            steps = tuple(Step(done) for done in history.done)
            total += history.chance * self._rest(steps, {}, self.problem.changes_done, rules)
        return total

    def _rest(
        self, steps: tuple[Step, ...], carried: dict[int, int], used: int, rules: tuple[Rule, ...]
    ) -> Fraction:
        place = len(steps) - len(self.problem.histories[0].done)
        if place == len(self.problem.passes):
            return self._end(steps)
        here = self.problem.passes[place]
        option = here.options[carried.get(place, here.keep or 0)]
        fell = bool(steps) and steps[-1].done.fall
        total = Fraction(0)
        for attempt in option.after_fall if fell else option.attempts:
            step = Step(Done(attempt.element, here.late, attempt.fall, attempt.error), attempt.grade)
            after, spent, taken = dict(carried), used, Fraction(0)
            if attempt.fall and place + 1 in after and self.no_harder(place + 1, after[place + 1]):
                del after[place + 1]
            for at, word, moves in rules:
                if at != place or word != word_for(option.code, attempt):
                    continue
                if spent + len(moves) <= self.limit and not any(one in after for one, _ in moves):
                    after.update(dict(moves))
                    spent += len(moves)
                    taken += self.toll * len(moves)
            total += attempt.chance * (self._rest((*steps, step), after, spent, rules) - taken)
        return total

    def _end(self, steps: tuple[Step, ...]) -> Fraction:
        world = World(Fraction(1), steps)
        if world not in self._ends:
            self._ends[world] = _final(self.problem, world)
        return self._ends[world]

    def rules(self, moves_a_rule: int = 1) -> list[Rule]:
        """Every rule there is."""
        passes = self.problem.passes
        found: list[Rule] = []
        for place, here in enumerate(passes):
            seen = {
                word
                for option in here.options
                if place or not option.change
                for attempt in (*option.attempts, *option.after_fall)
                if (word := word_for(option.code, attempt)) is not None
            }
            later = [
                (j, n)
                for j in range(place + 1, len(passes))
                for n, option in enumerate(passes[j].options)
                if option.change
            ]
            ways = [(one,) for one in later]
            if moves_a_rule == 2:
                ways += [pair for pair in combinations(later, 2) if pair[0][0] != pair[1][0]]
            for word in sorted(seen):
                for way in ways:
                    at_once = any(j == place + 1 and self.no_harder(j, n) for j, n in way)
                    if not (word == "fall" and at_once):
                        found.append((place, word, way))
        return found

    def sets(self, most: int, moves_a_rule: int = 1) -> Iterator[tuple[Rule, ...]]:
        """Every set of at most so many rules, one for each pass and failure."""
        for size in range(most + 1):
            for chosen in combinations(self.rules(moves_a_rule), size):
                if len({(place, word) for place, word, _ in chosen}) == size:
                    yield chosen
