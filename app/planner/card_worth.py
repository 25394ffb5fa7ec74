r"""What a set of rules is worth, exactly, and what one more rule would bring.

A situation before pass i: state s, swaps waiting Q, changes left b. With R the rules, p the option tried (the
swap waiting for pass i, else the plan) and k(o) the kind of an outcome o,

    V_R(i, s, Q, b) = sum_o P(o) [ g(o, s) + V_R(i+1, s.o, Q', b') ],

where a rule (i, k(o)) that fits adds its swaps to Q' and takes them from b. With b = 0 nothing can fire, so those
values hold for every set of rules and are kept. A rule (i, k) is only ever read right after pass i, so adding it to
R changes nothing before and nothing behind:

    value(R + rule) - value(R) = sum over situations after pass i with kind k in which it fits,
                                 chance of the situation under R  x  [ V_R(Q + swaps, b - swaps) - V_R(Q, b) ].

So one walk forward (chances of situations) and one backward (values) give the gain of every possible rule.
`toll` is taken from the value for every swap that a rule sets: what a change must bring before it is worth
remembering. Vectors run over the states of a pass (`card_table`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from app.planner.card_rules import Barred, Kind, Rules, Swap, Swaps, Trigger, fits
from app.planner.card_table import Floats, Steps, Table

Situation = tuple[Swaps, int]
"""Swaps waiting, by pass, and changes left."""


class Worth:
    """Values of rule sets over one table, with at most `most` changes."""

    def __init__(self, table: Table, most: int, toll: float, barred: Barred) -> None:
        self.table = table
        self.most = most
        self.toll = toll
        self.barred = barred
        self._count = len(table.layers)
        self._spent: dict[tuple[int, Swaps], Floats] = {}
        self._stacks: dict[tuple[int, tuple[Swaps, ...]], Floats] = {}

    def called_off(self, place: int, pending: Swaps) -> Swaps:
        """What is left waiting after a fall at `place`."""
        return tuple(one for one in pending if one.place != place + 1 or not self.barred(*_pair(one)))

    def may_follow(self, trigger: Trigger, swaps: Swaps) -> bool:
        """May a rule for this trigger hold these swaps?"""
        place, kind = trigger
        return kind is not Kind.FALL or self.called_off(place, swaps) == swaps

    def size(self, place: int, situation: Situation) -> int:
        """States before a pass that a situation can be in: those behind the swaps made, not waiting."""
        pending, left = situation
        return self.table.size(place, self.most - left - len(pending))

    def tried(self, place: int, pending: Swaps) -> tuple[Steps, Swaps]:
        """What is tried at a pass, and what still waits behind it."""
        layer = self.table.layers[place]
        if pending and pending[0].place == place:
            return layer.steps[pending[0].option], pending[1:]
        return layer.steps[layer.keep], pending

    def spent(self, place: int, pending: Swaps) -> Floats:
        """Values when no rule can fire any more."""
        known = self._spent.get((place, pending))
        if known is None:
            known = self._spent[place, pending] = self._spent_anew(place, pending)
        return known

    def stacked(self, place: int, fired: tuple[Swaps, ...]) -> Floats:
        """`spent` of many pending swaps as rows."""
        known = self._stacks.get((place, fired))
        if known is None:
            known = self._stacks[place, fired] = np.stack([self.spent(place, one) for one in fired])
        return known

    def _spent_anew(self, place: int, pending: Swaps) -> Floats:
        size = self.size(place, (pending, 0))
        if place == self._count:
            return self.table.end[:size]
        steps, rest = self.tried(place, pending)
        total = steps.gain[:size].copy()
        for w, (_, fall) in enumerate(steps.columns):
            waiting = self.called_off(place, rest) if fall else rest
            total += steps.chance[:size, w] * self.spent(place + 1, waiting)[steps.behind[:size, w]]
        return total


def _pair(one: Swap) -> tuple[int, int]:
    return one.place, one.option


class RuleSet:
    """One set of rules, valued."""

    def __init__(self, worth: Worth, rules: Rules) -> None:
        self._worth = worth
        self._rules = dict(rules)
        self._values: dict[tuple[int, Situation], Floats] = {}
        self._flows: list[dict[Situation, Floats]] | None = None

    def objective(self) -> float:
        """Expected hundredths from the start, less the toll of every swap set."""
        first: Situation = ((), self._worth.most)
        start = self._worth.table.start
        return self._worth.table.certain + float(start @ self.value(0, first)[: len(start)])

    def value(self, place: int, situation: Situation) -> Floats:
        """Value of a situation before a pass, for each of its states."""
        pending, left = situation
        if left == 0:
            return self._worth.spent(place, pending)
        known = self._values.get((place, situation))
        if known is None:
            known = self._values[place, situation] = self._anew(place, situation)
        return known

    def _anew(self, place: int, situation: Situation) -> Floats:
        size = self._worth.size(place, situation)
        if place == len(self._worth.table.layers):
            return self._worth.table.end[:size]
        steps, _ = self._worth.tried(place, situation[0])
        total = steps.gain[:size].copy()
        for w, fired, after in self._behind(place, situation):
            behind = self.value(place + 1, after)[steps.behind[:size, w]]
            total += steps.chance[:size, w] * (behind - self._worth.toll * fired if fired else behind)
        return total

    def _behind(self, place: int, situation: Situation) -> Iterator[tuple[int, int, Situation]]:
        """For each outcome: its column, how many swaps a rule sets, and the situation behind it."""
        pending, left = situation
        steps, rest = self._worth.tried(place, pending)
        for w, (kind, fall) in enumerate(steps.columns):
            waiting = self._worth.called_off(place, rest) if fall else rest
            swaps = self._rules.get((place, kind), ()) if kind is not None else ()
            if swaps and fits(swaps, waiting, left):
                yield w, len(swaps), (tuple(sorted((*waiting, *swaps))), left - len(swaps))
            else:
                yield w, 0, (waiting, left)

    def flows(self) -> list[dict[Situation, Floats]]:
        """Before each pass, the situations that may arise and the chance of each of their states."""
        if self._flows is None:
            first: Situation = ((), self._worth.most)
            start = np.zeros(self._worth.size(0, first))
            start[: len(self._worth.table.start)] = self._worth.table.start
            self._flows = [{first: start}]
            for place in range(len(self._worth.table.layers)):
                self._flows.append(self._moved(place, self._flows[-1]))
        return self._flows

    def _moved(self, place: int, flows: dict[Situation, Floats]) -> dict[Situation, Floats]:
        moved: dict[Situation, Floats] = {}
        for situation, chances in flows.items():
            steps, _ = self._worth.tried(place, situation[0])
            for w, _, after in self._behind(place, situation):
                size = self._worth.size(place + 1, after)
                _add(moved, after, _arriving(steps, w, chances, size))
        return moved

    def fresh(self, trigger: Trigger) -> dict[Situation, Floats]:
        """Situations right after a failure, before any rule is read, with the chance of each state.

        Only those with a change left.
        """
        place, kind = trigger
        found: dict[Situation, Floats] = {}
        for (pending, left), chances in self.flows()[place].items():
            if left == 0:
                continue
            steps, rest = self._worth.tried(place, pending)
            for w, (seen, fall) in enumerate(steps.columns):
                if seen is kind:
                    after = (self._worth.called_off(place, rest) if fall else rest, left)
                    size = self._worth.size(place + 1, after)
                    _add(found, after, _arriving(steps, w, chances, size))
        return found

    def gains(self, trigger: Trigger, choices: Sequence[Swaps]) -> list[float]:
        """What each choice of swaps would bring as a rule for `trigger`, of which there must be none yet."""
        total = np.zeros(len(choices))
        for situation, chances in self.fresh(trigger).items():
            if chances.any():
                self._add_gains(total, trigger[0] + 1, situation, chances, choices)
        return [float(one) for one in total]

    def _add_gains(
        self, total: Floats, place: int, situation: Situation, chances: Floats, choices: Sequence[Swaps]
    ) -> None:
        """Add what each choice brings in one situation. Values after the last change are looked up all at once."""
        pending, left = situation
        now = float(chances @ self.value(place, situation))
        toll, happens = self._worth.toll, float(chances.sum())
        last: list[tuple[int, Swaps]] = []
        for number, swaps in enumerate(choices):
            if not fits(swaps, pending, left):
                continue
            fired = tuple(sorted((*pending, *swaps))) if pending else swaps
            total[number] -= now + toll * len(swaps) * happens
            if len(swaps) == left:
                last.append((number, fired))
            else:
                total[number] += float(chances @ self.value(place, (fired, left - len(swaps))))
        if last:
            rows = self._worth.stacked(place, tuple(fired for _, fired in last))
            total[[number for number, _ in last]] += rows[:, : len(chances)] @ chances

    def fires(self, trigger: Trigger) -> float:
        """Chance that the rule for `trigger` fires."""
        swaps = self._rules[trigger]
        return sum(
            float(chances.sum())
            for (pending, left), chances in self.fresh(trigger).items()
            if fits(swaps, pending, left)
        )

    def happens(self, trigger: Trigger) -> float:
        """Chance that the failure of `trigger` happens at all."""
        place, kind = trigger
        total = 0.0
        for (pending, _), chances in self.flows()[place].items():
            steps, _ = self._worth.tried(place, pending)
            for w, (seen, _) in enumerate(steps.columns):
                if seen is kind:
                    total += float(chances @ steps.chance[: len(chances), w])
        return total


def candidates(worth: Worth, swaps_a_rule: int) -> dict[Trigger, list[Swaps]]:
    """Every rule there is: for each failure that the plan or a swap may meet, every choice of later swaps."""
    layers = worth.table.layers
    found: dict[Trigger, list[Swaps]] = {}
    for place, layer in enumerate(layers[:-1]):
        triable = layer.steps if place else (layer.steps[layer.keep],)
        kinds = {kind for steps in triable for kind, _ in steps.columns if kind is not None}
        later = [
            Swap(j, n)
            for j in range(place + 1, len(layers))
            for n in range(len(layers[j].steps))
            if n != layers[j].keep
        ]
        choices: list[Swaps] = [(one,) for one in later]
        if swaps_a_rule > 1 and worth.most > 1:
            choices += [(one, two) for one in later for two in later if one.place < two.place]
        for kind in sorted(kinds):
            allowed = [one for one in choices if worth.may_follow((place, kind), one)]
            if allowed:
                found[place, kind] = allowed
    return found


def _arriving(steps: Steps, w: int, chances: Floats, size: int) -> Floats:
    """Chances of the states behind outcome `w`."""
    n = len(chances)
    weights = chances * steps.chance[:n, w]
    found: Floats = np.bincount(steps.behind[:n, w], weights=weights, minlength=size).astype(np.float64)
    return found


def _add(found: dict[Situation, Floats], situation: Situation, chances: Floats) -> None:
    known = found.get(situation)
    found[situation] = chances if known is None else known + chances
