"""The best set of at most K rules: every set where they are few, else a search from several starts.

A set is looked at by asking for the gain of every rule that could be added to it (`RuleSet.gains`), so every set of
at most K rules is covered by looking at every set of fewer than K. Where that is too many, rules are added greedily
from several starts and then exchanged, one by one and by pairs, until no exchange brings more; the answer then says
that it is not proved. No chance and no clock is involved: the same question has the same answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

from app.domain.words import say
from app.planner.card_rules import Candidate, Swaps, Trigger
from app.planner.card_worth import RuleSet, Worth

Progress = Callable[[float, str], None]
Chosen = tuple[Candidate, ...]
"""Rules in order of their triggers, one a trigger."""

SETS_TO_PROVE = 1_000
"""Sets that are looked at one by one at most."""
STARTS = 5
"""Single rules, the best of different failures, from which the search starts besides the empty card."""
LEAST = 1e-6
"""Hundredths that count as a gain."""


@dataclass(frozen=True, slots=True)
class Found:
    """The best set found; `proved`: no set of at most K rules is worth more. `looked_at`: sets valued."""

    rules: Chosen
    objective: float
    proved: bool
    looked_at: int


@dataclass(frozen=True, slots=True)
class _Look:
    """One set: what it is worth, and for each failure without a rule the best one to add, best first."""

    objective: float
    adds: tuple[tuple[float, Candidate], ...]


class Search:
    """Looks for the best card among `choices`."""

    def __init__(
        self, worth: Worth, choices: Mapping[Trigger, Sequence[Swaps]], most: int, progress: Progress
    ) -> None:
        self._worth = worth
        self._choices = choices
        self._most = most
        self._progress = progress
        self._looks: dict[Chosen, _Look] = {}
        self._looked_at = 0

    def best(self) -> Found:
        """The best set of at most `most` rules."""
        if self._most < 1 or self._worth.most < 1 or not self._choices:
            return Found((), self._look(()).objective, True, 1)
        proved = self._sets() <= SETS_TO_PROVE
        chosen, value = self._every_set() if proved else self._from_starts()
        return Found(chosen, value, proved, self._looked_at)

    def _sets(self) -> int:
        """How many sets have fewer than `most` rules."""
        by_size = [1] + [0] * (self._most - 1)
        for choices in self._choices.values():
            for size in range(self._most - 1, 0, -1):
                by_size[size] += by_size[size - 1] * len(choices)
        return sum(by_size)

    def _every_set(self) -> tuple[Chosen, float]:
        best: Chosen = ()
        value, total = self._look(()).objective, self._sets()
        for number, chosen in enumerate(self._smaller_sets()):
            self._progress(number / total, say("Card %(number)s of %(count)s", number=number, count=total))
            more = self._with_best_add(chosen)
            if more is not None and more[1] > value + LEAST:
                best, value = more
        return best, value

    def _smaller_sets(self) -> Iterator[Chosen]:
        for size in range(self._most):
            for triggers in combinations(self._choices, size):
                for swaps in product(*(self._choices[one] for one in triggers)):
                    yield tuple(zip(triggers, swaps, strict=True))

    def _from_starts(self) -> tuple[Chosen, float]:
        singles = [(one,) for _, one in self._look(()).adds[:STARTS]]
        starts: list[Chosen] = [(), *singles]
        best: Chosen = ()
        value = self._look(()).objective
        for number, start in enumerate(starts):
            self._progress(
                number / (len(starts) + 1),
                say("Start %(number)s of %(count)s", number=number + 1, count=len(starts)),
            )
            found, worth = self._exchanged(self._filled(start))
            if worth > value + LEAST:
                best, value = found, worth
        self._progress(len(starts) / (len(starts) + 1), say("Exchanging rules by pairs"))
        return self._pairs_exchanged(best, value)

    def _filled(self, chosen: Chosen) -> Chosen:
        while len(chosen) < self._most and (more := self._with_best_add(chosen)) is not None:
            chosen = more[0]
        return chosen

    def _exchanged(self, chosen: Chosen) -> tuple[Chosen, float]:
        """Drop one rule and add the best one, as long as that brings more."""
        value = self._look(chosen).objective
        while True:
            found = [self._with_best_add(_without(chosen, one)) for one in chosen]
            better = max((one for one in found if one is not None), key=lambda one: one[1], default=None)
            if better is None or better[1] <= value + LEAST:
                return chosen, value
            chosen, value = better

    def _pairs_exchanged(self, chosen: Chosen, value: float) -> tuple[Chosen, float]:
        """Drop two rules and fill up again, as long as that brings more."""
        for pair in combinations(chosen, 2):
            smaller = _without(_without(chosen, pair[0]), pair[1])
            for _, first in self._look(smaller).adds[:STARTS]:
                found, worth = self._exchanged(self._filled(_with(smaller, first)))
                if worth > value + LEAST:
                    return self._pairs_exchanged(found, worth)
        return chosen, value

    def _with_best_add(self, chosen: Chosen) -> tuple[Chosen, float] | None:
        """The set with the rule added that brings most; None when none brings anything."""
        look = self._look(chosen)
        if not look.adds or look.adds[0][0] <= LEAST:
            return None
        gain, one = look.adds[0]
        return _with(chosen, one), look.objective + gain

    def _look(self, chosen: Chosen) -> _Look:
        known = self._looks.get(chosen)
        if known is None:
            known = self._looks[chosen] = self._anew(chosen)
        return known

    def _anew(self, chosen: Chosen) -> _Look:
        valued = RuleSet(self._worth, dict(chosen))
        taken = {trigger for trigger, _ in chosen}
        adds = []
        self._looked_at += 1
        for trigger, choices in self._choices.items():
            if trigger in taken:
                continue
            gains = valued.gains(trigger, choices)
            self._looked_at += len(gains)
            best = max(range(len(gains)), key=lambda n: gains[n])
            adds.append((gains[best], (trigger, choices[best])))
        return _Look(valued.objective(), tuple(sorted(adds, key=lambda one: -one[0])))


def _with(chosen: Chosen, one: Candidate) -> Chosen:
    return tuple(sorted((*chosen, one)))


def _without(chosen: Chosen, one: Candidate) -> Chosen:
    return tuple(other for other in chosen if other != one)
